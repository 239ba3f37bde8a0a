"""The proof beside a schedule: a worksheet that anyone can check on a pocket calculator."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from optimizer.paper.document import Column, Table, left
from optimizer.paper.quantities import Unit
from optimizer.questions.schedule.pouring.worksheet import DIGITS, Six, Worksheet
from shared.rounding import fixed
from shared.units import POUND

SIX = ("x", "y", "z", "xy", "xz", "yz")
"""The axes of the six moments: three of inertia, three products."""


def proof_table(sheet: Worksheet, *, metric: bool = False) -> Table:
    """Return the worksheet, a column for each region and the ball; `metric`: RGs in mm, too."""
    axes = 3 if sheet.aligned else 6
    regions = sheet.regions
    rows: list[tuple[str, ...]] = [
        ("mass m, g", *(str(r.mass) for r in regions), str(sheet.mass)),
        ("mass m, lb", *("" for _ in regions), pounds(sheet)),
    ]
    for k, axis in enumerate("xyz"):
        rows.append((f"CG {axis}, cm", *(str(r.cg[k]) for r in regions), str(sheet.cg[k])))
    rows += _six("I{} about own CG, g cm²", [r.own for r in regions], axes)
    for words in ("centre", "CG"):
        point, radii = sheet.point(words.lower()), sheet.about(words.lower())
        rows.append((f"About the ball's {words}",))
        label = "m d² for I{}, g cm²"
        rows += _six(label, [r.parallel(point) for r in regions], axes)
        blank = [""] * len(regions)
        rows += [(f"sum I{SIX[k]}, g cm²", *blank, str(radii.sums[k])) for k in range(axes)]
        rows += [
            (f"RG {axis} = √(I{axis}/m), cm", *blank, str(radii.along[k]))
            for k, axis in enumerate("xyz")
        ]
        for word, cm, inches in zip(
            ("low", "intermediate", "high"), radii.principal, radii.inches, strict=True
        ):
            if not sheet.aligned:
                rows.append((f"{word} RG, cm", *blank, str(cm)))
            rows.append((f"{word} RG, in", *blank, str(inches)))
            if metric:
                rows.append((f"{word} RG, mm", *blank, str(10 * cm)))
        rows.append(("differential, in", *blank, str(radii.differential)))
        if metric:
            low, _, high = radii.principal
            rows.append(("differential, mm", *blank, str(10 * (high - low))))
        rows.append(("intermediate differential, in", *blank, str(radii.intermediate_differential)))
    columns = (left("figure"), *(Column(r.part) for r in regions), Column("ball"))
    return Table(columns, tuple(rows))


def _six(label: str, values: Sequence[Six], axes: int) -> Iterator[tuple[str, ...]]:
    for k in range(axes):
        yield (label.format(SIX[k]), *(str(six[k]) for six in values), "")


def proof_notes(density: Unit, finer: int = 0, *, aligned: bool) -> Iterator[str]:
    """Yield how figures are rounded and derived; densities have `finer` digits more."""
    mass = "volume × density" + (" ÷ 1000" if density.factor < 1.0 else "")
    yield (
        "Figures are rounded by ASTM E29's rounding method (half to even), digits fixed per "
        f"column. Decimals: volume {DIGITS['volume']}, density {density.digits + finer}, mass "
        f"{DIGITS['mass']} (g) and {DIGITS['ounces']} (oz), CG {DIGITS['cg']}, moments "
        f"{DIGITS['inertia']}, RG {DIGITS['rg']}, differential {DIGITS['differential']}."
    )
    yield (
        f"Each figure is computed from the printed ones: mass = {mass}, the running mass "
        "is their sum, sum I = Σ (I about own CG + m d²), RG = √(sum I ÷ m), 1 in = 2.54 cm."
    )
    yield (
        "The ball's CG = Σ m·x ÷ Σ m. d² for Ix is y² + z² from the point named, for Iy x² + z², "
        "for Iz x² + y². Differential: high - low RG."
    )
    if aligned:
        yield "Low, intermediate and high RG are the three RGs in order of size, in inches."
    else:
        yield (
            "Where products of inertia stand (Ixy = ∫ xy dm; m d² for Ixy is m·x·y), x, y, z are "
            "not the principal axes: the RGs follow from the eigenvalues of the tensor with Ix, "
            "Iy, Iz on its diagonal and -Ixy, -Ixz, -Iyz beside it."
        )
    yield (
        "Masses are true masses, of the cured part as drawn: a scale in air reads about 0.012 lb "
        "less on a whole ball. Losses and shrinkage are not in them."
    )


def pounds(sheet: Worksheet) -> str:
    """Return the sum of the printed masses in pounds."""
    return fixed(float(sheet.mass) / POUND, 3)

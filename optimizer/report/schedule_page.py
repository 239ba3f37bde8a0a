"""The density schedule: what the foundry weighs and pours, and the proof beside it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Any

from optimizer import version
from optimizer.foundry.cautions import Cautions
from optimizer.foundry.rounding import fixed, rounded
from optimizer.foundry.worksheet import DIGITS, RegionSheet, Six, Worksheet
from optimizer.report.document import (
    Block,
    Column,
    Heading,
    Notes,
    Paragraph,
    Report,
    Table,
    left,
)
from optimizer.report.lineup_page import AS_DRAWN
from optimizer.report.quantities import Units
from optimizer.report.solution import scenario_data
from optimizer.report.words import POINT, axis_lines, class_name
from optimizer.scenario.scenario import Scenario
from shared.units import POUND

FORMAT = "samespin/schedule@1"
BLANK = "........"
SIX = ("x", "y", "z", "xy", "xz", "yz")


def schedule(
    scenario: Scenario, sheets: Sequence[Worksheet], warnings: Sequence[str], cautions: Cautions
) -> Report:
    """Return the schedule of a line-up: one sheet a weight class."""
    blocks = tuple(_blocks(scenario, sheets, warnings, cautions))
    data = {
        "format": FORMAT,
        "scenario": scenario_data(scenario),
        "made_by": {"samespin": version()},
        "about": scenario.about,
        "weights": [_data(sheet) for sheet in sheets],
        "warnings": list(warnings),
        "cautions": [cautions.always, cautions.advice, *cautions.cautions],
    }
    return Report(blocks, data)


def _blocks(
    scenario: Scenario, sheets: Sequence[Worksheet], warnings: Sequence[str], cautions: Cautions
) -> Iterator[Block]:
    units = Units.of(scenario)
    names = {sheet.label: class_name(sheet.ball.map, units) for sheet in sheets}
    yield Heading(f"Density schedule: {scenario.name}, revision {scenario.revision}")
    yield _title_block(scenario, len(sheets))
    for i, sheet in enumerate(sheets):
        yield from _sheet(sheet, names[sheet.label], f"{i + 1}/{len(sheets)}", scenario.about)
    yield Heading("Notes")
    yield Notes(
        (
            *axis_lines([(sheet.label, sheet.ball.radii) for sheet in sheets], names),
            *(f"Warning: {warning}" for warning in warnings),
            *_rounding_notes(aligned=all(sheet.aligned for sheet in sheets)),
        )
    )
    yield Heading("Cautions")
    yield Paragraph(cautions.always, "warning")
    yield Notes(cautions.cautions)
    yield Table(
        (left("agent"), left("OSHA limit"), left("NIOSH limit"), left("grade")),
        tuple((a.name, a.osha, a.niosh, a.grade) for a in cautions.agents),
    )
    yield Paragraph(cautions.advice, "warning")


def _title_block(scenario: Scenario, sheets: int) -> Table:
    """Return the fields of ISO 7200, with blanks for what only the shop knows."""
    return Table(
        (left("title block"), left("")),
        (
            ("legal owner", BLANK),
            ("document number", BLANK),
            ("title", f"Density schedule, {scenario.name}"),
            ("revision", scenario.revision),
            ("date of issue", BLANK),
            ("sheets", str(sheets)),
            ("prepared by", BLANK),
            ("checked by", BLANK),
            ("approved by", BLANK),
        ),
    )


def _sheet(sheet: Worksheet, name: str, number: str, about: str) -> Iterator[Block]:
    radii = sheet.about(about)
    yield Heading(f"Weight class {name}, sheet {number}: pour in this order, innermost first")
    yield _formula(sheet)
    yield Paragraph(
        f"Sum {sheet.mass} g ({_pounds(sheet)} lb); class weight {sheet.asked} g{_spread(sheet)}; "
        f"difference {_signed(sheet.mass - sheet.asked)} g. "
        f"Low RG {radii.inches[0]} in, differential {radii.differential} in "
        f"about {POINT[about]}."
    )
    yield _record(sheet)
    yield Heading(f"Proof, weight class {name}")
    yield _proof(sheet)


def _pounds(sheet: Worksheet) -> str:
    return fixed(float(sheet.mass) / POUND, 3)


def _spread(sheet: Worksheet) -> str:
    tolerance = sheet.ball.map.mass_tolerance
    return "" if tolerance is None else f" ± {fixed(tolerance, DIGITS['mass'])} g"


def _formula(sheet: Worksheet) -> Table:
    columns = (
        left("part"),
        left("material"),
        Column("volume, cm³"),
        Column("density, g/cm³"),
        Column("±"),
        Column("mass, g"),
        Column("mass, oz"),
        Column("running, g"),
        Column("still to come, g"),
    )
    rows = tuple(
        (
            region.part,
            region.pour.material,
            str(region.volume),
            str(region.density),
            _tolerance(region),
            str(region.mass),
            str(region.ounces),
            str(region.running),
            f"{rounded(sheet.asked - region.running, DIGITS['mass'])}",
        )
        for region in sheet.regions
    )
    return Table(columns, rows)


def _tolerance(region: RegionSheet) -> str:
    tolerance = region.pour.tolerance
    return "-" if tolerance is None else fixed(tolerance, DIGITS["density"])


def _record(sheet: Worksheet) -> Table:
    """Return the blanks that a batch fills in (a control recipe, in the words of ISA-88)."""
    blanks = (
        "lot",
        "actual g",
        "time",
        "temperature",
        "measured density",
        "initials",
        "second check",
    )
    rows = tuple((region.part, *(BLANK for _ in blanks)) for region in sheet.regions)
    return Table((left("batch record"), *(left(blank) for blank in blanks)), rows)


def _proof(sheet: Worksheet) -> Table:
    """Return the worksheet with a column a region and one for the ball: figures down, sums right.

    Products of inertia stand only where a core isn't aligned and they are needed.
    """
    zero = (Decimal(0), Decimal(0), Decimal(0))
    axes = 3 if sheet.aligned else 6
    regions = sheet.regions
    rows: list[tuple[str, ...]] = [
        ("mass m, g", *(str(r.mass) for r in regions), str(sheet.mass)),
        ("mass m, lb", *("" for _ in regions), _pounds(sheet)),
    ]
    for k, axis in enumerate("xyz"):
        rows.append((f"CG {axis}, cm", *(str(r.cg[k]) for r in regions), str(sheet.cg[k])))
    rows += _six("I{} about own CG, g cm²", [r.own for r in regions], axes)
    for point, words in ((zero, "centre"), (sheet.cg, "CG")):
        radii = sheet.about_centre if words == "centre" else sheet.about_cg
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
        rows.append(("differential, in", *blank, str(radii.differential)))
        rows.append(("intermediate differential, in", *blank, str(radii.intermediate_differential)))
    columns = (left("figure"), *(Column(r.part) for r in regions), Column("ball"))
    return Table(columns, tuple(rows))


def _six(label: str, values: Sequence[Six], axes: int) -> Iterator[tuple[str, ...]]:
    for k in range(axes):
        yield (label.format(SIX[k]), *(str(six[k]) for six in values), "")


def _rounding_notes(*, aligned: bool) -> Iterator[str]:
    yield (
        "Figures are rounded by ASTM E29's rounding method (half to even), digits fixed per "
        f"column. Decimals: volume {DIGITS['volume']}, density {DIGITS['density']}, mass "
        f"{DIGITS['mass']} (g) and {DIGITS['ounces']} (oz), CG {DIGITS['cg']}, moments "
        f"{DIGITS['inertia']}, RG {DIGITS['rg']}, differential {DIGITS['differential']}."
    )
    yield (
        "Each figure is computed from the printed ones: mass = volume × density, the running mass "
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
    yield "Weighing rule of thumb: an error of at most 0.1 % of the reading (no source)."
    yield AS_DRAWN


def _signed(value: Decimal) -> str:
    return f"{value:+}"


def _data(sheet: Worksheet) -> dict[str, Any]:
    axes = 3 if sheet.aligned else 6
    zero = (Decimal(0), Decimal(0), Decimal(0))

    def six(values: Six) -> dict[str, float]:
        return {SIX[k]: float(values[k]) for k in range(axes)}

    def about(point: str) -> dict[str, Any]:
        radii = sheet.about(point)
        low, intermediate, high = (float(radius) for radius in radii.inches)
        return {
            "inertia_g_cm2": six(radii.sums),
            "rg_low_in": low,
            "rg_intermediate_in": intermediate,
            "rg_high_in": high,
            "differential_in": float(radii.differential),
            "intermediate_differential_in": float(radii.intermediate_differential),
        }

    return {
        "label": sheet.label,
        "mass_g": float(sheet.mass),
        "class_mass_g": float(sheet.asked),
        "cg_cm": [float(c) for c in sheet.cg],
        "pours": [
            {
                "part": region.part,
                "material": region.pour.material,
                "volume_cm3": float(region.volume),
                "density_g_cm3": float(region.density),
                "tolerance_g_cm3": region.pour.tolerance,
                "mass_g": float(region.mass),
                "mass_oz": float(region.ounces),
                "running_g": float(region.running),
                "cg_cm": [float(c) for c in region.cg],
                "own_inertia_g_cm2": six(region.own),
                "parallel_axis_about_centre_g_cm2": six(region.parallel(zero)),
                "parallel_axis_about_cg_g_cm2": six(region.parallel(sheet.cg)),
            }
            for region in sheet.regions
        ],
        "about_centre": about("centre"),
        "about_cg": about("cg"),
    }

"""The tables of a spread: what small changes do, what isn't counted, every figure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from optimizer.paper.document import Block, Column, Heading, Notes, Paragraph, Table
from optimizer.paper.quantities import Units
from optimizer.paper.words import listed
from optimizer.questions.tolerance.capable import capabilities
from optimizer.questions.tolerance.finding import LineSpread
from optimizer.questions.tolerance.gathered import FELT, WeightSpread
from optimizer.questions.tolerance.words import input_unit, law, percent, unit_of
from optimizer.scatter.inputs import Input
from optimizer.scatter.model import FIGURES
from shared.rounding import fixed
from shared.units import LENGTHS

SEEN = 0.1
"""Of the last digit of a figure: a model that is farther off says so."""


def told(found: LineSpread) -> list[str]:
    """Return the figures that the target asks for."""
    (first, *_) = found.weights
    return list(dict.fromkeys(band.figure for band in first.bands if band.rule is None))


def levers(found: LineSpread, units: Units) -> Iterator[Block]:
    """Yield the sensitivities of the target's figures, weight by weight."""
    if not found.inputs.each:
        return
    figures = dict.fromkeys((*told(found), "CG offset"))
    columns = (
        Column("weight", "left"),
        Column("a change of", "left"),
        *(Column(f"{figure} [{unit_of(figure, units).name}]") for figure in figures),
    )
    rows, still = list[tuple[str, ...]](), dict[str, None]()
    for weight in found.weights:
        for k, input_ in enumerate(weight.model.inputs):
            step = _step(input_, units)
            moved = [
                unit_of(figure, units).signed(step * float(weight.model.slopes[figure][k]), 2)
                for figure in figures
            ]
            if not any(float(cell) for cell in moved):
                still[input_.name] = None
                continue
            words = f"{input_.name}, {input_unit(input_, units).exact(step)}"
            rows.append((weight.model.ball.map.name, words, *moved))
    yield Heading("What a small change of each does")
    yield Table(columns, tuple(rows))
    if still:
        yield Notes(
            (f"To first order these digits show no effect of {listed(list(still))}.",), "quiet"
        )


def _step(input_: Input, units: Units) -> float:
    """Return the small change that a sensitivity is told for, ours."""
    if input_.kind in ("density", "batch"):
        return 0.01
    unit = input_unit(input_, units)
    if input_.kind == "tilt":
        return unit.factor
    small = 0.01 if input_.kind == "scale" else LENGTHS[unit.name].small
    return small * unit.factor


def not_counted(found: LineSpread, names: dict[str, str]) -> Iterator[Block]:
    """Yield what is held, and what it would do if it varied as usual."""
    if not found.usual and not found.held:
        return
    yield Heading("Not counted")
    units = Units.of(found.scenario)
    columns = (
        Column("held at its nominal value", "left"),
        Column("if it varied as usual", "left"),
        *(Column(f"good, {names[weight.label]}") for weight in found.weights),
    )
    told_of = [
        ("as counted above", "", found.base),
        *((_held(u.kind, u.inputs), law(u.inputs[0], units), u.good) for u in found.usual),
    ]
    rows = [
        (*words, *(percent(good[weight.label]) for weight in found.weights))
        for *words, good in told_of
    ]
    yield Table(columns, tuple(rows))
    lines = [
        f"{usual.kind}: {law(usual.inputs[0], units)}, is worth {_worth(found, usual.moved)} at "
        f"{names[found.weights[0].label]}."
        for usual in found.usual
        if usual.moved
    ]
    lines += ["What is usual is common practice, without a source: state your own in [spread]."]
    if found.held:
        one = len(found.held) == 1
        whose = "is held: its material has" if one else "are held: their materials have"
        what = "density" if one else "densities"
        lines.append(f"The {what} of {listed(found.held)} {whose} no tolerance.")
    yield Notes(tuple(lines), "quiet")


def _held(kind: str, inputs: Sequence[Input]) -> str:
    """Return what is held: of which parts, along or about which axes."""
    axes = dict[str | None, list[str]]()
    for input_ in inputs:
        own = axes.setdefault(input_.of, [])
        own += [] if input_.axis is None else ["xyz"[input_.axis]]
    alike = dict[str, list[str]]()
    for part, own in axes.items():
        alike.setdefault(listed(own) if own else "", []).append(part or "")
    way = "about" if kind == "tilt" else "along"
    words = [
        " ".join(filter(None, (f"of {listed(of)}" if any(of) else "", own and f"{way} {own}")))
        for own, of in alike.items()
    ]
    return f"{kind} {', '.join(words)}".strip()


def _worth(found: LineSpread, moved: Mapping[str, float]) -> str:
    units = Units.of(found.scenario)
    told_of = {figure: unit_of(figure, units) for figure in told(found)}
    return listed([
        f"{unit.told(abs(moved[figure]), 1)} of {figure}"
        for figure, unit in told_of.items()
        if float(unit.number(moved[figure], 1))
    ])  # fmt: skip


def between(found: LineSpread, names: dict[str, str], units: Units) -> Iterator[Block]:
    """Yield how far two weights of the line differ."""
    if not found.between:
        return
    yield Heading("Do two balls of the line feel the same?")
    columns = (
        Column("weights", "left"),
        *(Column(f"{figure} differs by [{unit_of(figure, units).name}]") for figure in FELT),
    )
    rows = []
    for between in found.between:
        first, second = between.labels
        cells = []
        for figure in FELT:
            unit, moments = unit_of(figure, units), between.moments[figure]
            ends = (unit.signed(moments.quantile(part), 1) for part in (0.025, 0.975))
            cells.append(f"{unit.signed(moments.mean, 1)} ({' to '.join(ends)})")
        rows.append((f"{names[second]} less {names[first]}", *cells))
    yield Table(columns, tuple(rows))
    yield Paragraph(
        "On average, and for 95 % of the pairs. Motion on a lane goes by I ÷ m and by how far the "
        "centre of gravity is from the centre, so equal ounces of top weight are not an equal "
        "offset in balls of different weight.",
        "quiet",
    )


def figures(weight: WeightSpread, name: str, units: Units) -> Iterator[Block]:
    """Yield every figure of one weight, simulated and to first order."""
    yield Heading(f"{name}: every figure")
    columns = (
        Column("figure", "left"),
        Column("nominal"),
        Column("sd, simulated"),
        Column("sd, to first order"),
        Column("95 % of the balls"),
        Column("worst of all together"),
    )
    rows = []
    for figure in FIGURES:
        unit, moments = unit_of(figure, units), weight.simulated[figure]
        if not moments.count:  # no ball has a low-RG axis
            continue
        ends = [unit.number(moments.quantile(part), 1) for part in (0.025, 0.975)]
        worst = "none: a normal has no end"
        if weight.worst is not None:
            worst = " to ".join(unit.number(end, 1) for end in weight.worst[figure])
        rows.append(
            (
                f"{figure} [{unit.name}]",
                unit.number(weight.model.nominal[figure], 1),
                unit.number(moments.sd, 2),
                unit.number(weight.sd[figure], 2),
                " to ".join(ends),
                worst,
            )
        )
    yield Table(columns, tuple(rows))
    known = capabilities(weight)
    lines = [
        f"Capability of the {figure} against the target's tolerances: Cp {fixed(its.cp, 2)}, Cpk "
        f"{fixed(its.cpk, 2)}; {fixed(100 * its.outside, 2)} % outside if it is normal."
        for figure, its in known.items()
    ]
    if not known:
        lines = ["No capability: it is told of a figure where all that moves it was measured."]
    yield Notes(tuple(lines), "quiet")
    off = [
        f"{figure} by {unit.told(weight.missed[figure], 4)}"
        for figure, unit in ((f, unit_of(f, units)) for f in ("weight", "low RG", "differential"))
        if weight.missed[figure] > SEEN * unit.factor * 10.0**-unit.digits
    ]
    if off:
        yield Notes((f"On balls built exactly, this model is off in {listed(off)}.",), "warning")

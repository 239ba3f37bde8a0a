"""The page of what each part does: how the line is made, the picture, the table, how to read it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from optimizer.ball.figures import DIFFERENTIAL, INTERMEDIATE_DIFFERENTIAL, LOW_RG, WEIGHT, Figure
from optimizer.lineup.result import LineupResult
from optimizer.paper.axis_words import axis_lines
from optimizer.paper.document import (
    Block,
    Column,
    Notes,
    Paragraph,
    Table,
    collected,
    left,
)
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import POINT, listed, nearest_line
from optimizer.questions.line_up.frame import closing, stated, warned
from optimizer.questions.line_up.page import class_names
from optimizer.questions.line_up.warnings import result_warnings
from optimizer.questions.parts.finding import MORE, Made, made
from optimizer.questions.parts.line import line_sentences
from optimizer.questions.parts.picture import parts_pictures
from optimizer.questions.parts.sums import PERCENT, Sum, intermediate, sums
from shared.arrays import Array


@collected
def parts_blocks(result: LineupResult) -> Iterator[Block]:
    """Yield the page."""
    yield stated(result.scenario, "what each part does.", "plain")
    if warning := nearest_line(result.status).strip():
        yield Paragraph(warning, "warning")
    yield from summary_blocks(result)
    yield _table(result, made(result))
    yield Notes(tuple(_reading(result)))
    yield from closing(result_warnings(result))


@collected
def summary_blocks(result: LineupResult) -> Iterator[Block]:
    """Yield how the line is made, and the picture, for a page about more, too."""
    every = made(result)
    yield Paragraph(_meaning(result))
    if sentences := line_sentences(result, every):
        yield Notes(sentences)
    units, names = Units.of(result.scenario), class_names(result)
    if lines := axis_lines([each.ball for each in every.values()], names, units.length):
        yield Notes(lines)
    yield from warned([*_turning(every, names)])
    yield parts_pictures(result, every)


def _meaning(result: LineupResult) -> str:
    return (
        "Each part counts with its own material, without the parts inside it, and with its "
        f"moments about {POINT[result.scenario.about]} and the axes of the whole ball: so the "
        "parts add up to the ball."
    )


def _turning(every: Mapping[str, Made], names: Mapping[str, str]) -> Iterator[str]:
    if turning := [names[label] for label, each in every.items() if not each.axes_stand]:
        yield (
            f"{listed(turning)}: RGs are so much alike that a slight change of density turns or "
            "swaps the axes, and the shares in RG and differential with them."
        )


def _reading(result: LineupResult) -> Iterator[str]:
    yield (
        "A share says what is there, not what would change without it: a light part has its "
        "share, too, and without it the ball would have another weight, CG and axes."
    )
    yield (
        "More of a part raises an RG if its share of that RG² is larger than its share of the "
        "weight, and lowers it if it is smaller."
    )
    yield (
        "What a part adds to a differential is (I_high - I_low) ÷ (m (RG_high + RG_low)): its own "
        "moments of inertia, the ball's mass and RGs. It is negative for what lies farther from "
        "the low-RG axis than from the high-RG axis, as a girdle does, and a mantle around a tall "
        "block."
    )
    yield (
        f"The last columns tell what {_more(Units.of(result.scenario))} more of the part moves, "
        "all else unchanged: the ball is measured again, with its new weight, CG and axes."
    )


def _table(result: LineupResult, every: Mapping[str, Made]) -> Table:
    units, names = Units.of(result.scenario), class_names(result)
    weight, *others = sums(result)
    added = (weight, Sum("", "weight", PERCENT, lambda made: made.mass_shares), *others)
    moved = [WEIGHT, LOW_RG, DIFFERENTIAL, *[INTERMEDIATE_DIFFERENTIAL] * intermediate(result)]
    rows: list[tuple[str, ...]] = []
    for label, each in every.items():
        rows.append((names[label],))
        parts = [f"  {p.part}{' (fixed)' if p.fixed else ''}" for p in each.ball.map.pours]
        figures = [[*map(of.unit.number, of.each(each).tolist())] for of in added]
        changes = [_signed(each.moves(figure), units.by(figure.quantity)) for figure in moved]
        rows += zip(parts, *figures, *changes, strict=True)
        totals = (figure.unit.number(figure.total(each)) for figure in added)
        rows.append(("  ball", *totals, *[""] * len(moved)))
    heads = [f"+{MORE / units.density.factor:g}: {_named(f, units)}" for f in moved[1:]]
    heads.insert(0, f"+{_more(units)}: {_named(WEIGHT, units)}")
    columns = [Column(head) for head in (*(figure.named for figure in added), *heads)]
    return Table((left("part"), *columns), tuple(rows))


def _signed(changes: Array, unit: Unit) -> list[str]:
    """Return changes with two digits more than the figures: they are small."""
    return [unit.signed(change, 2) for change in changes.tolist()]


def _named(figure: Figure, units: Units) -> str:
    return f"{figure.words}, {units.by(figure.quantity).name}"


def _more(units: Units) -> str:
    """Return by how much a part is made denser, in words."""
    return f"{MORE / units.density.factor:g} {units.density.name}"

"""The screen of `grow`: what each pour more or less is worth, and with its picture the page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from optimizer.ball.figures import DIFFERENTIAL
from optimizer.paper.document import (
    Block,
    Heading,
    Listed,
    Notes,
    Report,
    Table,
    collected,
)
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import margin_lines, plural, sentence_case, status_words
from optimizer.questions.grow.data import growth_data
from optimizer.questions.grow.grown import Grown, Growth
from optimizer.questions.grow.picture import growth_picture
from optimizer.questions.line_up.frame import closing, stated
from optimizer.questions.line_up.page import class_names
from shared.rounding import fixed

GAP = "-"
"""Where a figure isn't known."""
ROOM = 0.05
"""Tolerances: a smaller gain isn't seen on a screen."""


def growth_blocks(growth: Growth) -> tuple[Block, ...]:
    """Return the screen."""
    return _blocks(growth, drawn=False)


def growth_report(growth: Growth, written: Sequence[Path] = ()) -> Report:
    """Return the page, with its picture, and the same as data."""
    return Report(_blocks(growth, drawn=True), growth_data(growth, written))


@collected
def _blocks(growth: Growth, *, drawn: bool) -> Iterator[Block]:
    scenario = growth.base.result.scenario
    yield stated(scenario, _summary(growth), "good" if growth.able else "bad")
    if not growth.complete:
        what = "Stopped before the end of the search: better ones may not have been tried yet."
        yield Notes((what,), "warning")
    yield Heading("Where the next pour goes" if growth.way == "more" else "Which pour may go")
    yield _table(growth)
    yield Notes(tuple(_notes(growth)))
    if drawn and (picture := growth_picture(growth)) is not None:
        yield picture
    yield Heading("What is new in each" if growth.way == "more" else "What limits each")
    yield Notes(tuple(_what(growth)))
    yield from closing()


def _summary(growth: Growth) -> str:
    """Return what was found, in a sentence or two."""
    own, pours = growth.base, plural(growth.count, "pour")
    status = status_words(own.result.status).upper()
    stands = f"as drawn {status}" + (f", {_level(own)} tolerances" if own.accepted else "")
    if not growth.able:
        none = "made a line that can be poured" if growth.way == "more" else "leaves one"
        return f"{stands}. Of {_tried(growth)} none {none}."
    best = growth.each[0]
    level = f"{status_words(best.result.status).upper()}, {_level(best)} tolerances"
    if growth.way == "fewer":
        return f"{stands}. With {pours} less, the best is {best.what}: {level}."
    if own.accepted and best.rank <= own.rank:
        return f"{stands}. No part that was tried gains margin; the best is {best.what}: {level}."
    return f"{stands}. With {pours} more, the best found is {best.what}: {level}."


def _tried(growth: Growth) -> str:
    return f"{plural(growth.tried, 'candidate')} tried"


def _level(line: Grown) -> str:
    return GAP if line.room is None else fixed(line.rank[3], 1)


def _smallest(line: Grown) -> str:
    return fixed(line.rank[2], 1) if line.accepted and line.result.smallest else GAP


def _table(growth: Growth) -> Table:
    """Return the lines, the best first below the one as drawn."""
    lines, unit = (growth.base, *growth.each), _finer(growth)
    rows = Listed(lines).left("", lambda line: _number(growth, line))
    rows = rows.left("line", lambda line: line.what)
    rows = rows.left("status", lambda line: status_words(line.result.status))
    rows = rows.right("smallest margin", _smallest)
    rows = rows.right("that moves", lambda line: _level(line) if line.accepted else GAP)
    if any(line.width is not None for line in lines):
        rows = rows.right(
            f"reach, {unit.name}",
            lambda line: GAP if line.width is None else unit.number(line.width),
        )
    rows = rows.right("pours", lambda line: str(line.line.pours) if line.accepted else GAP)
    if len({line.line.moulds for line in lines if line.accepted}) > 1:
        rows = rows.right("moulds", lambda line: str(line.line.moulds) if line.accepted else GAP)
    if any(line.cost is not None for line in lines):
        rows = rows.right("cost", lambda line: GAP if line.cost is None else fixed(line.cost, 2))
    if any(line.good is not None for line in lines):
        rows = rows.right(
            "good lines",
            lambda line: GAP if line.good is None else f"{fixed(100 * line.good, 1)} %",
        )
    return rows.table


def _number(growth: Growth, line: Grown) -> str:
    return "" if line is growth.base else str(growth.each.index(line) + 1)


def _finer(growth: Growth) -> Unit:
    return Units.of(growth.base.result.scenario).by(DIFFERENTIAL.quantity).finer(1)


def _notes(growth: Growth) -> Iterator[str]:
    lines = (growth.base, *growth.each)
    yield (
        '"Smallest margin" is in tolerances; "that moves" leaves out walls between parts that stay '
        "as they are drawn, and whatever else neither a density nor a free length moves."
    )
    if any(line.width is not None for line in lines):
        yield (
            '"Reach": how far apart the differentials are that all weights can share at the low RG '
            "of the line."
        )
    if any(line.cost is not None for line in lines):
        yield "Cost is of the material of one ball of each weight, in the currency of the prices."
    if any(line.good is not None for line in lines):
        yield '"Good lines": cast lines, one ball of each weight, of which every ball is good.'
    if growth.way == "more":
        solved = plural(len(growth.each), "line")
        yield (
            f"{_tried(growth)}, {growth.fits} of them fit; {solved} solved and measured. This is "
            "a search: it doesn't prove that no other part is worth more."
        )
    for name, why in growth.refused:
        yield f"{name} can't go: {why}."


@collected
def _what(growth: Growth) -> Iterator[str]:
    """Yield what each line has or lacks, the limit nearest to it, and what dominates it."""
    units = Units.of(growth.base.result.scenario)
    for line in growth.each:
        number, names = _number(growth, line), class_names(line.result)
        said = [f"{number}: {line.what}"]
        said += list(_lengths(line, growth))
        if line.accepted and line.room is not None:
            (limit,) = margin_lines([line.room], names, units)
            said.append(limit)
        if not line.accepted and line.result.infeasible is not None:
            said.append(line.result.infeasible.proof)
        if above := growth.above(line):
            better = ", ".join(_number(growth, other) for other in above)
            said.append(f"no better in anything than {better}")
        yield sentence_case("; ".join(said))


def _lengths(line: Grown, growth: Growth) -> Iterator[str]:
    """Yield the lengths of what is new."""
    scenario, old = line.result.scenario, growth.base.result.scenario.text.dimensions
    unit = scenario.text.units.length
    for name, value in scenario.text.dimensions.items():
        if name not in old and isinstance(value, float):
            yield f"{name} {value + 0.0:g} {unit}"

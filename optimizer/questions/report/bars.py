"""Margins as bars: one row for each limit, the tightest first, a picture for each weight.

The band is what the limit allows, the mark the ball's own figure, the whisker that figure's
declared tolerance to either side. Every row has its own scale, with its ends in numbers.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby
from typing import Final

from optimizer.lineup.margins import outside
from optimizer.lineup.result import LineupResult, WeightResult
from optimizer.paper.document import Pictures, panels
from optimizer.paper.pictures.picture import BOLD, GREY, PAPER, Picture, as_name, cut, text
from optimizer.paper.quantities import Units
from optimizer.paper.words import plural, room, subject
from optimizer.questions.line_up.frame import titled
from optimizer.questions.line_up.page import class_names
from optimizer.questions.report.margin_rows import SECTIONS, MarginRow, drawn, rows

WIDE: Final = 410.0
LEFT, RIGHT = 78.0, 332.0
"""px: of a picture; to both ends of a row's scale."""
HEAD, TITLE, TALL, LINE = 34.0, 28.0, 40.0, 15.0
"""px: of the title; of a section's heading; of a row with one line of words; of one more line."""
LETTERS: Final = 59
"""Letters that fit a line."""
OPEN: Final = 4.0
"""Tolerances shown, at least, on a side that has no limit."""
BAND: Final = "stroke='currentColor' stroke-opacity='.13' stroke-width='10'"
EDGE: Final = "fill='none' stroke='currentColor' stroke-width='2'"
THIN: Final = "fill='none' stroke='currentColor' stroke-width='1.2'"


def margin_bars(result: LineupResult) -> Pictures:
    """Return the bars of every weight."""
    units, names = Units.of(result.scenario), class_names(result)
    return panels(
        "margins",
        f"{titled(result.scenario)}: room to every limit",
        tuple(_picture(weight, names[weight.label], units) for weight in result.weights),
        "One row for each limit, the tightest first; below them limits that no density moves, and "
        "rules on figures that the scenario gives. The band is what the limit allows, with its "
        "ends in numbers; the diamond is the ball's figure: a cross outside the limit, hollow "
        "where only a rule limits it; the whisker is one tolerance to either side. Each row has "
        "its own scale.",
        across=4,
    )


def _picture(weight: WeightResult, name: str, units: Units) -> Picture:
    shown, left_out = drawn(rows(weight))
    body, scales, y = [text(8, 20, name, f"font-size='15' {BOLD}")], list[Scale](), HEAD
    body.append("<g font-size='12'>")
    subjects = [subject(row.tightest) for row in shown]
    for section, group in groupby(shown, key=lambda row: row.section):
        if section:
            body.append(text(8, y + 14, SECTIONS[section], BOLD))
            y += TITLE
        for row in group:
            level = y + 25 + (0.0 if _fits(row, units) else LINE)
            body += _words(row, y + 12, level, units, subjects)
            scales.append(Scale(row, level))
            y = level + TALL - 25
    more = _left_out(left_out)
    body += [text(8, y + 14 + k * LINE, line, GREY) for k, line in enumerate(more)]
    about = "; ".join(_sentence(row, units) for row in shown)
    return Picture(
        f"margins-{as_name(weight.label)}",
        f"Room to the limits, {name}",
        ". ".join((about, *more)) + ".",
        WIDE,
        y + 8 + len(more) * LINE,
        (*body, "</g>", *_drawn(scales)),
    )


def _drawn(scales: Sequence[Scale]) -> Iterator[str]:
    """Yield all the scales of a picture, layer by layer."""
    for ink, layer in (
        (BAND, [scale.band() for scale in scales]),
        (EDGE, [end for scale in scales for end in scale.ends()]),
        (THIN, [line for scale in scales for line in scale.lines()]),
    ):
        yield from (f"<g {ink}>", *layer, "</g>")
    yield from (scale.mark() for scale in scales)


def _left_out(margin_rows: Sequence[MarginRow]) -> tuple[str, ...]:
    """Return how many rows aren't drawn, and how much room the tightest of them has."""
    if not margin_rows:
        return ()
    known = [row.tightest for row in margin_rows if row.tightest.tolerances is not None]
    first = f"and {plural(len(margin_rows), 'limit')} more, all kept"
    if without := len(margin_rows) - len(known):
        first += f" ({without} without a tolerance)"
    if not known:
        return (first,)
    least = min(known, key=lambda margin: margin.tolerances or 0.0)
    about = cut(subject(least), LETTERS - len(room(least)) - len("tightest: , "))
    return first, f"tightest: {about}, {room(least)}"


def _named(row: MarginRow, units: Units) -> str:
    least = row.tightest
    return f"{subject(least)} {units.limit(least).told(least.value)}"


def _fits(row: MarginRow, units: Units) -> bool:
    """Whether name, figure and room fit one line."""
    return len(_named(row, units)) + len(room(row.tightest)) + 2 <= LETTERS


def _sentence(row: MarginRow, units: Units) -> str:
    """Return a row in words."""
    unit = units.limit(row.tightest)
    ends = " to ".join("open" if end is None else unit.number(end) for end in row.ends)
    return f"{_named(row, units)}, allowed {ends}: {room(row.tightest)}"


def _words(
    row: MarginRow, y: float, level: float, units: Units, names: Sequence[str]
) -> Iterator[str]:
    """Yield the words of a row: its name at `y`, its ends at `level`, its room above them."""
    least, unit = row.tightest, units.limit(row.tightest)
    value, weight = unit.told(least.value), BOLD if outside(least) else GREY
    yield text(8, y, f"{cut(subject(least), LETTERS - len(value) - 1, names)} {value}")
    yield text(WIDE - 8, level - 13, room(row.tightest), f"text-anchor='end' {weight}")
    low, high = row.ends
    if low is not None:
        yield text(LEFT - 9, level + 4, unit.number(low), "text-anchor='end'")
    if high is not None:
        yield text(RIGHT + 9, level + 4, unit.number(high))


@dataclass(frozen=True)
class Scale:
    """A row's own scale, at a height on the picture, px."""

    row: MarginRow
    y: float

    @cached_property
    def shown(self) -> tuple[float, float]:
        """The values at its ends: both bounds and the figure, and a stretch of an open side."""
        least, (low, high) = self.row.tightest, self.row.ends
        values = [least.value, *(end for end in (low, high) if end is not None)]
        a, b = min(values), max(values)
        room = max(b - a, OPEN * (least.tolerance or 0.0), 1e-6 * abs(least.value), 1e-9)
        if high is None:
            b = a + 1.35 * room
        if low is None:
            a = b - 1.35 * room
        over = 0.06 * (b - a)
        return (
            a - over if low is None or least.value < low else a,
            b + over if high is None or least.value > high else b,
        )

    def x(self, value: float | None, otherwise: float = 0.0) -> float:
        """Return a figure's place on the picture, px, kept on the scale; `otherwise` for None."""
        if value is None:
            return otherwise
        a, b = self.shown
        return min(max(LEFT + (value - a) / (b - a) * (RIGHT - LEFT), LEFT), RIGHT)

    def band(self) -> str:
        """Return what the limit allows."""
        low, high = self.row.ends
        return f"<path d='M {self.x(low, LEFT):.1f},{self.y:.1f} H {self.x(high, RIGHT):.1f}'/>"

    def ends(self) -> Iterator[str]:
        """Yield the bounds."""
        for end in self.row.ends:
            if end is not None:
                yield f"<path class='end' d='M {self.x(end):.1f},{self.y - 7:.1f} v 14'/>"

    def lines(self) -> Iterator[str]:
        """Yield the whisker, and an arrow at an open end."""
        for end, edge, way in zip(self.row.ends, (LEFT, RIGHT), (-1, 1), strict=True):
            if end is None:
                tip = f"M {edge - 5 * way:.1f},{self.y - 4:.1f} l {4 * way},4 l {-4 * way},4"
                yield f"<path class='open' d='{tip}'/>"
        least = self.row.tightest
        if least.tolerance:
            a, b = (self.x(least.value + way * least.tolerance) for way in (-1, 1))
            caps = f"M {a:.1f},{self.y - 3:.1f} v 6 M {b:.1f},{self.y - 3:.1f} v 6"
            yield f"<path class='whisker' d='M {a:.1f},{self.y:.1f} H {b:.1f} {caps}'/>"

    def mark(self) -> str:
        """Return the ball's figure."""
        x, y = self.x(self.row.tightest.value), self.y
        if outside(self.row.tightest):
            cross = f"M {x - 5:.2f},{y - 5:.1f} l 10,10 m 0,-10 l -10,10"
            return f"<path class='outside' d='{cross}' {EDGE}/>"
        shape = f"class='inside' d='M {x:.2f},{y - 6:.1f} l 5,6 l -5,6 l -5,-6 Z'"
        hollow = f" {PAPER} stroke='currentColor' stroke-width='1.2'"
        return f"<path {shape}{hollow if self.row.tightest.rule_only else ''}/>"

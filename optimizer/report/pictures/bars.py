"""Margins as bars: one row a limit, the tightest first, a picture for each weight.

The band is what the limit allows, the mark the ball's own figure, the whisker that figure's
declared tolerance to either side. Every row has a scale of its own; its ends are told in numbers.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from optimizer.linear.rows import Margin
from optimizer.lineup.margins import outside
from optimizer.lineup.result import LineupResult, WeightResult
from optimizer.report.document import Pictures
from optimizer.report.pictures.picture import BOLD, GREY, Picture, as_name, side_by_side, text
from optimizer.report.quantities import Units
from optimizer.report.solution.page import class_names
from optimizer.report.words import plural, room, subject

WIDE: Final = 410.0
LEFT, RIGHT = 78.0, 332.0
"""px: of a picture; to both ends of a row's scale."""
HEAD, TALL = 34.0, 40.0
"""px: of the title; of a row."""
MOST: Final = 24
"""Rows that are drawn; what has more room is counted."""
LETTER: Final = 6.6
"""px, of a letter at the most, on the average of a line."""
OPEN: Final = 4.0
"""Tolerances that are shown of a side that has no limit, at the least."""


@dataclass(frozen=True)
class Row:
    """A limit's two sides, where it has both, and the figure of the ball between them."""

    margins: tuple[Margin, ...]

    @property
    def tightest(self) -> Margin:
        """The side with the least room."""
        return min(self.margins, key=lambda m: m.slack)

    @property
    def order(self) -> tuple[bool, bool, float]:
        """What decides first, then least room first; what has no tolerance after the rest."""
        least = self.tightest
        known = least.tolerances is not None
        return least.rule_only, not known, (least.tolerances if known else least.slack) or 0.0

    def bound(self, side: str) -> float | None:
        """The bound at the side "min" or "max", None where it is open."""
        return next((m.bound for m in self.margins if m.limit.endswith(side)), None)


def rows(weight: WeightResult) -> tuple[Row, ...]:
    """Return a ball's margins as rows, the tightest first; what only tells of a rule comes last."""
    keyed: dict[tuple[str, object, bool], list[Margin]] = {}
    for margin in weight.margins:
        key = (margin.limit.rsplit(" ", 1)[0], margin.part, margin.rule_only)
        keyed.setdefault(key, []).append(margin)
    return tuple(sorted((Row(tuple(some)) for some in keyed.values()), key=lambda row: row.order))


def margin_bars(result: LineupResult) -> Pictures:
    """Return the bars of every weight."""
    units, names = Units.of(result.scenario), class_names(result)
    each = tuple(_picture(one, names[one.label], units) for one in result.weights)
    whole = side_by_side(
        "margins",
        f"{result.scenario.name}, revision {result.scenario.revision}: room to every limit",
        " ".join(f"{one.title}: {one.about}" for one in each),
        each,
        across=4,
    )
    return Pictures(
        whole,
        "One row a limit, the tightest first. The band is what the limit allows, with its ends in "
        "numbers; the diamond is the ball's figure, a cross where it is outside, hollow where only "
        "a rule speaks of it; the whisker is one tolerance to either side. Each row has its own "
        "scale.",
        each,
    )


def _picture(weight: WeightResult, name: str, units: Units) -> Picture:
    every = rows(weight)
    drawn, left_out = every[:MOST], every[MOST:]
    body = [text(8, 20, name, f"font-size='15' {BOLD}")]
    for k, row in enumerate(drawn):
        body += _row(row, HEAD + k * TALL, units)
    if left_out:
        more = f"and {plural(len(left_out), 'row')} more, with more room or of rules only"
        body.append(text(8, HEAD + len(drawn) * TALL + 16, more, f"font-size='12' {GREY}"))
    height = HEAD + len(drawn) * TALL + (26 if left_out else 8)
    told = "; ".join(_said(row, units) for row in drawn)
    return Picture(
        f"margins-{as_name(weight.label)}",
        f"Room to the limits, {name}",
        told + ".",
        WIDE,
        height,
        tuple(body),
    )


def _said(row: Row, units: Units) -> str:
    """Return a row in words."""
    least, unit = row.tightest, units.by(row.tightest.quantity)
    ends = " to ".join(
        "open" if bound is None else unit.number(bound) for bound in map(row.bound, ("min", "max"))
    )
    return f"{subject(least)} {unit.told(least.value)}, allowed {ends}: {room(least)}"


def _row(row: Row, y: float, units: Units) -> Iterator[str]:
    least, unit = row.tightest, units.by(row.tightest.quantity)
    small = "font-size='12'"
    bad = outside(least)
    words = room(least) + (" (a rule)" if least.rule_only and bad else "")
    about, value = subject(least), unit.told(least.value)
    letters = int((WIDE - 20) / LETTER) - len(words) - len(value) - 2
    about = about if len(about) <= letters else about[: letters - 1] + "…"
    yield text(8, y + 12, f"{about} {value}", small)
    level, low, high = y + 25, row.bound("min"), row.bound("max")
    if low is not None:
        yield text(LEFT - 6, level + 4, unit.number(low), f"{small} text-anchor='end'")
    if high is not None:
        yield text(RIGHT + 6, level + 4, unit.number(high), small)
    yield text(WIDE - 8, y + 12, words, f"{small} text-anchor='end' {BOLD if bad else GREY}")
    yield from _scale(row, level)


def _scale(row: Row, y: float) -> Iterator[str]:
    least = row.tightest
    low, high, spread = row.bound("min"), row.bound("max"), least.tolerance or 0.0
    a, b = _shown(low, high, least.value, spread)

    def x(value: float) -> float:
        return LEFT + (value - a) / (b - a) * (RIGHT - LEFT)

    start, end = (LEFT if low is None else x(low)), (RIGHT if high is None else x(high))
    yield (
        f"<rect x='{start:.1f}' y='{y - 5:.1f}' width='{end - start:.1f}' height='10' "
        "fill-opacity='.13'/>"
    )
    for bound in (low, high):
        if bound is not None:
            yield f"<path class='end' d='M {x(bound):.1f},{y - 7:.1f} v 14' {LINE}/>"
    for bound, edge, way in ((low, LEFT, -1), (high, RIGHT, 1)):
        if bound is None:  # open: an arrow goes on
            tip = f"M {edge - 5 * way:.1f},{y - 4:.1f} l {4 * way},4 l {-4 * way},4"
            yield f"<path class='open' d='{tip}' {THIN}/>"
    if spread:
        from_, to = max(x(least.value - spread), LEFT), min(x(least.value + spread), RIGHT)
        yield f"<path class='whisker' d='M {from_:.1f},{y:.1f} H {to:.1f}' {THIN}/>"
        for at in (from_, to):
            yield f"<path d='M {at:.1f},{y - 3:.1f} v 6' {THIN}/>"
    yield _mark(x(least.value), y, row)


def _mark(x: float, y: float, row: Row) -> str:
    if outside(row.tightest):
        cross = f"M {x - 5:.2f},{y - 5:.1f} l 10,10 m 0,-10 l -10,10"
        return f"<path class='outside' d='{cross}' {LINE}/>"
    shape = f"class='inside' d='M {x:.2f},{y - 6:.1f} l 5,6 l -5,6 l -5,-6 Z'"
    if row.tightest.rule_only:
        return f"<path {shape} fill='white' {THIN}/>"
    return f"<path {shape}/>"


LINE: Final = "fill='none' stroke='currentColor' stroke-width='2'"
THIN: Final = "stroke='currentColor' stroke-width='1.2' fill-opacity='0'"


def _shown(
    low: float | None, high: float | None, value: float, spread: float
) -> tuple[float, float]:
    """Return what a row's scale shows: its bounds and the figure, with some of an open side."""
    some = [value, *(bound for bound in (low, high) if bound is not None)]
    least, most = min(some), max(some)
    room = max(most - least, OPEN * spread, 1e-6 * abs(value), 1e-9)
    if high is None:
        most = least + 1.35 * room
    if low is None:
        least = most - 1.35 * room
    over = 0.06 * (most - least)
    return (
        least - over if low is None or value < low else least,
        most + over if high is None or value > high else most,
    )

"""Room against pours: a point a candidate, those that another one dominates in grey."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from textwrap import wrap
from typing import Final

import numpy as np

from optimizer.paper.document import Pictures
from optimizer.paper.pictures.picture import BOLD, FAINT, GREY, Picture, text
from optimizer.paper.pictures.sheet import Sheet
from optimizer.paper.pictures.signs import sign
from optimizer.paper.pictures.ticks import Frame, ticks, wider
from optimizer.paper.words import listed, plural, status_words
from optimizer.questions.compare.compare import Candidate, Comparison
from shared.rounding import fixed

WIDTH, LEFT, RIGHT, TOP, TALL = 420.0, 60.0, 404.0, 40.0, 220.0
"""px: of the picture; to the plot's sides; down to the plot; the plot's height."""
LETTER, LINE = 7.2, 16.0
"""px: how wide a letter of 12 px is taken to be; from one line of text to the next."""
WRAP: Final = int((WIDTH - LEFT - 24) / LETTER)
"""Letters in a line of the list at the most."""
ASIDE: Final = 13.0
"""px between the signs of equal points."""
LEADER: Final = "stroke='currentColor' stroke-opacity='.5'"
"""From a sign to its name."""
DIM: Final = 0.45
"""Opacity of the sign of a candidate that is dominated."""


@dataclass(frozen=True)
class Area:
    """A rectangle on the picture, px."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Area) -> bool:
        """Whether two have any of their insides in common."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def within(self, other: Area) -> bool:
        """Whether it lies in the other one."""
        across = other.left <= self.left and self.right <= other.right
        return across and other.top <= self.top and self.bottom <= other.bottom


PLOT: Final = Area(LEFT, TOP, RIGHT, TOP + TALL)


def scatter(comparison: Comparison) -> Pictures | None:
    """Return the picture, None where fewer than two candidates have a margin."""
    shown = [(k, candidate) for k, candidate in enumerate(comparison.candidates) if candidate.rooms]
    if len(shown) < 2:
        return None
    told = [_told(candidate, comparison) for _, candidate in shown]
    lines = list(_list(shown, told, comparison))
    title = "Room in what densities move, against different pours"
    picture = Picture(
        "scatter",
        title,
        " ".join(f"{' '.join(words)}." for words in told),
        WIDTH,
        TOP + TALL + 74 + LINE * sum(map(len, told)),
        (*_plot(shown, comparison), *lines),
    )
    return Pictures(
        picture,
        "Higher up: more room; further left: fewer pours. A candidate is dominated, and grey, "
        "if another with the same target, class weights and limits is no worse in room (here and "
        "over all margins), pours and distance from the target, and better in one of them. Walls "
        "that no density moves are not in the picture.",
    )


def _told(candidate: Candidate, comparison: Comparison) -> list[str]:
    """Return what is told of a candidate below the plot, line by line."""
    lines = [
        f"{candidate.name}: {candidate.rooms[1]} tolerances, {plural(candidate.pours, 'pour')}"
    ]
    if candidate.result.status != "feasible":
        lines.append(
            f"{status_words(candidate.result.status)}, {candidate.off} of a tolerance off target"
        )
    above = comparison.above(candidate)
    by = f"dominated by {listed([each.name for each in above])}"
    return [*lines, *wrap(by, WRAP)] if above else lines


def _plot(shown: Sequence[tuple[int, Candidate]], comparison: Comparison) -> Iterator[str]:
    pours = [candidate.pours for _, candidate in shown]
    most = max(float(candidate.rooms[1]) for _, candidate in shown)
    across, up = wider((min(pours), max(pours)), 4.0), (0.0, 1.12 * max(most, 1.0))
    whole = tuple(tick for tick in ticks(across, 1.0) if tick == round(tick))
    sheet = Sheet(Frame(across, up, whole, ticks(up, 1.0)), LEFT, RIGHT, TOP, TALL)
    yield text(LEFT, 22, "Room against pours", f"font-size='13' {BOLD}")
    yield from _axes(sheet)
    places = _places(
        sheet, [(candidate.pours, float(candidate.rooms[1])) for _, candidate in shown]
    )
    names = _names(places, [candidate.name for _, candidate in shown])
    for (k, candidate), (x, y), box in zip(shown, places, names, strict=True):
        dim = bool(comparison.above(candidate))
        near = min(max(x, box.left), box.right), min(max(y, box.top), box.bottom)
        if np.hypot(near[0] - x, near[1] - y) > 14.0:
            yield f"<path d='M {x:.1f},{y:.1f} L {near[0]:.1f},{near[1]:.1f}' {LEADER}/>"
        yield sign(k, x, y, DIM if dim else 1.0)
        more = f"class='name' font-size='12'{f' {GREY}' if dim else ''}"
        if box.right <= x:
            yield text(box.right, box.bottom - 4, candidate.name, f"{more} text-anchor='end'")
        else:
            yield text(box.left, box.bottom - 4, candidate.name, more)


def _axes(sheet: Sheet) -> Iterator[str]:
    bottom, small = TOP + TALL, "font-size='11'"
    for tick in sheet.frame.along:
        x, _ = sheet.point(tick, 0.0)
        yield f"<path d='M {x:.1f},{TOP} V {bottom + 4}' {FAINT}/>"
        yield text(x, bottom + 18, f"{tick:.0f}", f"text-anchor='middle' {small}")
    for tick in sheet.frame.beside:
        _, y = sheet.point(sheet.frame.across[0], tick)
        yield f"<path d='M {LEFT},{y:.1f} H {RIGHT}' {FAINT}/>"
        yield text(LEFT - 7, y + 4, fixed(tick, 1), f"text-anchor='end' {small}")
    size = f"width='{RIGHT - LEFT}' height='{TALL}'"
    yield f"<rect x='{LEFT}' y='{TOP}' {size} fill='none' stroke='currentColor'/>"
    yield text((LEFT + RIGHT) / 2, bottom + 36, "different pours", f"text-anchor='middle' {small}")
    middle = TOP + TALL / 2
    turned = f"text-anchor='middle' transform='rotate(-90 18 {middle})' {small}"
    yield text(18, middle, "room in what densities move, tolerances", turned)


def _places(sheet: Sheet, points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return where the points stand; of equal pours those that would meet stand side by side."""
    plain = sheet.at(np.array(points)).tolist()
    places: list[tuple[float, float]] = []
    for k, (x, y) in enumerate(plain):
        near = [i for i, (a, b) in enumerate(plain) if a == x and abs(b - y) < ASIDE]
        places.append((x + (near.index(k) - (len(near) - 1) / 2) * ASIDE, y))
    return places


def _names(places: Sequence[tuple[float, float]], names: Sequence[str]) -> list[Area]:
    """Return where the names stand: beside their points, apart from signs and from each other."""
    taken = [Area(x - 8, y - 8, x + 8, y + 8) for x, y in places]
    boxes = []
    for (x, y), name in zip(places, names, strict=True):
        wide = LETTER * len(name)
        box = next(
            area
            for area in _tries(x, y, wide)
            if area.within(PLOT) and not any(area.meets(other) for other in taken)
        )
        taken.append(box)
        boxes.append(box)
    return boxes


def _tries(x: float, y: float, wide: float) -> Iterator[Area]:
    """Yield places for a name near a point, then all over the plot, the nearest first."""
    for far in (10.0, 18.0, 28.0, 40.0):
        for right, down in ((1, 0), (-1, 0), (1, -1), (1, 1), (-1, -1), (-1, 1), (0, -1), (0, 1)):
            left = x - wide / 2 + right * (far + wide / 2)
            middle = y + down * (far + LINE / 2 - (0 if right == 0 else 4))
            yield Area(left, middle - LINE / 2, left + wide, middle + LINE / 2)
    spots = [
        (left, top)
        for left in np.arange(LEFT + 4, RIGHT - wide, 8.0).tolist()
        for top in np.arange(TOP + 4, TOP + TALL - LINE, 8.0).tolist()
    ]
    for left, top in sorted(spots, key=lambda s: (s[0] + wide / 2 - x) ** 2 + (s[1] - y) ** 2):
        yield Area(left, top, left + wide, top + LINE)


def _list(
    shown: Sequence[tuple[int, Candidate]], told: Sequence[Sequence[str]], comparison: Comparison
) -> Iterator[str]:
    y = TOP + TALL + 62
    for (k, candidate), (first, *others) in zip(shown, told, strict=True):
        dim = bool(comparison.above(candidate))
        yield sign(k, LEFT + 6, y - 4, DIM if dim else 1.0)
        yield text(LEFT + 20, y, first, "font-size='12'" + (f" {GREY}" if dim else ""))
        for line in others:
            y += LINE
            yield text(LEFT + 20, y, line, f"font-size='12' {GREY}")
        y += LINE

"""Room against pours: one point for each candidate, grey where another candidate dominates it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from textwrap import wrap
from typing import Final

import numpy as np

from optimizer.paper.document import Pictures
from optimizer.paper.pictures.picture import BOLD, GREY, Picture, text
from optimizer.paper.pictures.sheet import Sheet
from optimizer.paper.pictures.signs import sign
from optimizer.paper.pictures.small_plot import MIDDLE, beside, small_axes
from optimizer.paper.pictures.ticks import Frame, ticks, wider
from optimizer.paper.words import listed, plural, status_words
from optimizer.questions.compare.compare import Candidate, Comparison
from shared.rounding import fixed

WIDTH, LEFT, RIGHT, TOP, TALL = 420.0, 60.0, 276.0, 40.0, 220.0
"""px: of the picture; to the plot's sides; down to the plot; the plot's height."""
LINE: Final = 16.0
"""px from one line of text to the next."""
WRAP: Final = 46
"""Letters in a line of the list, at most."""
ASIDE: Final = 13.0
"""px between the signs of equal points."""
DIM: Final = 0.45
"""Opacity of the sign of a dominated candidate."""

Shown = Mapping[int, Candidate]
"""The candidates that have a margin, each by the number of its sign."""


def scatter(comparison: Comparison) -> Pictures | None:
    """Return the picture, None where fewer than two candidates have a margin."""
    shown = {k: each for k, each in enumerate(comparison.candidates) if each.rooms}
    if len(shown) < 2:
        return None
    entries = [_entry(candidate, comparison) for candidate in shown.values()]
    picture = Picture(
        "scatter",
        "Room in what densities move, against different pours",
        " ".join(f"{' '.join(lines)}." for lines in entries),
        WIDTH,
        TOP + TALL + 74 + LINE * sum(map(len, entries)),
        (*_plot(shown, comparison), *_list(shown, entries, comparison)),
    )
    return Pictures(
        picture,
        "Higher up: more room; further left: fewer pours. A candidate is dominated, and grey, "
        "if another with the same target, class weights and limits is no worse in room (here and "
        "over all margins), pours and distance from the target, and better in one of them. Walls "
        "that no density moves are not in the picture.",
    )


def _entry(candidate: Candidate, comparison: Comparison) -> list[str]:
    """Return a candidate's lines in the list below the plot."""
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


def _plot(shown: Shown, comparison: Comparison) -> Iterator[str]:
    points = [(each.pours, float(each.rooms[1])) for each in shown.values()]
    pours, rooms = zip(*points, strict=True)
    across, up = wider((min(pours), max(pours)), 4.0), (0.0, 1.12 * max(*rooms, 1.0))
    whole = tuple(tick for tick in ticks(across, 1.0) if tick == round(tick))
    sheet = Sheet(Frame(across, up, whole, ticks(up, 1.0)), LEFT, RIGHT, TOP, TALL)
    yield text(LEFT, 22, "Room against pours", f"font-size='13' {BOLD}")
    heights = [fixed(tick, 1) for tick in sheet.frame.beside]
    yield from small_axes(sheet, [f"{tick:.0f}" for tick in whole], heights)
    yield text((LEFT + RIGHT) / 2, TOP + TALL + 36, "different pours", MIDDLE)
    turned = f"transform='rotate(-90 18 {TOP + TALL / 2})' {MIDDLE}"
    yield text(18, TOP + TALL / 2, "room in what densities move, tolerances", turned)
    places = _places(sheet, points)
    names = beside(sheet, places)
    for (k, candidate), place, (y, line) in zip(shown.items(), places, names, strict=True):
        dim = bool(comparison.above(candidate))
        yield line
        yield sign(k, *place, DIM if dim else 1.0)
        yield text(RIGHT + 12, y + 4, candidate.name, f"class='name' {_style(dim=dim)}")


def _style(*, dim: bool) -> str:
    return f"font-size='12' {GREY}" if dim else "font-size='12'"


def _places(sheet: Sheet, points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return the places of points, px; those of equal pours that would meet are set apart."""
    plain = sheet.at(np.array(points)).tolist()
    places: list[tuple[float, float]] = []
    for k, (x, y) in enumerate(plain):
        near = [i for i, (a, b) in enumerate(plain) if a == x and abs(b - y) < ASIDE]
        places.append((x + (near.index(k) - (len(near) - 1) / 2) * ASIDE, y))
    return places


def _list(shown: Shown, entries: Sequence[list[str]], comparison: Comparison) -> Iterator[str]:
    y = TOP + TALL + 62
    for (k, candidate), (first, *others) in zip(shown.items(), entries, strict=True):
        dim = bool(comparison.above(candidate))
        yield sign(k, LEFT + 6, y - 4, DIM if dim else 1.0)
        yield text(LEFT + 20, y, first, _style(dim=dim))
        for n, line in enumerate(others, start=1):
            yield text(LEFT + 20, y + n * LINE, line, _style(dim=True))
        y += LINE * (1 + len(others))

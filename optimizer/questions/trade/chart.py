"""The price of the target as a plot of characters, and the part of the curve that a plot shows."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from optimizer.paper.pictures.grid import Grid, legend
from optimizer.paper.pictures.ticks import Frame, ticks, wider
from optimizer.paper.quantities import Unit
from optimizer.questions.trade.trade import Spot, Trade
from shared.arrays import Array
from shared.rounding import fixed

MARKS = "123456789abcdefghijklmnopqrstuvwxyz"
CURVE, TOP, ZERO = "*", "^", "."


def frame_of(trade: Trade, unit: Unit) -> Frame:
    """Return the frame of the plot: the whole range, and the part of the curve worth seeing.

    That is from its top down to as far below zero as the top is above, or three times as far.
    """
    levels = [spot.level for spot in trade.spots if spot.found]
    top = max(levels)
    bottom = max(min(levels), top - 2 * max(abs(top), 1.0))
    across = trade.spots[0].value, trade.spots[-1].value
    up = wider((min(bottom, 0.0), max(top, 0.0)), 0.4)
    return Frame(across, up, ticks(across, unit.factor), ticks(up, 1.0))


def pieces(trade: Trade, frame: Frame) -> Iterator[Array]:
    """Yield the stretches of the curve that are inside the frame, as points (k, 2)."""
    bottom = frame.up[0]
    points: list[tuple[float, float]] = []
    for a, b in pairwise(trade.spots):
        if a.found and b.found and max(a.level, b.level) > bottom:
            ends = [_cut(a, b, bottom), _cut(b, a, bottom)]
            points += ends if not points else ends[1:]
        elif points:
            yield np.array(points)
            points = []
    if points:
        yield np.array(points)


def _cut(a: Spot, b: Spot, bottom: float) -> tuple[float, float]:
    """Return the end `a` of a stretch to `b`, or where the stretch crosses the bottom."""
    if a.level >= bottom:
        return a.value, a.level
    part = (bottom - a.level) / (b.level - a.level)
    return a.value + part * (b.value - a.value), bottom


def chart(trade: Trade, unit: Unit) -> tuple[str, ...]:
    """Return the curve as a plot of characters, line by line, kinks by their numbers."""
    grid = Grid(frame_of(trade, unit))
    for value in np.linspace(*grid.frame.across, 2 * len(grid.cells[0])).tolist():
        grid.mark(value, 0.0, ZERO)
    for points in pieces(trade, grid.frame):
        for column, row in grid.along(points):
            grid.cells[row][column] = CURVE
    marks = [f"{CURVE} curve", f"{ZERO} zero: at a limit"]
    if trade.best is not None:
        grid.mark(trade.best.value, trade.best.level, TOP)
        marks.append(f"{TOP} best")
    for n, kink in enumerate(trade.kinks):
        if kink.spot.level >= grid.frame.up[0]:
            grid.mark(kink.spot.value, kink.spot.level, MARKS[n % len(MARKS)])
    if trade.kinks:
        first, last = MARKS[0], MARKS[min(len(trade.kinks), len(MARKS)) - 1]
        marks.append(f"{first} kink" if first == last else f"{first}-{last} kinks")
    name = f"{trade.of.words}, {unit.name}"
    lines = grid.lines(
        "smallest margin, tolerances", lambda tick: fixed(tick, 1), name, unit.number
    )
    return (*lines, *legend(marks))

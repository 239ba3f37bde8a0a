"""Windows as a plot of characters."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from optimizer.paper.pictures.grid import TALL, WIDE, Grid, legend
from optimizer.paper.quantities import Units
from optimizer.questions.window.frame import frame_of, target_box
from optimizer.questions.window.window import Window

MARKS = "1234567890abcdefghijklmnopqrstuvwxyz"
SHARED, SEVERAL, TARGET = ":", "*", "+"


def chart(window: Window) -> tuple[str, ...]:
    """Return the plot, axes with figures, and its legend, line by line."""
    unit, grid = Units.of(window.scenario).rg, Grid(frame_of(window))
    for row in range(TALL):
        for column in range(WIDE):
            rg, differential = grid.figures(column, row)
            if any(band.holds(rg, differential) for band in window.common.bands):
                grid.cells[row][column] = SHARED
    by_cell: dict[tuple[int, int], set[int]] = {}
    for k, weight in enumerate(window.weights):
        for band in weight.alone.bands:
            for cell in grid.along(np.vstack([band.outline, band.outline[:1]])):
                by_cell.setdefault(cell, set()).add(k)
    for (column, row), who in by_cell.items():
        grid.cells[row][column] = MARKS[min(who) % len(MARKS)] if len(who) == 1 else SEVERAL
    if (aim := target_box(window)) is not None:
        (a, b), (c, d) = aim
        grid.mark((a + b) / 2, (c + d) / 2, TARGET)
    lines = grid.lines(
        f"differential, {unit.name}",
        lambda tick: unit.number(tick, 1),
        f"low RG, {unit.name}",
        unit.number,
    )
    return (*lines, *legend(list(_marks(window))))


def _marks(window: Window) -> Iterator[str]:
    for k, weight in enumerate(window.weights):
        yield f"{MARKS[k % len(MARKS)]} {weight.map.name}"
    if len(window.weights) > 1:
        yield f"{SEVERAL} several of them"
        yield f"{SHARED} shared by all"
    if target_box(window) is not None:
        yield f"{TARGET} target"

"""Windows as a plot of characters."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from optimizer.paper.pictures.grid import TALL, WIDE, Grid, legend
from optimizer.paper.quantities import Units
from optimizer.questions.window.frame import frame_of, target_box
from optimizer.questions.window.window import Window

MARKS = "1234567890abcdefghijklmnopqrstuvwxyz"
SHARED, SEVERAL, TARGET = ":", "*", "+"


def chart(found: Window, units: Units, names: Mapping[str, str]) -> tuple[str, ...]:
    """Return the plot, axes with figures, and its legend, line by line."""
    grid = Grid(frame_of(found, units))
    for row in range(TALL):
        for column in range(WIDE):
            rg, differential = grid.figures(column, row)
            if any(band.holds(rg, differential) for band in found.common.bands):
                grid.cells[row][column] = SHARED
    by_cell: dict[tuple[int, int], set[int]] = {}
    for k, one in enumerate(found.weights):
        for band in one.alone.bands:
            for cell in grid.along(np.vstack([band.outline, band.outline[:1]])):
                by_cell.setdefault(cell, set()).add(k)
    for (column, row), who in by_cell.items():
        grid.cells[row][column] = MARKS[min(who) % len(MARKS)] if len(who) == 1 else SEVERAL
    if (aim := target_box(found)) is not None:
        (a, b), (c, d) = aim
        grid.mark((a + b) / 2, (c + d) / 2, TARGET)
    unit = units.rg
    lines = grid.lines(
        f"differential, {unit.name}",
        lambda tick: unit.number(tick, 1),
        f"low RG, {unit.name}",
        unit.number,
    )
    return (*lines, *legend(list(_marks(found, names))))


def _marks(found: Window, names: Mapping[str, str]) -> Iterator[str]:
    for k, one in enumerate(found.weights):
        yield f"{MARKS[k % len(MARKS)]} {names[one.map.label]}"
    if len(found.weights) > 1:
        yield f"{SEVERAL} several of them"
        yield f"{SHARED} shared by all"
    if target_box(found) is not None:
        yield f"{TARGET} target"

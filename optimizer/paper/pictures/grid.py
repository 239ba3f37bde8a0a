"""A plot in text characters, for any screen: no colour, at most 80 columns."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from optimizer.paper.pictures.ticks import Frame
from shared.arrays import Array

WIDE, TALL = 68, 22
"""Columns and rows of the plot itself."""

Number = Callable[[float], str]


@dataclass(frozen=True)
class Grid:
    """The cells of a plot, row by row from the top, and the frame they cover."""

    frame: Frame
    cells: list[list[str]] = field(default_factory=lambda: [[" "] * WIDE for _ in range(TALL)])

    def figures(self, column: int, row: int) -> tuple[float, float]:
        """Return the point in the middle of a cell."""
        (a, b), (c, d) = self.frame.across, self.frame.up
        return a + (b - a) * (column + 0.5) / WIDE, d - (d - c) * (row + 0.5) / TALL

    def cell(self, x: float, y: float) -> tuple[int, int]:
        """Return the column and row of a point's cell, the nearest one if it is outside."""
        (a, b), (c, d) = self.frame.across, self.frame.up
        column, row = int((x - a) / (b - a) * WIDE), int((d - y) / (d - c) * TALL)
        return min(max(column, 0), WIDE - 1), min(max(row, 0), TALL - 1)

    def along(self, points: Array) -> Sequence[tuple[int, int]]:
        """Return the cells on a line through points (k, 2)."""
        crossed: dict[tuple[int, int], None] = {}
        for p, q in pairwise(points):
            (i, j), (k, m) = self.cell(*p.tolist()), self.cell(*q.tolist())
            steps = max(abs(i - k), abs(j - m), 1)
            for s in np.linspace(0.0, 1.0, 2 * steps + 1).tolist():
                crossed[self.cell(*(p + s * (q - p)).tolist())] = None
        return tuple(crossed)

    def mark(self, x: float, y: float, sign: str) -> None:
        """Put a character at a point."""
        column, row = self.cell(x, y)
        self.cells[row][column] = sign

    def lines(self, up: str, beside: Number, across: str, along: Number) -> list[str]:
        """Return the plot with its axes, from their names and the formats of their figures."""
        lines = [up]
        labels = {self.cell(self.frame.across[0], t)[1]: beside(t) for t in self.frame.beside}
        for row, cells in enumerate(self.cells):
            axis = "+" if row in labels else "|"
            lines.append(f"{labels.get(row, ''):>8} {axis}{''.join(cells)}".rstrip())
        rule, figures = ["-"] * WIDE, [" "] * (WIDE + 8)
        for tick in self.frame.along:
            column = self.cell(tick, self.frame.up[0])[0]
            rule[column] = "+"
            text = along(tick)
            start = column - len(text) // 2 + 4
            figures[start : start + len(text)] = text
        lines += [f"{'':9}+{''.join(rule)}", f"{'':6}{''.join(figures)}".rstrip()]
        return [*lines, f"{across:>78}"]


def legend(marks: Sequence[str]) -> list[str]:
    """Return a plot's legend in lines that fit."""
    lines = [""]
    for mark in marks:
        if len(lines[-1]) + len(mark) > 70:
            lines.append("")
        lines[-1] += f"   {mark}" if lines[-1] else mark
    return [f"{'':10}{line}" for line in lines]

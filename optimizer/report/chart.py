"""Windows as a plot of characters, for any screen: no colour, at most 80 columns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np

from optimizer.report.quantities import Units
from optimizer.report.ticks import Frame, frame_of, target_box
from optimizer.studies.window import Window
from shared.arrays import Array

WIDE, TALL = 68, 22
"""Columns and rows of the plot itself."""
MARKS = "1234567890abcdefghijklmnopqrstuvwxyz"
SHARED, SEVERAL, TARGET = ":", "*", "+"


def chart(found: Window, units: Units, names: Mapping[str, str]) -> tuple[str, ...]:
    """Return the plot, axes with figures, and its legend, line by line."""
    frame = frame_of(found, units)
    grid = [[" "] * WIDE for _ in range(TALL)]
    for row in range(TALL):
        for column in range(WIDE):
            rg, differential = _figures(frame, column, row)
            if any(band.holds(rg, differential) for band in found.common.bands):
                grid[row][column] = SHARED
    by_cell: dict[tuple[int, int], set[int]] = {}
    for k, one in enumerate(found.weights):
        for band in one.alone.bands:
            for cell in _cells(frame, band.outline):
                by_cell.setdefault(cell, set()).add(k)
    for (column, row), who in by_cell.items():
        grid[row][column] = MARKS[min(who) % len(MARKS)] if len(who) == 1 else SEVERAL
    aim = target_box(found)
    if aim is not None:
        (a, b), (c, d) = aim
        column, row = _cell(frame, (a + b) / 2, (c + d) / 2)
        grid[row][column] = TARGET
    unit = units.rg
    lines = [f"differential, {unit.name}"]
    labels = {_cell(frame, frame.rg[0], tick)[1]: unit.number(tick, 1) for tick in frame.up}
    for row, cells in enumerate(grid):
        axis = "+" if row in labels else "|"
        lines.append(f"{labels.get(row, ''):>8} {axis}{''.join(cells)}".rstrip())
    lines += _below(frame, units)
    lines += _legend(found, names)
    return tuple(lines)


def _figures(frame: Frame, column: int, row: int) -> tuple[float, float]:
    (a, b), (c, d) = frame.rg, frame.differential
    return a + (b - a) * (column + 0.5) / WIDE, d - (d - c) * (row + 0.5) / TALL


def _cell(frame: Frame, rg: float, differential: float) -> tuple[int, int]:
    (a, b), (c, d) = frame.rg, frame.differential
    column = int((rg - a) / (b - a) * WIDE)
    row = int((d - differential) / (d - c) * TALL)
    return min(max(column, 0), WIDE - 1), min(max(row, 0), TALL - 1)


def _cells(frame: Frame, outline: Array) -> Sequence[tuple[int, int]]:
    """Return the cells that an outline goes through."""
    closed = np.vstack([outline, outline[:1]])
    found: dict[tuple[int, int], None] = {}
    for p, q in pairwise(closed):
        (i, j), (k, m) = _cell(frame, *p.tolist()), _cell(frame, *q.tolist())
        steps = max(abs(i - k), abs(j - m), 1)
        for s in np.linspace(0.0, 1.0, 2 * steps + 1).tolist():
            found[_cell(frame, *(p + s * (q - p)).tolist())] = None
    return tuple(found)


def _below(frame: Frame, units: Units) -> list[str]:
    """Return the axis of the low RG with its figures."""
    rule, figures = ["-"] * WIDE, [" "] * (WIDE + 8)
    for tick in frame.along:
        column = _cell(frame, tick, frame.differential[0])[0]
        rule[column] = "+"
        text = units.rg.number(tick, 0)
        start = column - len(text) // 2 + 4
        figures[start : start + len(text)] = text
    name = f"low RG, {units.rg.name}"
    return [f"{'':9}+{''.join(rule)}", f"{'':6}{''.join(figures)}".rstrip(), f"{name:>78}"]


def _legend(found: Window, names: Mapping[str, str]) -> list[str]:
    marks = [
        f"{MARKS[k % len(MARKS)]} {names[one.map.label]}" for k, one in enumerate(found.weights)
    ]
    if len(found.weights) > 1:
        marks += [f"{SEVERAL} several of them", f"{SHARED} shared by all"]
    if target_box(found) is not None:
        marks.append(f"{TARGET} target")
    lines = [""]
    for mark in marks:
        if len(lines[-1]) + len(mark) > 70:
            lines.append("")
        lines[-1] += f"   {mark}" if lines[-1] else mark
    return [f"{'':10}{line}" for line in lines]

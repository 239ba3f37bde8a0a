"""An exploration as a picture: the smallest margin against each dimension, plot by plot."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from optimizer.lineup.moulds.rack import Slot
from optimizer.paper.pictures.picture import PAPER, Picture, text
from optimizer.paper.pictures.sheet import Sheet, drawing
from optimizer.paper.pictures.ticks import Frame, ticks, wider
from optimizer.questions.explore.page import found_line, margin
from optimizer.questions.explore.row import ACCEPTED, CandidateRow
from optimizer.questions.explore.summary import Rows, Summary, drawn
from optimizer.questions.explore.table import Table
from optimizer.questions.line_up.frame import titled
from optimizer.scenario.scenario import Rack
from shared.rounding import fixed

ACROSS = 3
"""Plots side by side."""
LEFT, TOP, WIDE, TALL, RIGHT, BELOW = 84.0, 112.0, 218.0, 200.0, 74.0, 76.0
"""px: to the first plot; a plot's size; from one plot to the next, beside it and below."""
LOWEST = -20.0
"""Tolerances: what is lower stands on the foot of its plot."""
DOT = 2.6
LETTER = 6.4
"""px: how wide a letter of 13 px is taken to be."""
THIN = "stroke='currentColor' stroke-opacity='.6' stroke-width='0.8'"


@dataclass(frozen=True)
class _Panel:
    """One plot: its dimension's number, and where it is."""

    k: int
    name: str
    sheet: Sheet


def explore_picture(table: Table, summary: Summary, rows: Rows) -> Picture:
    """Return the picture; `rows` reads the table, once for each plot."""
    asked, best = table.asked, summary.best[0] if summary.best else None
    under = f"seed {table.seed}; each dot one mould, its densities solved for; shapes as drawn"
    if summary.step > 1:
        under += f"; one candidate in {summary.step} is drawn, and the best"
    about = found_line(summary)
    if best is not None:
        at = ", ".join(f"{n} {v:g}" for n, v in zip(table.names, best.values, strict=True))
        which = "best" if best.status in ACCEPTED else "nearest"
        about += f" The {which} has a smallest margin of {margin(best, 2)} tolerances at {at}."
    panels = _panels(table, _up(rows, summary))
    below = TOP + (TALL + BELOW) * -(-len(panels) // ACROSS)
    return drawing(
        "explore",
        f"{titled(asked)}: smallest margin against each dimension",
        about,
        under,
        _body(panels, rows, summary),
        below=below,
    )


def _up(rows: Rows, summary: Summary) -> tuple[float, float]:
    """Return the margins that are shown: down to LOWEST, up to the best."""
    levels = [row.margin for row in drawn(rows, summary) if row.margin is not None]
    levels += [row.margin for row in summary.best if row.margin is not None]
    low, high = min(levels, default=0.0), max(levels, default=0.0)
    return wider((min(max(low, LOWEST), 0.0), max(high, 0.0)), 0.4)


def _panels(table: Table, up: tuple[float, float]) -> Sequence[_Panel]:
    unit = table.asked.reading.length
    panels = []
    for k, (name, slot) in enumerate(zip(table.names, table.slots, strict=True)):
        across = wider(_searched(slot, unit), 0.0)
        along = ticks(across, 1.0)
        frame = Frame(across, up, along if len(along) < 6 else along[::2], ticks(up, 1.0))
        x = LEFT + (k % ACROSS) * (WIDE + RIGHT)
        y = TOP + (k // ACROSS) * (TALL + BELOW)
        panels.append(_Panel(k, name, Sheet(frame, x, x + WIDE, y, TALL)))
    return panels


def _searched(slot: Slot, unit: float) -> tuple[float, float]:
    """Return the range of a dimension, in the scenario's unit of length."""
    if isinstance(slot.of, Rack):
        return min(slot.of.values), max(slot.of.values)
    return slot.of.low / unit, slot.of.high / unit


def _body(panels: Iterable[_Panel], rows: Rows, summary: Summary) -> Iterator[str]:
    yield from _legend(summary)
    for panel in panels:
        sheet = panel.sheet
        beside = "smallest margin, tolerances" if panel.k % ACROSS == 0 else ""
        yield from sheet.axes(panel.name, lambda x: f"{x:.6g}", beside, lambda y: f"{y:g}")
        left, zero = sheet.point(sheet.frame.across[0], 0.0)
        line = f"d='M {left:.1f},{zero:.1f} H {sheet.right}'"
        yield f"<path class='zero' {line} stroke='currentColor'/>"
        for row in drawn(rows, summary):
            yield _mark(panel, row)
        if summary.as_drawn is not None:
            yield _plus(*_place(panel, summary.as_drawn))
        if summary.best:
            yield _diamond(*_place(panel, summary.best[0]))


def _place(panel: _Panel, row: CandidateRow) -> tuple[float, float]:
    foot = panel.sheet.frame.up[0]
    level = foot if row.margin is None or row.margin < LOWEST else row.margin
    return panel.sheet.point(row.values[panel.k], level)


def _mark(panel: _Panel, row: CandidateRow) -> str:
    """Return a candidate's dot; a tick on the foot where its margin is none, or too low."""
    x, y = _place(panel, row)
    if row.margin is None or row.margin < LOWEST:
        return _tick(x, y)
    if row.status == "within_tolerance":
        return _square(x, y)
    return _dot(x, y, filled=row.status == "feasible")


def _dot(x: float, y: float, *, filled: bool) -> str:
    fill = "currentColor" if filled else "none"
    kind = "feasible" if filled else "broken"
    circle = f"cx='{x:.1f}' cy='{y:.1f}' r='{DOT}'"
    return (
        f"<circle class='{kind}' {circle} fill='{fill}' stroke='currentColor' stroke-width='0.8'/>"
    )


def _square(x: float, y: float) -> str:
    place = f"x='{x - DOT:.1f}' y='{y - DOT:.1f}' width='{2 * DOT}' height='{2 * DOT}'"
    return f"<rect class='within' {place} fill='none' stroke='currentColor' stroke-width='1.2'/>"


def _plus(x: float, y: float) -> str:
    shape = f"M {x - 7:.1f},{y:.1f} h 14 M {x:.1f},{y - 7:.1f} v 14"
    return f"<path class='drawn' d='{shape}' fill='none' stroke='currentColor' stroke-width='1.6'/>"


def _tick(x: float, y: float) -> str:
    return f"<path class='none' d='M {x:.1f},{y:.1f} v -6' {THIN}/>"


def _diamond(x: float, y: float) -> str:
    shape = f"M {x:.1f},{y - 7:.1f} l 6,7 l -6,7 l -6,-7 Z"
    return f"<path class='best' d='{shape}' {PAPER} stroke='currentColor' stroke-width='2'/>"


def _legend(summary: Summary) -> Iterator[str]:
    x, y, best = LEFT, TOP - 30, summary.best[0] if summary.best else None
    marks: list[tuple[Callable[[float, float], str], str]] = []
    marks.append((partial(_dot, filled=True), "feasible"))
    if summary.within:
        marks.append((_square, "within tolerance"))
    marks.append((partial(_dot, filled=False), "a limit is broken"))
    marks.append((_tick, f"no margin, or under {fixed(LOWEST, 0)}"))
    if summary.as_drawn is not None:
        marks.append((_plus, "the drawing as it stands"))
    if best is not None:
        which = "best" if best.status in ACCEPTED else "nearest"
        marks.append((_diamond, f"{which}: candidate {best.number}, {margin(best, 1)} tolerances"))
    for mark, words in marks:
        wide = LETTER * len(words) + 30
        if x + wide > LEFT + ACROSS * (WIDE + RIGHT):
            x, y = LEFT, y + 18
        said = text(x + 12, y + 5, words, "font-size='13'")
        yield f"<g class='legend'>{mark(x, y)}{said}</g>"
        x += wide

"""The picture of an exploration: the smallest margin against each dimension, plot by plot."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Final

from optimizer.lineup.moulds.rack import Slot
from optimizer.paper.pictures.picture import PAPER, Picture, text
from optimizer.paper.pictures.sheet import Sheet, drawing
from optimizer.paper.pictures.ticks import Frame, ticks, wider
from optimizer.questions.explore.page import found_line, margin
from optimizer.questions.explore.row import CandidateRow
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
"""Tolerances: lower margins are marked at the foot of the plot."""
LETTER = 6.4
"""px: how wide a letter of 13 px is taken to be."""
DOT = "m -2.6,0 a 2.6,2.6 0 1 0 5.2,0 a 2.6,2.6 0 1 0 -5.2,0 Z"
INK = "stroke='currentColor' stroke-width="
MARKS: Final = {
    "feasible": (DOT, f"{INK}'0.8'"),
    "within": ("m -2.6,-2.6 h 5.2 v 5.2 h -5.2 Z", f"fill='none' {INK}'1.2'"),
    "broken": (DOT, f"fill='none' {INK}'0.8'"),
    "none": ("v -6", f"fill='none' {INK}'0.8' stroke-opacity='.6'"),
    "drawn": ("m -7,0 h 14 m -7,-7 v 14", f"fill='none' {INK}'1.6'"),
    "best": ("m 0,-7 l 6,7 l -6,7 l -6,-7 Z", f"{PAPER} {INK}'2'"),
}
"""The marks of candidates: their outlines about the place, and how they are drawn."""


@dataclass(frozen=True)
class _Panel:
    """One plot: its dimension's number and name, and its place."""

    k: int
    name: str
    sheet: Sheet

    def mark(self, kind: str, row: CandidateRow) -> str:
        """Return the mark of a candidate."""
        foot = self.sheet.frame.up[0]
        level = foot if row.margin is None or row.margin < LOWEST else row.margin
        return _mark(kind, *self.sheet.point(row.values[self.k], level))


def explore_picture(table: Table, summary: Summary, rows: Rows) -> Picture:
    """Return the picture; `rows` reads the table, once for each plot."""
    under = f"seed {table.seed}; each dot one mould, its densities solved for; shapes as drawn"
    if summary.step > 1:
        under += f"; one candidate in {summary.step} is drawn, and the best"
    about = found_line(summary)
    for best in summary.best[:1]:
        at = ", ".join(f"{n} {v:g}" for n, v in zip(table.names, best.values, strict=True))
        about += (
            f" The {best.called} has a smallest margin of {margin(best, 2)} tolerances at {at}."
        )
    panels = _panels(table, _up(rows, summary))
    return drawing(
        "explore",
        f"{titled(table.asked)}: smallest margin against each dimension",
        about,
        under,
        _body(panels, rows, summary),
        below=TOP + (TALL + BELOW) * -(-len(panels) // ACROSS),
    )


def _up(rows: Rows, summary: Summary) -> tuple[float, float]:
    """Return the margins that are shown: down to LOWEST, up to the best."""
    every = chain(drawn(rows, summary), summary.best)
    levels = [row.margin for row in every if row.margin is not None]
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
    yield "<defs>"
    for kind, (outline, ink) in MARKS.items():
        yield f"<path id='explore-{kind}' d='M 0,0 {outline}' {ink}/>"
    yield "</defs>"
    yield from _legend(summary)
    for panel in panels:
        sheet = panel.sheet
        beside = "smallest margin, tolerances" if panel.k % ACROSS == 0 else ""
        yield from sheet.axes(panel.name, lambda x: f"{x:.6g}", beside, lambda y: f"{y:g}")
        left, zero = sheet.point(sheet.frame.across[0], 0.0)
        line = f"d='M {left:.1f},{zero:.1f} H {sheet.right}'"
        yield f"<path class='zero' {line} stroke='currentColor'/>"
        yield from (panel.mark(_kind(row), row) for row in drawn(rows, summary))
        if summary.as_drawn is not None:
            yield panel.mark("drawn", summary.as_drawn)
        yield from (panel.mark("best", row) for row in summary.best[:1])


def _kind(row: CandidateRow) -> str:
    """Return the kind of a candidate's mark: "none" where its margin is none, or too low."""
    if row.margin is None or row.margin < LOWEST:
        return "none"
    return {"feasible": "feasible", "within_tolerance": "within"}.get(row.status, "broken")


def _mark(kind: str, x: float, y: float) -> str:
    return f"<use class='{kind}' href='#explore-{kind}' x='{x:.1f}' y='{y:.1f}'/>"


def _legend(summary: Summary) -> Iterator[str]:
    entries = {"feasible": "feasible"}
    if summary.within:
        entries["within"] = "within tolerance"
    entries |= {"broken": "a limit is broken"}
    entries |= {"none": f"no margin, or under {fixed(LOWEST, 0)}"}
    if summary.as_drawn is not None:
        entries["drawn"] = "the drawing as it stands"
    for best in summary.best[:1]:
        tolerances = f"{margin(best, 1)} tolerances"
        entries["best"] = f"{best.called}: candidate {best.number}, {tolerances}"
    x, y = LEFT, TOP - 30
    for kind, words in entries.items():
        wide = LETTER * len(words) + 30
        if x + wide > LEFT + ACROSS * (WIDE + RIGHT):
            x, y = LEFT, y + 18
        label = text(x + 12, y + 5, words, "font-size='13'")
        yield f"<g class='legend'>{_mark(kind, x, y)}{label}</g>"
        x += wide

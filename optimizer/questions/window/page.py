"""The screen of `window`: what each weight can reach, what all can share, and what bounds it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from optimizer.lineup.result import Status
from optimizer.paper.document import (
    Block,
    Chart,
    Column,
    Heading,
    Listed,
    Notes,
    Paragraph,
    Table,
    Tone,
    collected,
    left,
)
from optimizer.paper.quantities import Units
from optimizer.paper.words import POINT, listed, margin_lines
from optimizer.questions.line_up.frame import closing, stated
from optimizer.questions.line_up.warnings import all_warnings
from optimizer.questions.window.chart import chart
from optimizer.questions.window.edges import told_edges
from optimizer.questions.window.notes import notes
from optimizer.questions.window.reach import Reach
from optimizer.questions.window.window import WeightWindow, Window
from shared.arrays import Array

FINER = 1
"""Digits more than an RG is usually told with: windows are small."""
WITHIN: Mapping[Status, str] = {"infeasible": "no", "undecided": "undecided"}
"""Whether the target can be met within its tolerances, by the line-up that was solved for it."""


def window_names(window: Window) -> dict[str, str]:
    """Return each weight label's name, such as "16 lb"."""
    return {weight_window.map.label: weight_window.map.name for weight_window in window.weights}


def opening(window: Window) -> Iterator[Block]:
    """Yield what comes first: what all can share, about which point, and where the target lies."""
    units, names = Units.of(window.scenario), window_names(window)
    yield stated(window.scenario, *_status(window, units))
    yield Paragraph(
        f"Low RG and differential about {POINT[window.scenario.about]}"
        f"{inner_words(window, units)}; every class weight is met exactly and every limit kept."
    )
    if (aim := target_line(window, units, names)) is not None:
        yield Paragraph(*aim)


@collected
def window_blocks(window: Window) -> Iterator[Block]:
    """Yield the screen of the windows."""
    units, names = Units.of(window.scenario), window_names(window)
    yield from opening(window)
    if window.broken:
        yield Heading("Broken, whatever the densities")
        yield Notes(margin_lines(window.broken, names, units), "bad")
    yield Heading("What each weight can reach by itself")
    yield reach_table(window)
    if (narrow := window.narrowest) is not None:
        yield Paragraph(f"{names[narrow.map.label]} narrows the shared window most.")
    if edges := list(told_edges(window.common, names)):
        yield Heading("What bounds the shared window, counter-clockwise")
        yield _edges_table(edges, units)
    if any(weight_window.alone.bands for weight_window in window.weights):
        yield Chart(chart(window, units, names))
    yield Notes(tuple(notes(window, units, names)))
    yield from closing(
        all_warnings(window.scenario, (), [weight_window.map for weight_window in window.weights])
    )


def _status(window: Window, units: Units) -> tuple[str, Tone]:
    who = "all weights" if len(window.weights) > 1 else "the weight"
    common = window.common
    if window.broken:
        return "INFEASIBLE. A limit is broken that no density moves.", "bad"
    if not common.known:
        return f"UNDECIDED. What {who} can share was not found.", "warning"
    if common.none:
        weighing = "their class weights" if len(window.weights) > 1 else "its class weight"
        return f"NO low RG and differential that {who} can have at exactly {weighing}.", "bad"
    if common.empty:
        return f"UNDECIDED. None was found that {who} can have.", "warning"
    rg, differential = (_span(span, units) for span in extents(common))
    return f"{who} can have low RG {rg} and differential {differential}.", "good"


def inner_words(window: Window, units: Units) -> str:
    """Return at which intermediate differential windows are asked, if at any, with a comma."""
    target = window.scenario.target
    if target is None or target.intermediate is None:
        return ""
    span = target.intermediate
    told = units.rg.told(span.low, FINER)
    if span.fixed:
        return f", at an intermediate differential of {told}"
    most = units.rg.told(span.high, FINER)
    return f", at an intermediate differential between {told} and {most}, one for all weights"


def extents(reach: Reach) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the least and the greatest low RG and differential of a reach that isn't empty, cm."""
    points = np.vstack([band.outline for band in reach.bands])
    (a, c), (b, d) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    return (a, b), (c, d)


def _span(span: tuple[float, float], units: Units) -> str:
    low, high = (units.rg.number(value, FINER) for value in span)
    return f"{low} {units.rg.name}" if low == high else f"{low} to {high} {units.rg.name}"


def target_line(window: Window, units: Units, names: Mapping[str, str]) -> tuple[str, Tone] | None:
    """Return where the target lies, or None where it has no fixed RG and differential."""
    target = window.scenario.target
    if target is None or not (target.rg.fixed and target.differential.fixed):
        return None
    rg, differential = target.rg.low, target.differential.low
    told = (
        f"Target: low RG {units.rg.told(rg, FINER)}, differential "
        f"{units.rg.told(differential, FINER)}{inner_words(window, units)}"
    )
    if window.holds_target:
        return f"{told}: inside the shared window.", "plain"
    if window.answer == "feasible":
        return f"{told}: outside the windows found here, but `solve` has a line-up on it.", "plain"
    if window.answer == "within_tolerance":
        return f"{told}. Exact target: outside; within tolerance: yes.", "plain"
    within = "" if window.answer is None else f" Within tolerance: {WITHIN[window.answer]}."
    return f"{told}: {_whose(window, names, rg, differential)}.{within}", "warning"


def _whose(window: Window, names: Mapping[str, str], rg: float, differential: float) -> str:
    """Return why a point (cm) isn't in the shared window: which weights' rules, or whose reach."""
    ruled = [
        weight_window
        for weight_window in window.weights
        if not weight_window.rules.holds(rg, differential)
    ]
    missed = [
        weight_window
        for weight_window in window.weights
        if not weight_window.alone.holds(rg, differential)
    ]
    far = [weight_window for weight_window in missed if weight_window.alone.proven]

    def who(weight_windows: Sequence[WeightWindow]) -> str:
        return listed([names[weight_window.map.label] for weight_window in weight_windows])

    if ruled:
        return f"outside a rule that the window keeps, for {who(ruled)}"
    if far:
        return f"OUT OF REACH of {who(far)}"
    if missed:
        return f"not found within reach of {who(missed)}, which is not proven"
    if window.common.proven:
        return "each weight by itself can reach it, all together can't"
    return "each weight by itself can reach it; it was not found that all together can"


def reach_table(found: Window) -> Table:
    """Return the least and greatest low RG and differential of each weight by itself."""
    unit = Units.of(found.scenario).rg

    def ends(window: WeightWindow) -> list[str]:
        if not window.alone.bands:
            return ["none" if window.alone.none else "none found", "-", "-", "-"]
        return [unit.number(value, FINER) for span in extents(window.alone) for value in span]

    spans = (f"low RG from, {unit.name}", "to", f"differential from, {unit.name}", "to")
    return (
        Listed(found.weights)
        .left("weight class", lambda window: window.map.name)
        .several(map(Column, spans), ends)
        .right("shared window without it", lambda window: _without(found.common, window))
        .table
    )


def _without(common: Reach, weight_window: WeightWindow) -> str:
    """Return how much more the others share: by area, or by the range of RG if there is none."""
    others = weight_window.without
    if others is None or not others.known or not common.known:
        return "-"
    if others.empty:
        return "none" if others.proven else "none found"
    if common.empty:
        return "there is one"
    which = 0 if common.area > 0.0 else 1
    if common.size[which] == 0.0:
        return "-" if others.size == (0.0, 0.0) else "larger"
    more = 100 * (others.size[which] / common.size[which] - 1)
    return f"+{max(more, 0.0):.0f} % " + ("area" if which == 0 else "RG range")


def _edges_table(edges: Sequence[tuple[Array, str]], units: Units) -> Table:
    def place(point: Array) -> str:
        return ", ".join(units.rg.number(float(value), FINER) for value in point)

    unit = units.rg.name
    ends = (Column("edge"), Column(f"from RG, diff., {unit}"), Column("to"))
    rows = (
        (str(n), place(points[0]), place(points[-1]), words)
        for n, (points, words) in enumerate(edges, start=1)
    )
    return Table((*ends, left("limits that make it, most telling first")), tuple(rows))

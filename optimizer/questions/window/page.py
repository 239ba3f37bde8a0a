"""The screen of `window`: what each weight can reach, what all can share, and what bounds it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from optimizer.ball.figures import INTERMEDIATE_DIFFERENTIAL
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
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import POINT, listed, margin_lines
from optimizer.questions.line_up.frame import closing, stated
from optimizer.questions.line_up.warnings import all_warnings
from optimizer.questions.window.chart import chart
from optimizer.questions.window.edges import long_edges
from optimizer.questions.window.notes import notes
from optimizer.questions.window.reach import Reach, figures_held
from optimizer.questions.window.window import WeightWindow, Window
from shared.arrays import Array

FINER = 1
"""Digits more than an RG usually has: windows are small."""
WITHIN: Mapping[Status, str] = {"infeasible": "no", "undecided": "undecided"}
"""Whether the target can be met within its tolerances, from the line-up solved for it."""


def opening(window: Window) -> Iterator[Block]:
    """Yield what comes first: what all can share, about which point, and where the target lies."""
    yield stated(window.scenario, *_status(window))
    yield Paragraph(
        f"Low RG and differential about {POINT[window.scenario.about]}"
        f"{held_words(window)}; every class weight is met exactly and every limit kept."
    )
    if (aim := target_line(window)) is not None:
        yield Paragraph(*aim)


@collected
def window_blocks(window: Window) -> Iterator[Block]:
    """Yield the screen of the windows."""
    units, names = Units.of(window.scenario), window.names
    yield from opening(window)
    if window.broken:
        yield Heading("Broken, whatever the densities")
        yield Notes(margin_lines(window.broken, names, units), "bad")
    yield Heading("What each weight can reach by itself")
    yield reach_table(window)
    if (narrow := window.narrowest) is not None:
        yield Paragraph(f"{names[narrow.map.label]} narrows the shared window most.")
    if edges := list(long_edges(window.common, names)):
        yield Heading("What bounds the shared window, counter-clockwise")
        yield _edges_table(edges, units.rg)
    if any(weight.alone.bands for weight in window.weights):
        yield Chart(chart(window))
    yield Notes(tuple(notes(window)))
    yield from closing(all_warnings(window.scenario, (), window.maps))


def _status(window: Window) -> tuple[str, Tone]:
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
    rg, differential = (_span(span, Units.of(window.scenario).rg) for span in extents(common))
    return f"{who} can have low RG {rg} and differential {differential}.", "good"


def held_words(window: Window) -> str:
    """Return the other figures that the windows are asked at, after a comma; empty without any."""
    words = []
    for figure, span in figures_held(window.scenario.target).items():
        unit = Units.of(window.scenario).by(figure.quantity)
        low, high = (unit.told(value, FINER) for value in (span.low, span.high))
        ends = f"of {low}" if span.fixed else f"between {low} and {high}, one for all weights"
        words.append(
            f"{'an' if figure == INTERMEDIATE_DIFFERENTIAL else 'a'} {figure.words} {ends}"
        )
    return f", at {listed(words)}" if words else ""


def extents(reach: Reach) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the ranges of low RG and differential of a reach that isn't empty, cm."""
    points = np.vstack([band.outline for band in reach.bands])
    rg, differential = zip(points.min(axis=0).tolist(), points.max(axis=0).tolist(), strict=True)
    return rg, differential


def _span(span: tuple[float, float], unit: Unit) -> str:
    low, high = (unit.number(value, FINER) for value in span)
    return f"{low} {unit.name}" if low == high else f"{low} to {high} {unit.name}"


def target_line(window: Window) -> tuple[str, Tone] | None:
    """Return where the target lies, or None where it has no fixed RG and differential."""
    if window.target_point is None:
        return None
    (rg, differential), unit = window.target_point, Units.of(window.scenario).rg
    target = (
        f"Target: low RG {unit.told(rg, FINER)}, differential "
        f"{unit.told(differential, FINER)}{held_words(window)}"
    )
    if window.holds_target:
        return f"{target}: inside the shared window.", "plain"
    if window.answer == "feasible":
        return (
            f"{target}: outside the windows found here, but `solve` has a line-up on it.",
            "plain",
        )
    if window.answer == "within_tolerance":
        return f"{target}. Exact target: outside; within tolerance: yes.", "plain"
    within = "" if window.answer is None else f" Within tolerance: {WITHIN[window.answer]}."
    return f"{target}: {_whose(window, rg, differential)}.{within}", "warning"


def _whose(window: Window, rg: float, differential: float) -> str:
    """Return why a point (cm) isn't in the shared window: which weights' rules, or whose reach."""
    ruled = [weight for weight in window.weights if not weight.rules.holds(rg, differential)]
    missed = [weight for weight in window.weights if not weight.alone.holds(rg, differential)]
    far = [weight for weight in missed if weight.alone.proven]

    def who(weights: Sequence[WeightWindow]) -> str:
        return listed([weight.map.name for weight in weights])

    if ruled:
        return f"outside a rule that the window keeps, for {who(ruled)}"
    if far:
        return f"OUT OF REACH of {who(far)}"
    if missed:
        return f"not found within reach of {who(missed)}, which is not proven"
    if window.common.bounded:
        return "each weight by itself can reach it, all together can't"
    return "each weight by itself can reach it; it was not found that all together can"


def reach_table(window: Window) -> Table:
    """Return the ranges of low RG and differential of each weight by itself."""
    unit = Units.of(window.scenario).rg

    def ends(weight: WeightWindow) -> list[str]:
        if not weight.alone.bands:
            return ["none" if weight.alone.none else "none found", "-", "-", "-"]
        return [unit.number(value, FINER) for span in extents(weight.alone) for value in span]

    spans = (f"low RG from, {unit.name}", "to", f"differential from, {unit.name}", "to")
    return (
        Listed(window.weights)
        .left("weight class", lambda weight: weight.map.name)
        .several(map(Column, spans), ends)
        .right("shared window without it", lambda weight: _gain(window.common, weight.without))
        .table
    )


def _gain(common: Reach, others: Reach | None) -> str:
    """Return how much more `others` share: by area, or by the range of RG if there is none."""
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


def _edges_table(edges: Sequence[tuple[Array, str]], unit: Unit) -> Table:
    def place(point: Array) -> str:
        return ", ".join(unit.number(float(value), FINER) for value in point)

    ends = (Column("edge"), Column(f"from RG, diff., {unit.name}"), Column("to"))
    rows = (
        (str(n), place(points[0]), place(points[-1]), words)
        for n, (points, words) in enumerate(edges, start=1)
    )
    return Table((*ends, left("limits that make it, most telling first")), tuple(rows))

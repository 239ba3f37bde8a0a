"""The screen of `window`: what each weight can reach, what all can share, and what bounds it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from optimizer.report.document import (
    Block,
    Chart,
    Column,
    Heading,
    Notes,
    Paragraph,
    Table,
    Tone,
    left,
)
from optimizer.report.quantities import Units
from optimizer.report.solution.page import AS_DRAWN
from optimizer.report.window.chart import chart
from optimizer.report.window.edges import told_edges
from optimizer.report.words import POINT, class_name, listed, margin_lines, plural
from optimizer.studies.reach import OFF_PIN, Reach
from optimizer.studies.window import WeightWindow, Window
from shared.arrays import Array

FINER = 1
"""Digits more than an RG is usually told with: windows are small."""


def window_blocks(found: Window) -> tuple[Block, ...]:
    """Return the screen of the windows."""
    return tuple(_blocks(found))


def window_names(found: Window) -> dict[str, str]:
    """Return each weight label's name, such as "16 lb"."""
    units = Units.of(found.scenario)
    return {one.map.label: class_name(one.map, units) for one in found.weights}


def opening(found: Window) -> Iterator[Block]:
    """Yield what comes first: what all can share, about which point, and where the target lies."""
    units, names = Units.of(found.scenario), window_names(found)
    yield Paragraph(*_status(found, units))
    yield Paragraph(
        f"Low RG and differential about {POINT[found.scenario.about]}; every class weight is met "
        "and every limit kept."
    )
    aim = target_line(found, units, names)
    if aim is not None:
        yield Paragraph(*aim)


def _blocks(found: Window) -> Iterator[Block]:
    units, names = Units.of(found.scenario), window_names(found)
    yield from opening(found)
    if found.broken:
        yield Heading("Broken, whatever the densities")
        yield Notes(margin_lines(found.broken, names, units), "bad")
    yield Heading("What each weight can reach by itself")
    yield reach_table(found)
    narrow = found.narrowest
    if narrow is not None:
        yield Paragraph(f"{names[narrow.map.label]} narrows the shared window most.")
    edges = list(told_edges(found.common, names))
    if edges:
        yield Heading("What bounds the shared window, counter-clockwise")
        yield _edges_table(edges, units)
    if any(one.alone.bands for one in found.weights):
        yield Chart(chart(found, units, names))
    yield Notes(tuple(_notes(found, units, names)))
    if found.scenario.warnings:
        yield Notes(tuple(f"Warning: {one}" for one in found.scenario.warnings), "warning")
    yield Paragraph(AS_DRAWN, "quiet")


def _status(found: Window, units: Units) -> tuple[str, Tone]:
    title = f"{found.scenario.name}, revision {found.scenario.revision}"
    who = "all weights" if len(found.weights) > 1 else "the weight"
    common = found.common
    if found.broken:
        return f"{title}: INFEASIBLE. A limit is broken that no density moves.", "bad"
    if not common.known:
        return f"{title}: UNDECIDED. What {who} can share was not found.", "warning"
    if common.empty and common.proven:
        return f"{title}: NO low RG and differential that {who} can have.", "bad"
    if common.empty:
        return f"{title}: UNDECIDED. None was found that {who} can have.", "warning"
    rg, differential = (_span(span, units) for span in extents(common))
    return f"{title}: {who} can have low RG {rg} and differential {differential}.", "good"


def extents(found: Reach) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return the least and the greatest low RG and differential of a reach that isn't empty, cm."""
    points = np.vstack([band.outline for band in found.bands])
    (a, c), (b, d) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    return (a, b), (c, d)


def _span(span: tuple[float, float], units: Units) -> str:
    low, high = (units.rg.number(value, FINER) for value in span)
    return f"{low} {units.rg.name}" if low == high else f"{low} to {high} {units.rg.name}"


def target_line(found: Window, units: Units, names: Mapping[str, str]) -> tuple[str, Tone] | None:
    """Return where the target lies, or None where it has no fixed RG and differential."""
    target = found.scenario.target
    if target is None or not (target.rg.fixed and target.differential.fixed):
        return None
    rg, differential = target.rg.low, target.differential.low
    told = (
        f"Target: low RG {units.rg.told(rg, FINER)}, differential "
        f"{units.rg.told(differential, FINER)}"
    )
    if found.common.holds(rg, differential):
        return f"{told}: inside the shared window.", "plain"
    far = [
        names[one.map.label]
        for one in found.weights
        if one.alone.known and not one.alone.holds(rg, differential)
    ]
    if far:
        return f"{told}: OUT OF REACH of {listed(far)}.", "warning"
    if not found.common.known:
        return f"{told}: each weight by itself can reach it.", "plain"
    return f"{told}: each weight by itself can reach it, all together can't.", "warning"


def reach_table(found: Window) -> Table:
    """Return the least and greatest low RG and differential of each weight by itself."""
    units, names, rows = Units.of(found.scenario), window_names(found), list[tuple[str, ...]]()
    for one in found.weights:
        cells = ["none" if one.alone.known else "not found", "-", "-", "-"]
        if one.alone.bands:
            spans = extents(one.alone)
            cells = [units.rg.number(value, FINER) for span in spans for value in span]
        rows.append((names[one.map.label], *cells, _without(found.common, one)))
    unit = units.rg.name
    return Table(
        (
            left("weight class"),
            Column(f"low RG from, {unit}"),
            Column("to"),
            Column(f"differential from, {unit}"),
            Column("to"),
            Column("shared window without it"),
        ),
        tuple(rows),
    )


def _without(common: Reach, one: WeightWindow) -> str:
    """Return how much more the others share: by area, or by the range of RG if there is none."""
    others = one.without
    if others is None or not others.known or not common.known:
        return "-"
    if others.empty:
        return "none"
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
    rows = tuple(
        (str(n), place(points[0]), place(points[-1]), words)
        for n, (points, words) in enumerate(edges, start=1)
    )
    return Table(
        (
            Column("edge"),
            Column(f"from RG, diff., {unit}"),
            Column("to"),
            left("limits that make it, the most telling first"),
        ),
        rows,
    )


def _notes(found: Window, units: Units, names: Mapping[str, str]) -> Iterator[str]:
    yield from _how_found(found, units, names)
    yield from _where_not(found, names)
    if any(
        OFF_PIN in {claim.limit for claim in makers}
        for some in (*(one.alone for one in found.weights), found.common)
        for band in some.bands
        for _, makers in band.edges
    ):
        yield (
            "A window ends where the differential meets zero: beyond, the low-RG axis would not be "
            "the pin axis."
        )
    for note in dict.fromkeys(one.note for one in found.weights if one.note):
        some_names = [names[one.map.label] for one in found.weights if one.note == note]
        yield f"{listed(some_names)}: the rulebook's RG and differential are {note}; not held here."
    target = found.scenario.target
    if target is not None and target.intermediate is not None:
        yield "The intermediate differential that is asked for is let go here."


def _reaches(found: Window, names: Mapping[str, str]) -> list[tuple[str, Reach]]:
    alone = [(names[one.map.label], one.alone) for one in found.weights]
    return [*alone, ("the shared window", found.common)]


def _how_found(found: Window, units: Units, names: Mapping[str, str]) -> Iterator[str]:
    """Yield how far the lines are exact, and what isn't proven."""
    reaches = _reaches(found, names)
    every = [some for _, some in reaches]
    exact = [some.error for some in every if some.proven and some.bands]
    if exact:
        off = max(exact)
        between = f"off by at most {units.rg.told(off, 3)}" if off > 0.0 else "exact"
        yield (
            "Each weight's corners are measured from their densities; the lines between are "
            f"{between} (where two lines cross at a small angle, the crossing by a little more)."
        )
    sought = [(who, some) for who, some in reaches if some.known and not some.proven]
    if sought:
        off = max(some.error for _, some in sought)
        yield (
            f"Found, not proven: {listed([who for who, _ in sought])}. Every corner is measured "
            "from its densities, but there may be more beyond; the lines between may be off by "
            f"{units.rg.told(off, 3)} (an estimate)."
        )
    lost = [who for who, some in reaches if not some.known]
    if lost:
        yield f"Not found, and not proven empty: {listed(lost)}."


def _where_not(found: Window, names: Mapping[str, str]) -> Iterator[str]:
    """Yield which windows are none, or no region in one piece."""
    reaches = _reaches(found, names)
    none = [who for who, some in reaches[:-1] if some.empty and some.proven]
    if none:
        yield f"{listed(none)}: no densities meet the class weight and keep every limit."
    thin = [who for who, some in reaches[:-1] if some.bands and some.area == 0.0]
    if thin:
        yield f"{listed(thin)}: a line or a point, since no more densities are free than it takes."
    for who, some in reaches:
        if len(some.bands) > 1:
            yield f"{who}: {plural(len(some.bands), 'piece')}; the chart shows them all."

"""The page of tolerances at least cost: what each must be, and what a larger share costs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np

from optimizer.lineup.result import LineupResult
from optimizer.paper.document import Block, Column, Heading, Notes, Paragraph, Pictures, Table
from optimizer.paper.pictures.picture import Picture
from optimizer.paper.pictures.sheet import Sheet, drawing
from optimizer.paper.pictures.ticks import Frame, ticks, wider
from optimizer.paper.quantities import Units
from optimizer.paper.words import listed
from optimizer.questions.line_up.data import number
from optimizer.questions.line_up.frame import titled
from optimizer.questions.line_up.page import class_names
from optimizer.questions.tolerance.allotted import Allocation
from optimizer.questions.tolerance.words import interval, law, law_of, percent
from shared.rounding import fixed

CURVE = "fill='none' stroke='currentColor' stroke-width='2.5' stroke-linejoin='round'"


def allocation_blocks(
    result: LineupResult, found: Allocation, curve: Sequence[Allocation] = ()
) -> tuple[Block, ...]:
    """Return the tolerances for a wanted share, with the `curve` of costs where it is known."""
    return tuple(_blocks(result, found, curve))


def _blocks(
    result: LineupResult, found: Allocation, curve: Sequence[Allocation]
) -> Iterator[Block]:
    units, names = Units.of(result.scenario), class_names(result)
    yield Heading(f"Tolerances for {100 * found.wanted:.10g} % good balls, at least cost")
    if all(each.enough for each in found.each):
        yield Paragraph(f"Today's are tight enough: with them, {_reached(found, names)}.")
    else:
        yield from _changed(found, units, names)
    if curve:
        yield Pictures(
            cost_picture(result, curve),
            "From today's tolerances to the tightest that can be held; each point is simulated.",
        )


def _reached(found: Allocation, names: Mapping[str, str]) -> str:
    """Return in words what share of good balls the tolerances reach."""
    worst = found.good[found.worst]
    words = f"{percent(worst)} of the balls are good at {names[found.worst]}"
    if len(found.good) == 1:
        return f"{words} ({interval(worst)} %)"
    return (
        f"{words}, which has the fewest ({interval(worst)} %), and {percent(found.line)} of the "
        "lines"
    )


def _changed(found: Allocation, units: Units, names: Mapping[str, str]) -> Iterator[Block]:
    """Yield tolerances of which some are tighter than today's."""
    yield Paragraph(
        f"With these, {_reached(found, names)}. Cost {fixed(found.cost, 2)}, today "
        f"{fixed(found.present_cost, 2)}: least cost found, not proven least. {_cost_words(found)}"
    )
    columns = (
        Column("input", "left"),
        Column("today", "left"),
        Column("for this share", "left"),
        Column("of today's"),
        Column("cost"),
    )
    rows = [
        (
            each.input.name,
            law(each.input, units),
            "as today" if each.enough else law_of(each.input, each.law, units, 1),
            f"{fixed(100 * each.width, 0)} %",
            fixed(each.cost, 2),
        )
        for each in found.each
    ]
    yield Table(columns, tuple(rows))
    enough = [each.input.name for each in found.each if each.enough]
    tightest = [each.input.name for each in found.each if each.tightest and not each.enough]
    lines = [f"Already tight enough: {listed(enough)}."] if enough else []
    lines += [f"As tight as it can be held: {listed(tightest)}."] if tightest else []
    if lines:
        yield Notes(tuple(lines), "quiet")


def _cost_words(found: Allocation) -> str:
    if found.priced:
        return "A tolerance costs its price today, and twice that at half the width."
    return "Each tolerance costs 1 today, and 2 at half the width."


def cost_picture(result: LineupResult, curve: Sequence[Allocation]) -> Picture:
    """Return the cost of tolerances against the share of good balls of the worst weight."""
    points = np.array([[100 * a.good[a.worst].value, a.cost] for a in curve])
    points = points[np.argsort(points[:, 0])]
    about = "; ".join(f"{fixed(x, 1)} % cost {fixed(y, 2)}" for x, y in points.tolist())
    return drawing(
        "spread-cost",
        f"{titled(result.scenario)}: what a larger share of good balls costs",
        f"{about}.",
        "the cheapest tolerances found; share of the weight with the fewest good balls",
        _curve(points),
    )


def _curve(points: np.ndarray) -> Iterator[str]:
    across = wider((float(points[0, 0]), float(points[-1, 0])), 0.0)
    up = wider((0.0, float(points[:, 1].max())), 0.0)
    sheet = Sheet(Frame(across, up, ticks(across, 1.0), ticks(up, 1.0)))
    yield from sheet.axes(
        "good balls, %", lambda x: f"{x:g}", "cost of the tolerances", lambda y: f"{y:g}"
    )
    yield f"<path class='cost' d='{sheet.path(points, closed=False)}' {CURVE}/>"
    for x, y in sheet.at(points).tolist():
        yield f"<circle cx='{x:.1f}' cy='{y:.1f}' r='4'/>"


def allocation_data(found: Allocation, curve: Sequence[Allocation] = ()) -> dict[str, Any]:
    """Return it as JSON types."""
    return {
        **_one(found),
        "proven_least": False,
        "prices": "stated" if found.priced else "each present tolerance costs 1",
        "curve": [_one(each) for each in curve],
    }


def _one(found: Allocation) -> dict[str, Any]:
    shares: Mapping[str, Any] = {k: number(share.value) for k, share in found.good.items()}
    return {
        "wanted": number(found.wanted),
        "good_share": shares,
        "line_good_share": number(found.line.value),
        "cost": number(found.cost),
        "present_cost": number(found.present_cost),
        "tolerances": {
            each.input.name: {
                "of_present": number(each.width),
                "enough": each.enough,
                "tightest": each.tightest,
            }
            for each in found.each
        },
    }

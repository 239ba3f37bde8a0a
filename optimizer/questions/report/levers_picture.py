"""What a little more density of each part does, as arrows in the plane of RG and differential."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from optimizer.lineup.result import LineupResult
from optimizer.paper.document import Column, Pictures, Table, left, panels
from optimizer.paper.pictures.picture import BOLD, FAINT, Picture, as_name, cut, text
from optimizer.paper.pictures.placing import spread
from optimizer.paper.pictures.ticks import ticks
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import listed
from optimizer.questions.line_up.frame import titled
from optimizer.questions.line_up.page import class_names
from optimizer.questions.report.levers import MORE, Lever, levers, partners

WIDE, TALL = 420.0, 330.0
LEFT, RIGHT, TOP, BOTTOM = 66.0, 240.0, 44.0, 282.0
"""px: of a picture; of its plot. Names stand right of the plot."""
LINE: Final = 15.0
FINER: Final = 2
"""Digits more than an RG is usually told with: a lever is small."""
LETTERS: Final = 16
"""Of a name beside the plot, before it is cut."""


def levers_by_weight(result: LineupResult) -> dict[str, tuple[Lever, ...]]:
    """Return the levers of every weight, with the same partners in all."""
    partner = partners([weight.ball for weight in result.weights])
    return {weight.label: levers(weight.ball, partner) for weight in result.weights}


def lever_pictures(result: LineupResult) -> Pictures:
    """Return the arrows of every weight, on one scale."""
    units, names, leverses = (
        Units.of(result.scenario),
        class_names(result),
        levers_by_weight(result),
    )
    reach = _reach(list(leverses.values()), units.rg)
    each = tuple(_picture(k, names[k], levers, reach, units) for k, levers in leverses.items())
    title = f"{titled(result.scenario)}: what a little more density of each part does"
    every = {lever.part: lever for levers in leverses.values() for lever in levers}
    caption = " ".join(_caption(result, list(every.values()), units))
    return panels("levers", title, each, caption, across=4)


def lever_table(result: LineupResult) -> Table:
    """Return the same in numbers: a row a part, a group a weight."""
    units, names = Units.of(result.scenario), class_names(result)
    rows: list[tuple[str, ...]] = []
    for label, of_weight in levers_by_weight(result).items():
        rows.append((names[label],))
        for lever in of_weight:
            made_up = f"{_named(lever.partner, lever)} {units.density.signed(lever.partner_change)}"
            moved = (units.rg.signed(by, FINER) for by in (lever.rg, lever.differential))
            rows.append((f"  {_named(lever.part, lever)}", made_up, *moved))
    columns = (
        left(f"{units.density.signed(MORE, 0)} {units.density.name} of"),
        left(f"mass made up by, {units.density.name}"),
        Column(f"low RG, {units.rg.name}"),
        Column(f"differential, {units.rg.name}"),
    )
    return Table(columns, tuple(rows))


def _named(part: str, lever: Lever, shown: str | None = None) -> str:
    """Return a part's name, or what is `shown` of it, and whether its density is given."""
    return (shown or part) + (" (fixed)" if part in lever.given else "")


def _caption(result: LineupResult, some: Sequence[Lever], units: Units) -> Iterator[str]:
    by_partner: dict[str, list[str]] = {}
    for lever in some:
        by_partner.setdefault(lever.partner, []).append(lever.part)
    if some:
        made_up = "; ".join(f"{other} for {listed(parts)}" for other, parts in by_partner.items())
        yield (
            f"Each arrow: that part {units.density.told(MORE)} denser, and the mass made up by a "
            f"partner: the largest other part, those that are sought first ({made_up}). Where it "
            "ends is measured from the changed ball. Dashed: a density that the scenario fixes "
            "would change."
        )
    told = {lever.part for lever in some}
    if alone := [pour.part for pour in result.scenario.pours if pour.part not in told]:
        yield f"No other part could make up the mass of {listed(alone)}."


def _reach(every: Sequence[Sequence[Lever]], unit: Unit) -> tuple[float, float]:
    """Return how far the plots reach across and up from the ball, cm; at least a ten-thousandth."""
    least = 1e-4 * unit.factor
    rg = max((abs(lever.rg) for some in every for lever in some), default=0.0)
    differential = max((abs(lever.differential) for some in every for lever in some), default=0.0)
    return 1.15 * max(rg, least), 1.15 * max(differential, least)


def _picture(
    label: str, name: str, some: Sequence[Lever], reach: tuple[float, float], units: Units
) -> Picture:
    told = "; ".join(
        f"{_named(lever.part, lever)}: low RG {units.rg.signed(lever.rg, FINER)}, "
        f"differential {units.rg.signed(lever.differential, FINER)} {units.rg.name}, "
        f"{_named(lever.partner, lever)} "
        f"{units.density.signed(lever.partner_change)} {units.density.name}"
        for lever in some
    )
    title = f"{units.density.signed(MORE, 0)} {units.density.name} of each part, {name}"
    body = (
        text(8, 20, name, f"font-size='15' {BOLD}"),
        *_axes(reach, units.rg),
        *_arrows(some, reach),
    )
    height = max(TALL, TOP + LINE * len(some) + 20)
    about = f"{told}." if some else "No part could make up the mass of another."
    return Picture(f"levers-{as_name(label)}", title, about, WIDE, height, body)


def _place(rg: float, differential: float, reach: tuple[float, float]) -> tuple[float, float]:
    x = (LEFT + RIGHT) / 2 + rg / reach[0] * (RIGHT - LEFT) / 2
    return x, (TOP + BOTTOM) / 2 - differential / reach[1] * (BOTTOM - TOP) / 2


def _axes(reach: tuple[float, float], unit: Unit) -> Iterator[str]:
    small = "font-size='11'"
    yield f"<g {small}>"
    across = ticks((-reach[0], reach[0]), unit.factor)
    for value in across[len(across) // 2 % 2 :: 2]:  # every other, and zero is one of them
        x, _ = _place(value, 0.0, reach)
        yield f"<path d='M {x:.1f},{TOP} V {BOTTOM}' {FAINT}/>"
        yield text(x, BOTTOM + 16, _round(value, unit), "text-anchor='middle'")
    for value in ticks((-reach[1], reach[1]), unit.factor):
        _, y = _place(0.0, value, reach)
        yield f"<path d='M {LEFT},{y:.1f} H {RIGHT}' {FAINT}/>"
        yield text(LEFT - 6, y + 4, _round(value, unit), "text-anchor='end'")
    box = f"x='{LEFT}' y='{TOP}' width='{RIGHT - LEFT}' height='{BOTTOM - TOP}'"
    yield f"<rect {box} fill='none' stroke='currentColor'/>"
    yield text((LEFT + RIGHT) / 2, BOTTOM + 34, f"low RG, {unit.name}", "text-anchor='middle'")
    yield text(8, TOP - 6, f"differential, {unit.name}")
    yield "</g>"


def _round(value: float, unit: Unit) -> str:
    """Return a round figure with its sign and as few digits as it takes."""
    told = unit.signed(value, 2 * FINER).rstrip("0").rstrip(".")
    return told if float(told) else "0"


def _arrows(some: Sequence[Lever], reach: tuple[float, float]) -> Iterator[str]:
    """Yield the arrows, and their names in a column, each led to its arrow's tip."""
    tips = [_place(lever.rg, lever.differential, reach) for lever in some]
    order = sorted(range(len(some)), key=lambda k: (tips[k][1], -tips[k][0], k))
    wanted = [tips[k][1] for k in order]
    heights = spread(wanted, LINE, TOP + 4, max(BOTTOM, TOP + LINE * len(some)))
    start, names = _place(0.0, 0.0, reach), [lever.part for lever in some]
    for k, y in zip(order, heights, strict=True):
        (tx, ty), lever = tips[k], some[k]
        yield f"<path d='M {tx:.1f},{ty:.1f} L {RIGHT + 4:.1f},{y:.1f} h 6' {LEADER}/>"
        shown = cut(lever.part, LETTERS, names)
        yield text(RIGHT + 14, y + 4, _named(lever.part, lever, shown), "font-size='12'")
    for lever, tip in zip(some, tips, strict=True):
        yield _arrow(start, tip, dashed=bool(lever.given))
    x, y = start
    yield f"<circle cx='{x:.1f}' cy='{y:.1f}' r='3.5'/>"


LEADER: Final = "fill='none' stroke='currentColor' stroke-opacity='.35' stroke-width='.8'"


def _arrow(start: tuple[float, float], tip: tuple[float, float], *, dashed: bool) -> str:
    (x, y), (tx, ty) = start, tip
    dx, dy = tx - x, ty - y
    size = float(np.hypot(dx, dy))
    pattern = " stroke-dasharray='4 3'" if dashed else ""
    way = f"M {x:.1f},{y:.1f} L {tx:.2f},{ty:.2f}"
    shaft = f"<path class='lever' d='{way}' fill='none' {INK}{pattern}/>"
    if size < 3.0:
        return f"<circle class='lever' cx='{tx:.2f}' cy='{ty:.2f}' r='2.5' fill='none' {INK}/>"
    ux, uy = dx / size, dy / size
    head = min(8.0, size)
    a = (tx - head * ux + 0.45 * head * uy, ty - head * uy - 0.45 * head * ux)
    b = (tx - head * ux - 0.45 * head * uy, ty - head * uy + 0.45 * head * ux)
    tip_ = f"M {tx:.1f},{ty:.1f} L {a[0]:.1f},{a[1]:.1f} L {b[0]:.1f},{b[1]:.1f} Z"
    return f"{shaft}<path d='{tip_}'/>"


INK: Final = "stroke='currentColor' stroke-width='1.6'"

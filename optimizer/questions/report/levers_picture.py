"""The effect of more density of each part, as arrows in the plane of RG and differential."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from optimizer.lineup.result import LineupResult
from optimizer.paper.document import Column, Pictures, Table, left, panels
from optimizer.paper.pictures.picture import BOLD, Picture, as_name, cut, text
from optimizer.paper.pictures.sheet import Sheet
from optimizer.paper.pictures.small_plot import APART, MIDDLE, SMALL, Place, beside, small_axes
from optimizer.paper.pictures.ticks import Frame, ticks
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import listed
from optimizer.questions.line_up.frame import titled
from optimizer.questions.line_up.page import class_names
from optimizer.questions.parts.finding import MORE
from optimizer.questions.report.levers import Lever, levers, partners

WIDE, HEIGHT, LEFT, RIGHT, TOP, TALL = 420.0, 330.0, 66.0, 240.0, 44.0, 238.0
"""px: of a picture; from its left edge to the plot's sides; down to the plot; the plot's height."""
FINER: Final = 2
"""More digits than an RG usually has: a lever is small."""
LETTERS: Final = 16
"""Letters of a name beside the plot, before it is cut."""
INK: Final = "stroke='currentColor' stroke-width='1.6'"


def levers_by_weight(result: LineupResult) -> dict[str, tuple[Lever, ...]]:
    """Return the levers of every weight, with the same partners in all."""
    partner = partners([weight.ball for weight in result.weights])
    return {weight.label: levers(weight.ball, partner) for weight in result.weights}


def lever_pictures(result: LineupResult) -> Pictures:
    """Return the arrows of every weight, on one scale."""
    units, names, by_weight = (
        Units.of(result.scenario),
        class_names(result),
        levers_by_weight(result),
    )
    every = {lever.part: lever for levers in by_weight.values() for lever in levers}
    sheet = _sheet([*by_weight.values()], units.rg)
    return panels(
        "levers",
        f"{titled(result.scenario)}: what a little more density of each part does",
        tuple(_picture(k, names[k], levers, sheet, units) for k, levers in by_weight.items()),
        " ".join(_caption(result, list(every.values()), units)),
        across=4,
    )


def lever_table(result: LineupResult) -> Table:
    """Return the same in numbers: for each weight a row for each part."""
    units, names = Units.of(result.scenario), class_names(result)
    rows: list[tuple[str, ...]] = []
    for label, levers_ in levers_by_weight(result).items():
        rows.append((names[label],))
        for lever in levers_:
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
    """Return a part's name, or what is `shown` of it; "(fixed)" where the density is given."""
    return (shown or part) + (" (fixed)" if part in lever.given else "")


def _caption(result: LineupResult, levers: Sequence[Lever], units: Units) -> Iterator[str]:
    by_partner: dict[str, list[str]] = {}
    for lever in levers:
        by_partner.setdefault(lever.partner, []).append(lever.part)
    if levers:
        pairs = "; ".join(f"{other} for {listed(parts)}" for other, parts in by_partner.items())
        yield (
            f"Each arrow shows what happens when that part is {units.density.told(MORE)} denser "
            "and a partner makes up the mass: the largest other part, free densities first "
            f"({pairs}). Its tip is measured from the changed ball. Dashed: a density that the "
            "scenario fixes would change."
        )
    known = {lever.part for lever in levers}
    if alone := [pour.part for pour in result.scenario.pours if pour.part not in known]:
        yield f"No other part could make up the mass of {listed(alone)}."


def _sheet(every: Sequence[Sequence[Lever]], unit: Unit) -> Sheet:
    """Return the plot, alike for every weight: changes (cm) about 0, at least 1e-4 of the unit."""
    changes = [(lever.rg, lever.differential) for levers in every for lever in levers]
    reach = 1.15 * np.max(np.abs([*changes, (1e-4 * unit.factor,) * 2]), axis=0)
    across, up = ((-end, end) for end in reach.tolist())
    along = ticks(across, unit.factor)
    along = along[len(along) // 2 % 2 :: 2]  # every other, and zero is one of them
    return Sheet(Frame(across, up, along, ticks(up, unit.factor)), LEFT, RIGHT, TOP, TALL)


def _picture(label: str, name: str, levers: Sequence[Lever], sheet: Sheet, units: Units) -> Picture:
    effects = "; ".join(
        f"{_named(lever.part, lever)}: low RG {units.rg.signed(lever.rg, FINER)}, "
        f"differential {units.rg.signed(lever.differential, FINER)} {units.rg.name}, "
        f"{_named(lever.partner, lever)} "
        f"{units.density.signed(lever.partner_change)} {units.density.name}"
        for lever in levers
    )
    body = (
        text(8, 20, name, f"font-size='15' {BOLD}"),
        *_axes(sheet, units.rg),
        *_arrows(levers, sheet),
    )
    return Picture(
        f"levers-{as_name(label)}",
        f"{units.density.signed(MORE, 0)} {units.density.name} of each part, {name}",
        f"{effects}." if levers else "No part could make up the mass of another.",
        WIDE,
        max(HEIGHT, TOP + APART * len(levers) + 20),
        body,
    )


def _axes(sheet: Sheet, unit: Unit) -> Iterator[str]:
    along = [_round(tick, unit) for tick in sheet.frame.along]
    yield from small_axes(sheet, along, [_round(tick, unit) for tick in sheet.frame.beside])
    yield text((LEFT + RIGHT) / 2, TOP + TALL + 34, f"low RG, {unit.name}", MIDDLE)
    yield text(8, TOP - 6, f"differential, {unit.name}", SMALL)


def _round(value: float, unit: Unit) -> str:
    """Return a round figure with its sign and as few digits as it takes."""
    number = unit.signed(value, 2 * FINER).rstrip("0").rstrip(".")
    return number if float(number) else "0"


def _arrows(levers: Sequence[Lever], sheet: Sheet) -> Iterator[str]:
    """Yield the arrows, and their names in a column, each led to its arrow's tip."""
    tips = [sheet.point(lever.rg, lever.differential) for lever in levers]
    names = [lever.part for lever in levers]
    for lever, (y, line) in zip(levers, beside(sheet, tips), strict=True):
        yield line
        shown = cut(lever.part, LETTERS, names)
        yield text(RIGHT + 12, y + 4, _named(lever.part, lever, shown), "font-size='12'")
    start = sheet.point(0.0, 0.0)
    for lever, tip in zip(levers, tips, strict=True):
        yield _arrow(start, tip, dashed=bool(lever.given))
    x, y = start
    yield f"<circle cx='{x:.1f}' cy='{y:.1f}' r='3.5'/>"


def _arrow(start: Place, tip: Place, *, dashed: bool) -> str:
    """Return an arrow, or a small circle where it would be too short to see."""
    (x, y), (tx, ty), way = start, tip, complex(*tip) - complex(*start)
    if abs(way) < 3.0:
        return f"<circle class='lever' cx='{tx:.2f}' cy='{ty:.2f}' r='2.5' fill='none' {INK}/>"
    pattern = " stroke-dasharray='4 3'" if dashed else ""
    path = f"M {x:.1f},{y:.1f} L {tx:.2f},{ty:.2f}"
    back = min(8.0, abs(way)) / abs(way) * way
    a, b = (complex(tx, ty) - back * (1 + side) for side in (0.45j, -0.45j))
    head = f"M {tx:.1f},{ty:.1f} L {a.real:.1f},{a.imag:.1f} L {b.real:.1f},{b.imag:.1f} Z"
    return f"<path class='lever' d='{path}' fill='none' {INK}{pattern}/><path d='{head}'/>"

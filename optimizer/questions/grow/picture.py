"""Room against reach: a sign for each line that was solved, grey where another dominates it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from optimizer.ball.figures import DIFFERENTIAL
from optimizer.paper.document import Pictures
from optimizer.paper.pictures.picture import BOLD, GREY, Picture, text
from optimizer.paper.pictures.sheet import Sheet
from optimizer.paper.pictures.signs import sign
from optimizer.paper.pictures.small_plot import MIDDLE, beside, small_axes
from optimizer.paper.pictures.ticks import Frame, ticks, wider
from optimizer.paper.quantities import Unit, Units
from optimizer.questions.grow.grown import Grown, Growth
from shared.rounding import fixed

WIDTH, LEFT, RIGHT, TOP, TALL = 720.0, 60.0, 330.0, 40.0, 240.0
"""px: of the picture; to the plot's sides; down to the plot; the plot's height."""
DIM: Final = 0.45
"""Opacity of the sign of a line that another dominates."""


def growth_picture(growth: Growth) -> Pictures | None:
    """Return the picture, None where fewer than two lines can be poured."""
    shown = tuple(line for line in (growth.base, *growth.each) if line.accepted)
    if len(shown) < 2:
        return None
    unit = Units.of(growth.base.result.scenario).by(DIFFERENTIAL.quantity).finer(1)
    reached = all(line.width is not None for line in shown)
    what = f"reach in differential, {unit.name}" if reached else "different pours"
    picture = Picture(
        "growth",
        f"Room against {what.partition(',')[0]}",
        " ".join(f"{_name(growth, line)}: {_place_words(line, unit)}." for line in shown),
        WIDTH,
        TOP + TALL + 50,
        tuple(_plot(growth, shown, unit, what, reached=reached)),
    )
    return Pictures(
        picture,
        "Higher up: more room in what moves; further right: "
        + ("more differentials to choose from. " if reached else "more pours. ")
        + "Grey: another line is no worse in anything that is known of both (room, all margins, "
        "reach, pours, moulds, cost, good lines), and better in something.",
    )


def _name(growth: Growth, line: Grown) -> str:
    if line is growth.base:
        return line.what
    return f"{growth.each.index(line) + 1}: {line.what}"


def _place_words(line: Grown, unit: Unit) -> str:
    width = "" if line.width is None else f", reach {unit.told(line.width)}"
    return f"{fixed(line.rank[3], 1)} tolerances{width}"


def _plot(
    growth: Growth, shown: Sequence[Grown], unit: Unit, what: str, *, reached: bool
) -> Iterator[str]:
    across = [line.width or 0.0 if reached else float(line.line.pours) for line in shown]
    rooms = [line.rank[3] for line in shown]
    size = unit.factor if reached else 1.0
    spans = wider((min(across), max(across)), 0.01 * size if reached else 4.0)
    up = (min(0.0, 1.12 * min(rooms)), 1.12 * max(*rooms, 1.0))
    along = ticks(spans, size)
    sheet = Sheet(Frame(spans, up, along, ticks(up, 1.0)), LEFT, RIGHT, TOP, TALL)
    labels = [unit.number(tick) if reached else fixed(tick, 0) for tick in along]
    yield text(LEFT, 22, f"Room against {what.partition(',')[0]}", f"font-size='13' {BOLD}")
    yield from small_axes(sheet, labels, [fixed(tick, 1) for tick in sheet.frame.beside])
    yield text((LEFT + RIGHT) / 2, TOP + TALL + 36, what, MIDDLE)
    turned = f"transform='rotate(-90 18 {TOP + TALL / 2})' {MIDDLE}"
    yield text(18, TOP + TALL / 2, "smallest margin that moves, tolerances", turned)
    places = [(x, y) for x, y in sheet.at(np.column_stack([across, rooms])).tolist()]
    for k, (line, (y, leader)) in enumerate(zip(shown, beside(sheet, places), strict=True)):
        dim = bool(growth.above(line))
        yield leader
        yield sign(k, *places[k], DIM if dim else 1.0)
        style = f"font-size='11' {GREY}" if dim else "font-size='11'"
        yield text(RIGHT + 12, y + 4, _name(growth, line), f"class='name' {style}")

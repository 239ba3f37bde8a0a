"""The price of the target as a picture: the curve, its kinks numbered, and their limits listed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from optimizer.paper.pictures.picture import Picture, text
from optimizer.paper.pictures.sheet import LEFT, LINE, RIGHT, TOP, Sheet, drawing, numbered
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import POINT
from optimizer.questions.line_up.frame import titled
from optimizer.questions.trade.chart import frame_of, pieces
from optimizer.questions.trade.page import FINER, inward, level, limits_line, trade_names
from optimizer.questions.trade.trade import Kink, Trade
from shared.rounding import fixed

CURVE = "fill='none' stroke='currentColor' stroke-width='2.5' stroke-linejoin='round'"
SHADE = "fill='currentColor' fill-opacity='.08'"
EDGE = "stroke='currentColor' stroke-opacity='.4'"
GIVEN = "stroke='currentColor' stroke-opacity='.68' stroke-width='1.4' stroke-dasharray='7 5'"


def trade_picture(trade: Trade) -> Picture:
    """Return the picture."""
    scenario, units, names = trade.scenario, Units.of(trade.scenario), trade_names(trade)
    figure, unit = trade.of.words, units.by(trade.of.quantity)
    listed = [_kink_line(kink, unit, names) for kink in trade.kinks]
    best = trade.best
    about = "No line-up was found that meets the targets."
    if best is not None:
        top = unit.told(best.value, FINER)
        about = f"The curve is highest at {top}: {level(best, 1)} tolerances."
        about += "".join(f" Feasible {inward(a, b, unit)}." for a, b in trade.ranges)
        about += "".join(f" Kink {line}." for line in listed)
    return drawing(
        "trade",
        f"{titled(scenario)}: smallest margin against {figure}",
        about,
        f"about {POINT[scenario.about]}; class weights and targets met; shapes as drawn; found, "
        "not proven",
        _body(trade, unit),
        listed=("Kinks, and the limits that take over above them", listed),
    )


def _kink_line(kink: Kink, unit: Unit, names: Mapping[str, str]) -> str:
    enters, leaves = limits_line(kink.enters, names), limits_line(kink.leaves, names)
    value = unit.told(kink.spot.value, FINER)
    return f"{value}, {level(kink.spot)} tolerances: {enters}, in place of {leaves}"


def _body(trade: Trade, unit: Unit) -> Iterator[str]:
    if trade.best is None:
        yield text(LEFT, TOP + 40, "No line-up meets the targets: there is no curve to draw.")
        return
    sheet = Sheet(frame_of(trade, unit))
    yield from _feasible(sheet, trade)
    yield from sheet.axes(
        f"{trade.of.words}, {unit.name}",
        unit.number,
        "smallest margin, tolerances",
        lambda tick: fixed(tick, 1),
    )
    yield from _curve(sheet, trade)
    yield from _legend(trade, unit)


def _feasible(sheet: Sheet, trade: Trade) -> Iterator[str]:
    """Yield a shade behind the feasible stretches, above zero."""
    for a, b in trade.ranges:
        left, top = sheet.point(a.value, sheet.frame.up[1])
        right, bottom = sheet.point(b.value, 0)
        size = f"width='{right - left:.1f}' height='{bottom - top:.1f}'"
        yield f"<rect class='feasible' x='{left:.1f}' y='{top:.1f}' {size} {SHADE}/>"


def _curve(sheet: Sheet, trade: Trade) -> Iterator[str]:
    _, zero = sheet.point(sheet.frame.across[0], 0.0)
    yield f"<path class='zero' d='M {LEFT},{zero:.1f} H {RIGHT}' stroke='currentColor'/>"
    height = trade.given[0].tolerances if trade.given else None
    if height is not None and sheet.frame.up[0] < height < sheet.frame.up[1]:
        _, y = sheet.point(sheet.frame.across[0], height)
        yield f"<path class='given' d='M {LEFT},{y:.1f} H {RIGHT}' {GIVEN}/>"
    for points in pieces(trade, sheet.frame):
        yield f"<path class='curve' d='{sheet.path(points, closed=False)}' {CURVE}/>"
    if (best := trade.best) is not None:
        x, y = sheet.point(best.value, best.level)
        yield f"<path class='best' d='M {x:.1f},{y - 6:.1f} l 6,6 l -6,6 l -6,-6 Z'/>"
    for n, kink in enumerate(trade.kinks, start=1):
        if kink.spot.level < sheet.frame.up[0]:
            continue
        x, y = sheet.point(kink.spot.value, kink.spot.level)
        yield f"<circle cx='{x:.1f}' cy='{y:.1f}' r='3.5'/>"
        yield from numbered(min(max(x, LEFT + 10), RIGHT - 10), max(y - 20, TOP + 10), n)


def _legend(trade: Trade, unit: Unit) -> Iterator[str]:
    x, y = RIGHT + 24, TOP + 14
    yield f"<path d='M {x},{y - 5:.1f} h 40' {CURVE}/>"
    yield text(x + 52, y, "smallest margin")
    y += LINE + 4
    yield f"<path d='M {x + 20},{y - 11:.1f} l 6,6 l -6,6 l -6,-6 Z'/>"
    if trade.best is not None:
        yield text(x + 52, y, f"best: {unit.told(trade.best.value, FINER)}")
        yield text(x + 52, y + LINE - 2, f"{level(trade.best, 1)} tolerances")
    y += 2 * LINE + 2
    if trade.ranges:
        yield f"<rect x='{x}' y='{y - 14:.1f}' width='40' height='16' {SHADE} {EDGE}/>"
        yield text(x + 52, y, "feasible")
        for a, b in trade.ranges:
            y += LINE - 2
            yield text(x, y, inward(a, b, unit), "font-size='12'")
        y += LINE + 4
    if trade.given and (height := trade.given[0].tolerances) is not None:
        yield f"<path d='M {x},{y - 5:.1f} h 40' {GIVEN}/>"
        yield text(x + 52, y, f"{trade.given[0].words}: {fixed(height, 1)}")
        yield text(x + 52, y + LINE - 2, "whatever the densities", "font-size='12'")

"""The screen of `solve --trade`: the price of the target, its kinks, and where it is feasible."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import cycle
from math import ceil, floor

from optimizer.paper.document import Block, Chart, Heading, Listed, Notes, Paragraph, Table, Tone
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import POINT, margin_lines, sentence_case
from optimizer.questions.line_up.frame import closing, stated
from optimizer.questions.line_up.warnings import all_warnings
from optimizer.questions.trade.chart import MARKS, chart, frame_of
from optimizer.questions.trade.curve import FINEST
from optimizer.questions.trade.held_figure import Limits
from optimizer.questions.trade.trade import Spot, Trade
from optimizer.questions.window.edges import makers_line
from shared.rounding import fixed

MORE = "More may exist: the search proves nothing."
FINER = 1
"""Digits more than an RG usually has."""
MOST = 4
"""Limits named for one side of a kink; --json has them all."""


def trade_blocks(trade: Trade, *, whole: bool = False) -> tuple[Block, ...]:
    """Return the screen of a curve; `whole` with every sample of it, for a file."""
    return (*_page(trade), *([curve_table(trade)] if whole else []))


def trade_names(trade: Trade) -> dict[str, str]:
    """Return each weight label's name, such as "16 lb"."""
    return {weight.label: weight.ball.map.name for spot in trade.spots for weight in spot.weights}


def _page(trade: Trade) -> Iterator[Block]:
    names, figure = trade_names(trade), trade.of.words
    unit = Units.of(trade.scenario).by(trade.of.quantity)
    yield stated(trade.scenario, *_status(trade, unit))
    yield Paragraph(
        f"{sentence_case(_others(trade))}about {POINT[trade.scenario.about]}. A margin is "
        "the smallest that depends on density, in tolerances; below zero, a limit is broken by "
        "that much."
    )
    if trade.verdict is not None and trade.verdict.infeasible is not None:
        yield Paragraph(f"{sentence_case(trade.verdict.infeasible.proof)}.")
    if trade.broken:
        yield Heading("Broken, whatever the densities")
        yield Notes(margin_lines(trade.broken, names, Units.of(trade.scenario)), "bad")
    if trade.best is not None:
        yield Heading(f"Smallest margin against {figure}")
        yield Chart(chart(trade, unit))
    if trade.kinks:
        yield kinks_table(trade, unit, names)
    yield Notes(tuple(_notes(trade, unit, names)))
    yield from closing(all_warnings(trade.scenario, trade.pourable))


def _status(trade: Trade, unit: Unit) -> tuple[str, Tone]:
    name, best = trade.of.words, trade.best
    low, high = (unit.number(spot.value) for spot in (trade.spots[0], trade.spots[-1]))
    span = f"{name} from {low} to {high} {unit.name}"
    nearest = "" if best is None else f" The best is {_place(best, unit)}."
    if trade.broken:
        what = "A limit is broken that does not depend on density"
        return f"INFEASIBLE. {what}, at any {span}.{nearest}", "bad"
    if trade.status == "infeasible":
        return f"INFEASIBLE, exactly on target, at every {span}.{nearest}", "bad"
    if trade.status == "undecided" or best is None:
        none = f"No line-up exactly on target was found at any {span}"
        return f"UNDECIDED. {none}.{nearest}", "warning"
    ranges = " and ".join(inward(a, b, unit) for a, b in trade.ranges)
    return f"{name} is best at {_place(best, unit)}; feasible {ranges}.", "good"


def _place(spot: Spot, unit: Unit) -> str:
    return f"{unit.told(spot.value, FINER)}, {level(spot, 1)} tolerances"


def level(spot: Spot, digits: int = 2) -> str:
    """Return a smallest margin as measured, in words; "none" where no target is met."""
    return "none" if spot.tolerances is None else fixed(spot.tolerances, digits)


def inward(low: Spot, high: Spot, unit: Unit) -> str:
    """Return a feasible stretch rounded inward, or a value in it if it is finer than the digits."""
    digits = unit.digits + FINER
    step = unit.factor * 10.0**-digits
    slip = FINEST / 1000 / step  # rounding errors don't shorten the stretch
    first, last = ceil(low.value / step - slip), floor(high.value / step + slip)
    if first > last:
        return f"close to {unit.told((low.value + high.value) / 2, FINER + 2)} only"
    a, b = (fixed(n * 10.0**-digits, digits) for n in (first, last))
    return f"at {a} {unit.name}" if first == last else f"from {a} to {b} {unit.name}"


def _others(trade: Trade) -> str:
    """Return the other figures of the target along the curve."""
    units, others = Units.of(trade.scenario), ""
    for figure, span in trade.scenario.target.items():
        if figure == trade.of:
            continue
        unit = units.by(figure.quantity)
        ends = f"{unit.number(span.low)} to {unit.told(span.high)}"
        free = f"chosen for each value, within {ends}"
        others += f"{figure.words} {unit.told(span.low) if span.fixed else free}; "
    return others


def kinks_table(trade: Trade, unit: Unit, names: Mapping[str, str]) -> Table:
    """Return the kinks, from low to high."""
    name = f"{trade.of.words}, {unit.name}"
    return (
        Listed([*zip(cycle(MARKS), trade.kinks, strict=False)])
        .right("kink", lambda row: row[0])
        .right(name, lambda row: unit.number(row[1].spot.value, FINER))
        .right("margin, tolerances", lambda row: level(row[1].spot))
        .left("limit that takes over above it", lambda row: limits_line(row[1].enters, names))
        .left("in place of", lambda row: limits_line(row[1].leaves, names))
        .table
    )


def limits_line(limits: Limits, names: Mapping[str, str], most: int = MOST) -> str:
    """Return limits in words, in the order of the weights; "no other" for none."""
    order = {None: -1} | {label: k for k, label in enumerate(names)}
    claims = sorted(limits, key=lambda c: (order[c.weight], str(c.of), c.words))
    more = len(claims) - most
    tail = f" and {more} more" if more > 0 else ""
    return makers_line(tuple(claims), names, most) + tail if claims else "no other"


def curve_table(trade: Trade) -> Table:
    """Return every sample of the curve."""
    unit, names = Units.of(trade.scenario).by(trade.of.quantity), trade_names(trade)

    def limits(spot: Spot) -> str:
        return limits_line(spot.limits, names, len(spot.limits)) if spot.found else "-"

    return (
        Listed(trade.spots)
        .right(f"{trade.of.words}, {unit.name}", lambda s: unit.number(s.value, FINER + 1))
        .right("margin, tolerances", level)
        .left("limits that hold it", limits)
        .table
    )


def _notes(trade: Trade, unit: Unit, names: Mapping[str, str]) -> Iterator[str]:
    yield from _given(trade, names)
    yield from _edges(trade, unit)
    if trade.best is not None and trade.best.feasible:
        held = limits_line(trade.holding, names, len(trade.holding))
        yield f"The best is limited by: {held}."
    frame = None if trade.best is None else frame_of(trade, unit)
    if frame and any(spot.found and spot.level < frame.up[0] for spot in trade.spots):
        yield f"The curve is not drawn below {fixed(frame.up[0], 1)} tolerances; --json has it all."
    yield (
        f"Each of the {len(trade.spots)} values is a line-up that was solved and measured; halfway "
        f"between two, the line drawn is at most {fixed(trade.error, 4)} tolerances off. "
        f"At {trade.fresh} values a fresh search was run as a check"
        f"{'; where it found' if trade.astray else ' and found no'} more margin"
        f"{', that is shown' if trade.astray else ''}. {MORE}"
    )


def _given(trade: Trade, names: Mapping[str, str]) -> Iterator[str]:
    """Yield the smallest margin that depends on no density, and where the curve lies to it."""
    smallest = trade.given[0].tolerances if trade.given else None
    if smallest is None:
        return
    same = [m for m in trade.given if m.tolerances == smallest]
    (line, *_) = margin_lines(same, names, Units.of(trade.scenario))
    levels = [spot.level for spot in trade.spots]
    above = "above the whole curve" if smallest >= max(levels) else "below the best of the curve"
    where = "below the whole curve" if smallest < min(levels) else above
    yield f"The same for all densities: {line}; that is {where}."


def _edges(trade: Trade, unit: Unit) -> Iterator[str]:
    """Yield the ends of the range that are still feasible, and where no target is met."""
    name = trade.of.words
    ends: Sequence[tuple[Spot, str]] = ((trade.spots[0], "lowest"), (trade.spots[-1], "highest"))
    for spot, which in ends:
        if spot.feasible:
            yield f"Still feasible at the {which} {name} asked for, {unit.told(spot.value)}."
    for a, b in trade.gaps:
        low, high = (unit.number(spot.value, FINER) for spot in (a, b))
        where = f"at {low} {unit.name}" if a is b else f"from {low} to {high} {unit.name}"
        yield f"There is no curve {where}: no line-up was found that meets the targets."

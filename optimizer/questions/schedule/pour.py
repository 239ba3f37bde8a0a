"""One weight class on the foundry's sheet: its figures, the order of casting, what to weigh."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from optimizer.ball.figures import CG_OFFSET, TOP_WEIGHT
from optimizer.paper.document import (
    DOTS,
    Block,
    Column,
    Heading,
    Listed,
    Notes,
    Paragraph,
    Table,
    left,
)
from optimizer.paper.quantities import Unit, decimals
from optimizer.paper.words import plural
from optimizer.questions.schedule.casting import NONE, order_of_casting
from optimizer.questions.schedule.half_cast import half_cast_blocks
from optimizer.questions.schedule.pouring.batch import Batch
from optimizer.questions.schedule.pouring.casting import Casting
from optimizer.questions.schedule.pouring.schedule import ClassSchedule, Schedule
from optimizer.questions.schedule.pouring.worksheet import DIGITS, MIXED, RegionSheet
from shared.rounding import fixed, rounded
from shared.units import POUND

RECORDED: Final = 50
"""Batches of a pour that have their own blanks."""
WITH_HARDENER: Final = "mixed with its hardener, as supplied: g of both together"
READY: Final = "ready to pour, its hardener in it"


def figures_table(weight: ClassSchedule, schedule: Schedule) -> Table:
    """Return the ball's figures as mixed, beside its targets."""
    units, rows = schedule.units, []
    for off in weight.mixed.deviations:
        unit = units.by(off.figure.quantity)
        spread = NONE if off.tolerance is None else f"± {unit.number(off.tolerance, 1)}"
        name = f"{off.figure.words}, {unit.name}"
        figures = (unit.number(off.measured, 1), unit.number(off.asked, 1), unit.signed(off.off))
        rows.append((name, *figures, spread))
    asked = {off.figure for off in weight.mixed.deviations}
    for figure in (figure for figure in (TOP_WEIGHT, CG_OFFSET) if figure not in asked):
        unit = units.by(figure.quantity)
        value = unit.number(figure.value(weight.mixed.ball))
        rows.append((f"{figure.words}, {unit.name}", value, NONE, NONE, NONE))
    columns = map(Column, ("as mixed", "asked", "off by", "tolerance"))
    return Table((left("measured from what is weighed"), *columns), tuple(rows))


def casting_tables(weight: ClassSchedule, schedule: Schedule) -> Iterator[Block]:
    """Yield the order of casting, and what to weigh for every batch, with blanks."""
    yield Heading("One ball, innermost first")
    yield _formula(weight, schedule.units.density)
    yield from order_of_casting(weight, schedule)
    yield from half_cast_blocks(weight, schedule)
    yield Heading(f"Weigh-out, weight class {weight.name}: each batch, in this order")
    yield _batches(weight, schedule)
    if many := tuple(
        f"{casting.part.name}: copy its last batch for batches {RECORDED + 1} to "
        f"{casting.batch.count}."
        for casting in weight.castings
        if casting.batch.count > RECORDED
    ):
        yield Notes(many)
    asked = weight.asked.ball.map.mass
    yield Paragraph(
        f"Finished and undrilled: true mass {fixed(weight.mass, 1)} g "
        f"({fixed(weight.mass / POUND, 3)} lb), class weight {fixed(asked, 1)} g, "
        f"difference {rounded(weight.mass - asked, 1):+} g. "
        f"A scale in air reads {weight.in_air} g."
    )


def _formula(weight: ClassSchedule, density: Unit) -> Table:
    def asked(region: RegionSheet) -> str:
        ball = weight.asked.ball
        exact = float(ball.densities[ball.map.places[region.part]])
        return fixed(exact / density.factor, decimals(region.pour.step, density))

    def spread(region: RegionSheet) -> str:
        return NONE if region.pour.tolerance is None else density.number(region.pour.tolerance)

    finer = MIXED - DIGITS["density"]
    return (
        Listed(weight.sheet.regions)
        .left("part", lambda region: region.part)
        .left("material", lambda region: region.pour.material)
        .right("volume, cm³", lambda region: str(region.volume))
        .right(f"asked, {density.name}", asked)
        .right(f"density, {density.name}", lambda r: density.number(float(r.density), finer))
        .right("±", spread)
        .right("mass, g", lambda region: str(region.mass))
        .right("mass, oz", lambda region: str(region.ounces))
        .right("running, g", lambda region: str(region.running))
        .right("to class weight, g", lambda region: str(weight.sheet.asked - region.running))
        .table
    )


def _batches(weight: ClassSchedule, schedule: Schedule) -> Table:
    """Return what to weigh for each batch, and its blanks (a control recipe, by ISA-88)."""
    weighed = (left("to weigh"), *map(Column, ("parts by weight", "g", "± g")), left("note"))
    blanks = map(left, ("lot", "actual", "initials", "second check"))
    rows = list[tuple[str, ...]]()
    for casting in weight.castings:
        batch_rows = tuple(_batch_rows(casting, schedule))
        count = casting.batch.count
        for k in range(1, min(count, RECORDED) + 1):
            batch = f"{weight.name}, {casting.part.name}, batch {k} of {count}"
            rows += ((f"{batch}: {_batch_words(casting.batch, schedule.balls)}",), *batch_rows)
    return Table((*weighed, *blanks), tuple(rows))


def _batch_rows(casting: Casting, schedule: Schedule) -> Iterator[tuple[str, ...]]:
    """Yield the lines of one batch: what to weigh, then blanks for what is measured."""
    batch, checked = casting.batch, (DOTS, DOTS, DOTS)
    stocks = () if batch.mix is None else batch.mix.recipe.stocks
    notes = {stock.name: WITH_HARDENER for stock in stocks}
    for line in batch.lines:
        parts = NONE if line.parts is None else str(line.parts)
        note = READY if batch.mix is None else notes.get(line.ingredient, "")
        yield (line.ingredient, parts, str(line.grams), str(line.within), note, DOTS, *checked)
    pours = f"{plural(batch.balls, 'pour')} of {batch.pour} g"
    stays = f", {(100 * batch.waste).normalize():f} % stays in the mixer" if batch.waste else ""
    more = f"{fixed(100 * batch.spare / batch.needed, 2)} % more than needed"
    yield ("whole batch", "", str(batch.grams), "", f"for {pours}{stays}", "", *checked)
    yield ("spare", "", fixed(batch.spare, 2), "", more, "", "", "", "")
    for name, note in (
        ("time", ""),
        ("temperature", "with its unit"),
        ("measured density", f"cast {schedule.units.density.told(batch.density)}"),
        ("mass out", f"{schedule.shop.scales.shown(casting.out)} g each"),
    ):
        yield (name, "", "", "", note, "", *checked)


def _batch_words(batch: Batch, balls: int) -> str:
    mix, more = batch.mix, batch.count * batch.balls - balls
    spare = f" ({more} more in all than asked for)" if more else ""
    litres = f"for {plural(batch.balls, 'ball')}{spare}; {fixed(batch.litres, 2)} litres"
    if mix is None:
        return litres
    if mix.recipe.second is not None:
        litres += f", {fixed(100 * mix.share, 1)} % of the resin's mass {mix.recipe.resin.name}"
    thick = "" if mix.viscosity is None else f", {fixed(mix.viscosity, 1)} × the resin's viscosity"
    return f"{litres}, solids {fixed(mix.solids, 3)} by volume{thick}"

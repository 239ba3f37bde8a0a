"""One weight class on the foundry's sheet: what it will be, the order of casting, what to weigh."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

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
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import plural
from optimizer.questions.schedule.casting import NONE, order_of_casting
from optimizer.questions.schedule.pouring.casting import Casting
from optimizer.questions.schedule.pouring.schedule import ClassSchedule, Schedule
from optimizer.questions.schedule.pouring.worksheet import DIGITS, MIXED, RegionSheet
from shared.rounding import fixed, rounded
from shared.units import POUND

RECORDED: Final = 50
"""Batches of a pour that have a set of blanks each."""
WITH_HARDENER: Final = "mixed with its hardener, as supplied: g of both together"
READY: Final = "ready to pour, its hardener in it"


def figures_table(class_schedule: ClassSchedule, schedule: Schedule) -> Table:
    """Return what the ball measures as mixed, beside what is asked of it."""
    units = Units.of(schedule.result.scenario)
    rows = []
    for off in class_schedule.mixed.deviations:
        unit = units.by(off.figure.quantity)
        spread = NONE if off.tolerance is None else f"± {unit.number(off.tolerance, 1)}"
        name = f"{off.figure.words}, {unit.name}"
        figures = (unit.number(off.measured, 1), unit.number(off.asked, 1), unit.signed(off.off))
        rows.append((name, *figures, spread))
    ounces = units.imbalance
    top = ounces.number(class_schedule.mixed.ball.top_weight)
    rows.append((f"top weight, {ounces.name}", top, NONE, NONE, NONE))
    columns = map(Column, ("as mixed", "asked", "off by", "tolerance"))
    return Table((left("measured from what is weighed"), *columns), tuple(rows))


def casting_tables(class_schedule: ClassSchedule, schedule: Schedule) -> Iterator[Block]:
    """Yield the order of casting, and for every batch what to weigh, with its blanks."""
    density = Units.of(schedule.result.scenario).density
    yield Heading("One ball, innermost first")
    yield _formula(class_schedule, density)
    yield from order_of_casting(class_schedule, schedule)
    yield Heading(f"Weigh-out, weight class {class_schedule.name}: each batch, in this order")
    yield _batches(class_schedule, schedule, density)
    if many := [casting for casting in class_schedule.castings if casting.batch.count > RECORDED]:
        yield Notes(
            tuple(
                f"{casting.part.name}: copy its last batch for batches {RECORDED + 1} to "
                f"{casting.batch.count}."
                for casting in many
            )
        )
    asked = class_schedule.asked.ball.map.mass
    yield Paragraph(
        f"Finished and undrilled: true mass {fixed(class_schedule.mass, 1)} g "
        f"({fixed(class_schedule.mass / POUND, 3)} lb), class weight {fixed(asked, 1)} g, "
        f"difference {rounded(class_schedule.mass - asked, 1):+} g. "
        f"A scale in air reads {class_schedule.in_air} g."
    )


def _formula(class_schedule: ClassSchedule, density: Unit) -> Table:
    names = [part.name for part in class_schedule.asked.ball.map.parts]
    densities = dict(zip(names, class_schedule.asked.ball.densities.tolist(), strict=True))

    def asked(region: RegionSheet) -> str:
        digits = decimals(region.pour.step, density)
        return fixed(densities[region.part] / density.factor, digits)

    def spread(region: RegionSheet) -> str:
        return NONE if region.pour.tolerance is None else density.number(region.pour.tolerance)

    finer = MIXED - DIGITS["density"]
    return (
        Listed(class_schedule.sheet.regions)
        .left("part", lambda r: r.part)
        .left("material", lambda r: r.pour.material)
        .right("volume, cm³", lambda r: str(r.volume))
        .right(f"asked, {density.name}", asked)
        .right(f"density, {density.name}", lambda r: density.number(float(r.density), finer))
        .right("±", spread)
        .right("mass, g", lambda r: str(r.mass))
        .right("mass, oz", lambda r: str(r.ounces))
        .right("running, g", lambda r: str(r.running))
        .right("to class weight, g", lambda r: str(class_schedule.sheet.asked - r.running))
        .table
    )


def decimals(step: float | None, density: Unit) -> int:
    """Return the decimals of a density that is whole steps, or as many as any is stated to.

    >>> kilos = Unit("kg/m³", 0.001, 1)
    >>> decimals(0.01, kilos), decimals(0.0005, kilos), decimals(None, kilos)
    (0, 1, 1)
    """
    if step is None:
        return density.digits
    return len(f"{step / density.factor:.10f}".rstrip("0").partition(".")[2])


def _batches(class_schedule: ClassSchedule, schedule: Schedule, density: Unit) -> Table:
    """Return what to weigh for each batch, and its blanks (a control recipe, by ISA-88)."""
    weighed = (left("to weigh"), *map(Column, ("parts by weight", "g", "± g")), left("note"))
    blanks = map(left, ("lot", "actual", "initials", "second check"))
    rows = list[tuple[str, ...]]()
    for casting in class_schedule.castings:
        told_once = tuple(_batch_rows(casting, schedule, density))
        count = casting.batch.count
        for k in range(1, min(count, RECORDED) + 1):
            batch = f"{class_schedule.name}, {casting.part.name}, batch {k} of {count}"
            rows += ((f"{batch}: {_batch_words(casting, schedule.balls)}",), *told_once)
    return Table((*weighed, *blanks), tuple(rows))


def _batch_rows(casting: Casting, schedule: Schedule, density: Unit) -> Iterator[tuple[str, ...]]:
    """Yield the lines of one batch: what to weigh, then what was measured."""
    batch, checked = casting.batch, (DOTS, DOTS, DOTS)
    resin = READY if batch.mix is None else WITH_HARDENER
    for k, line in enumerate(batch.lines):
        parts = NONE if line.parts is None else str(line.parts)
        note = resin if k == 0 else ""
        yield (line.ingredient, parts, str(line.grams), str(line.within), note, DOTS, *checked)
    pours = f"{plural(batch.balls, 'pour')} of {batch.pour} g"
    stays = f", {(100 * batch.waste).normalize():f} % stays in the mixer" if batch.waste else ""
    more = f"{fixed(100 * batch.spare / batch.needed, 2)} % more than needed"
    yield ("whole batch", "", str(batch.grams), "", f"for {pours}{stays}", "", *checked)
    yield ("spare", "", fixed(batch.spare, 2), "", more, "", "", "", "")
    yield ("time", "", "", "", "", "", *checked)
    yield ("temperature", "", "", "", "with its unit", "", *checked)
    yield ("measured density", "", "", "", f"cast {density.told(batch.density)}", "", *checked)
    yield (
        "mass out",
        "",
        "",
        "",
        f"{schedule.shop.scales.shown(casting.out)} g each",
        "",
        *checked,
    )


def _batch_words(casting: Casting, balls: int) -> str:
    batch, mix = casting.batch, casting.batch.mix
    more = batch.count * batch.balls - balls
    spare = f" ({more} more in all than asked for)" if more else ""
    litres = f"for {plural(batch.balls, 'ball')}{spare}; {fixed(batch.litres, 2)} litres"
    if mix is None:
        return litres
    thick = "" if mix.viscosity is None else f", {fixed(mix.viscosity, 1)} × the resin's viscosity"
    return f"{litres}, solids {fixed(mix.solids, 3)} by volume{thick}"

"""One weight class on the foundry's sheet: what it will be, the order of casting, what to weigh."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from optimizer.foundry.casting import Casting
from optimizer.foundry.rounding import fixed
from optimizer.foundry.schedule import ClassSchedule, Schedule
from optimizer.foundry.worksheet import DIGITS
from optimizer.report.document import DOTS, Block, Column, Heading, Notes, Paragraph, Table, left
from optimizer.report.quantities import Units
from optimizer.report.schedule.casting import NONE, order_of_casting
from optimizer.report.words import plural
from shared.units import POUND

RECORDED: Final = 8
"""Batches of a pour that have a line each in the record."""


def figures_table(one: ClassSchedule, told: Schedule) -> Table:
    """Return what the ball measures as mixed, beside what is asked of it."""
    units = Units.of(told.result.scenario)
    rows = []
    for off in one.mixed.deviations:
        unit = units.mass if off.figure == "weight" else units.rg
        spread = NONE if off.tolerance is None else f"± {unit.number(off.tolerance, 1)}"
        name = "low RG" if off.figure == "rg" else off.figure
        rows.append(
            (
                f"{name}, {unit.name}",
                unit.number(off.measured, 1),
                unit.number(off.asked, 1),
                unit.signed(off.off),
                spread,
            )
        )
    ounces = units.imbalance
    top = ounces.number(one.mixed.ball.top_weight)
    rows.append((f"top weight, {ounces.name}", top, NONE, NONE, NONE))
    columns = ("measured from what is weighed", "as mixed", "asked", "off by", "tolerance")
    return Table((left(columns[0]), *(Column(c) for c in columns[1:])), tuple(rows))


def casting_tables(one: ClassSchedule, told: Schedule) -> Iterator[Block]:
    """Yield the order of casting, the weigh-out of every pour, and the blanks of the batch."""
    yield Heading("One ball, innermost first")
    yield _formula(one)
    yield from order_of_casting(one, told)
    yield Heading("Weigh-out, in this order")
    yield _weigh_out(one, told.balls)
    yield Heading("Batch record")
    yield from _record(one)
    yield Paragraph(
        f"Finished and undrilled: true mass {one.sheet.mass} g "
        f"({fixed(float(one.sheet.mass) / POUND, 3)} lb), class weight {one.sheet.asked} g, "
        f"difference {one.sheet.mass - one.sheet.asked:+} g. A scale in air reads {one.in_air} g."
    )


def _formula(one: ClassSchedule) -> Table:
    columns = (
        left("part"),
        left("material"),
        Column("volume, cm³"),
        Column("asked, g/cm³"),
        Column("density, g/cm³"),
        Column("±"),
        Column("mass, g"),
        Column("mass, oz"),
        Column("running, g"),
        Column("to class weight, g"),
    )
    asked = dict(zip(names_of(one), one.asked.ball.densities.tolist(), strict=True))
    rows = tuple(
        (
            region.part,
            region.pour.material,
            str(region.volume),
            fixed(asked[region.part], decimals(region.pour.step)),
            str(region.density),
            NONE if region.pour.tolerance is None else fixed(region.pour.tolerance, 4),
            str(region.mass),
            str(region.ounces),
            str(region.running),
            str(one.sheet.asked - region.running),
        )
        for region in one.sheet.regions
    )
    return Table(columns, rows)


def decimals(step: float | None) -> int:
    """Return the decimals of a density that is whole steps, or as many as any is stated to.

    >>> decimals(0.01), decimals(0.025), decimals(None)
    (2, 3, 4)
    """
    if step is None:
        return DIGITS["density"]
    return len(f"{step:.10f}".rstrip("0").partition(".")[2])


def names_of(one: ClassSchedule) -> list[str]:
    """Return the parts' names in the order of the ball's densities."""
    return [part.name for part in one.asked.ball.map.parts]


def _weigh_out(one: ClassSchedule, balls: int) -> Table:
    """Return what to weigh for each pour, with blanks for what was."""
    columns = (
        left("to weigh"),
        Column("parts by weight"),
        Column("g"),
        Column("± g"),
        left("lot"),
        left("actual g"),
        left("initials"),
        left("second check"),
    )
    rows: list[tuple[str, ...]] = []
    for casting in one.castings:
        batch = casting.batch
        rows.append((f"{casting.part.name}: {_batches(casting, balls)}; {_liquid_words(casting)}",))
        rows += (
            (
                line.ingredient,
                NONE if line.parts is None else str(line.parts),
                str(line.grams),
                str(line.within),
                *(DOTS for _ in range(4)),
            )
            for line in batch.lines
        )
        rows.append(("whole batch", "", str(batch.grams), *("" for _ in range(5))))
    return Table(columns, tuple(rows))


def _batches(casting: Casting, balls: int) -> str:
    batch = casting.batch
    each = plural(batch.balls, "ball")
    if batch.count == 1:
        return f"1 batch for {each}"
    more = batch.count * batch.balls - balls
    spare = f" ({more} more than asked for)" if more else ""
    return f"{batch.count} batches, each for {each}{spare}"


def _liquid_words(casting: Casting) -> str:
    batch, mix = casting.batch, casting.batch.mix
    litres = fixed(float(batch.grams) / batch.wet / 1000, 2)
    if mix is None:
        return f"{litres} litres"
    thick = "" if mix.viscosity is None else f", {fixed(mix.viscosity, 1)} × the resin's viscosity"
    return f"{litres} litres, solids {fixed(mix.solids, 3)} by volume{thick}"


def _record(one: ClassSchedule) -> Iterator[Block]:
    """Yield the blanks that a batch fills in (a control recipe, in the words of ISA-88)."""
    blanks = ("time", "temperature", "measured density", "mass out", "initials", "second check")
    rows, many = list[tuple[str, ...]](), list[str]()
    for casting in one.castings:
        name, count = casting.part.name, casting.batch.count
        named = [f"{name} {k} of {count}" if count > 1 else name for k in range(1, count + 1)]
        rows += ((batch, *(DOTS for _ in blanks)) for batch in named[:RECORDED])
        if count > RECORDED:
            many.append(f"{name}: copy this record for batches {RECORDED + 1} to {count}.")
    yield Table((left("batch record"), *(left(blank) for blank in blanks)), tuple(rows))
    if many:
        yield Notes(tuple(many))

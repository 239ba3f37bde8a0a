"""One weight class on the foundry's sheet: what it will be, the order of casting, what to weigh."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Final

from optimizer.foundry.casting import Casting
from optimizer.foundry.rounding import fixed
from optimizer.foundry.scales import Scales
from optimizer.foundry.schedule import ClassSchedule, Schedule
from optimizer.report.document import Block, Column, Heading, Notes, Paragraph, Table, left
from optimizer.report.quantities import Unit, Units
from optimizer.report.words import plural
from shared.units import POUND

BLANK: Final = "........"
"""Where a person writes."""
NONE: Final = "-"


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
    units = Units.of(told.result.scenario)
    yield Heading("Order of casting, innermost first; masses of one ball")
    yield _order(one, told)
    yield _liquids(one, told, units)
    yield from _held(one, told)
    yield Heading("Weigh-out, in this order")
    yield from (_weigh_out(casting) for casting in one.castings)
    yield Heading("Batch record")
    yield _record(one)
    yield Paragraph(
        f"Finished and undrilled: true mass {one.sheet.mass} g "
        f"({fixed(float(one.sheet.mass) / POUND, 3)} lb), class weight {one.sheet.asked} g, "
        f"difference {one.sheet.mass - one.sheet.asked:+} g. A scale in air reads {one.in_air} g."
    )


def _order(one: ClassSchedule, told: Schedule) -> Table:
    columns = (
        Column("step"),
        left("part"),
        left("material"),
        Column("asked, g/cm³"),
        Column("as mixed, g/cm³"),
        Column("±"),
        Column("in the mould, g"),
        Column("this pour, g"),
        Column("out of it, g"),
        Column("finished, g"),
        Column("running, g"),
        Column("still to come, g"),
    )
    shown, rows, running = told.shop.scales.shown, [], Decimal(0)
    asked = dict(
        zip((p.name for p in one.asked.ball.map.parts), one.asked.ball.densities, strict=True)
    )
    for k, (casting, region) in enumerate(zip(one.castings, one.sheet.regions, strict=True)):
        spread = region.pour.tolerance
        running += region.mass
        rows.append(
            (
                str(k + 1),
                region.part,
                region.pour.material,
                fixed(float(asked[region.part]), 4),
                str(region.density),
                NONE if spread is None else fixed(spread, 4),
                str(shown(casting.within)),
                str(shown(casting.cast)),
                str(shown(casting.out)),
                str(region.mass),
                str(running),
                str(one.sheet.asked - running),
            )
        )
    return Table(columns, tuple(rows))


def _liquids(one: ClassSchedule, told: Schedule, units: Units) -> Table:
    """Return what is poured as a liquid, and the mould that it shrinks from."""
    columns = (
        left("part"),
        Column("pour, g"),
        Column("liquid, cm³"),
        Column("liquid, g/cm³"),
        Column("finished, cm³"),
        Column("void-free, g/cm³"),
        left(f"mould, {units.length.name}"),
        left(f"cast to, then turned to, {units.length.name}"),
    )
    rows = (_liquid(casting, told.shop.scales, units.length) for casting in one.castings)
    return Table(columns, tuple(rows))


def _liquid(casting: Casting, scales: Scales, length: Unit) -> tuple[str, ...]:
    mix = casting.batch.mix
    return (
        casting.part.name,
        str(scales.shown(casting.poured)),
        fixed(casting.wet_volume, 1),
        fixed(casting.batch.wet, 4),
        fixed(casting.volume, 1),
        str(casting.batch.density) if mix is None else fixed(mix.theoretical, 4),
        _mould(casting, length),
        _turned(casting, length),
    )


def _mould(casting: Casting, length: Unit) -> str:
    """Return the mould's lengths, larger than the casting's by what it shrinks."""
    shape, growth = casting.part.shape, casting.growth
    if casting.diameter is not None:
        return f"diameter {length.number(casting.diameter * growth)}"
    lengths = [(path, value_of(shape, path)) for path in shape.lengths()]
    if len(lengths) > 3:
        return f"as drawn × {fixed(growth, 4)}"
    return ", ".join(f"{path[-1]} {length.number(value * growth)}" for path, value in lengths)


def value_of(shape: object, path: tuple[str | int, ...]) -> float:
    """Return the length (cm) at a path of a shape's fields."""
    value: object = shape
    for key in path:
        value = value[key] if isinstance(key, int) else getattr(value, key)  # type: ignore[index]
    return float(value)  # type: ignore[arg-type]


def _turned(casting: Casting, length: Unit) -> str:
    if casting.diameter is None:
        return NONE
    (path,) = casting.part.shape.lengths()
    finished = length.number(value_of(casting.part.shape, path))
    return f"{length.number(casting.diameter)}, then {finished}"


def _held(one: ClassSchedule, told: Schedule) -> Iterator[Block]:
    """Yield the forces on what is held in the liquid."""
    most, rows, over = told.shop.text.hold_down, [], []
    for casting in one.castings:
        for held in casting.held:
            side = "up: hold it down" if held.lift > 0 else "down: hold it up"
            force = fixed(abs(held.lift), 2)
            rows.append(
                (
                    casting.part.name,
                    held.part,
                    fixed(held.density, 4),
                    fixed(casting.batch.wet, 4),
                    force,
                    side,
                    NONE if most is None else fixed(most - abs(held.lift), 2),
                )
            )
            if most is not None and abs(held.lift) > most:
                over.append(
                    f"Warning: {held.part} in the liquid {casting.part.name} pulls with {force} N, "
                    f"more than what holds it can take ({most:g} N)."
                )
    if not rows:
        return
    columns = (
        left("pouring"),
        left("held in it"),
        Column("its mean, g/cm³"),
        Column("liquid, g/cm³"),
        Column("force, N"),
        left("way"),
        Column("to the limit, N"),
    )
    yield Heading("Held in the liquid (in full once the liquid wets its underside)")
    yield Table(columns, tuple(rows))
    if over:
        yield Notes(tuple(over), "warning")


def _weigh_out(casting: Casting) -> Table:
    """Return what to weigh for one pour, with blanks for what was."""
    batch = casting.batch
    columns = (
        left(f"{casting.part.name}: {_batches(casting)}"),
        Column("parts by weight"),
        Column("g"),
        Column("± g"),
        left("lot"),
        left("actual g"),
        left("initials"),
        left("second check"),
    )
    rows = [
        (
            line.ingredient,
            NONE if line.parts is None else str(line.parts),
            str(line.grams),
            str(line.within),
            *(BLANK for _ in range(4)),
        )
        for line in batch.lines
    ]
    whole = f"whole batch ({_liquid_words(casting)})"
    rows.append((whole, "", str(batch.grams), *("" for _ in range(5))))
    return Table(columns, tuple(rows))


def _batches(casting: Casting) -> str:
    batch = casting.batch
    each = plural(batch.balls, "ball")
    count = plural(batch.count, "batch", "batches")
    return f"{count} for {each}" if batch.count == 1 else f"{count}, each for {each}"


def _liquid_words(casting: Casting) -> str:
    batch, mix = casting.batch, casting.batch.mix
    litres = fixed(float(batch.grams) / batch.wet / 1000, 2)
    if mix is None:
        return f"{litres} litres"
    thick = "" if mix.viscosity is None else f", {fixed(mix.viscosity, 1)} × the resin's viscosity"
    return f"{litres} litres, solids {fixed(mix.solids, 3)} by volume{thick}"


def _record(one: ClassSchedule) -> Table:
    """Return the blanks that a batch fills in (a control recipe, in the words of ISA-88)."""
    blanks = ("time", "temperature", "measured density", "mass out", "initials", "second check")
    rows = tuple((c.part.name, *(BLANK for _ in blanks)) for c in one.castings)
    return Table((left("batch record"), *(left(blank) for blank in blanks)), rows)

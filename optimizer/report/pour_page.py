"""One weight class on the foundry's sheet: what it will be, the order of casting, what to weigh."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from optimizer.foundry.casting import Casting, Held
from optimizer.foundry.rounding import fixed
from optimizer.foundry.schedule import ClassSchedule, Schedule
from optimizer.foundry.worksheet import DIGITS
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
    yield Heading("One ball, innermost first")
    yield _formula(one)
    yield Heading("Order of casting, one ball")
    yield _order(one, told)
    yield _moulds(one, units.length)
    yield from _held(one, told)
    yield Heading("Weigh-out, in this order")
    yield _weigh_out(one)
    yield Heading("Batch record")
    yield _record(one)
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
        Column("still to come, g"),
    )
    asked = dict(zip(names_of(one), one.asked.ball.densities.tolist(), strict=True))
    rows = tuple(
        (
            region.part,
            region.pour.material,
            str(region.volume),
            fixed(asked[region.part], DIGITS["density"]),
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


def names_of(one: ClassSchedule) -> list[str]:
    """Return the parts' names in the order of the ball's densities."""
    return [part.name for part in one.asked.ball.map.parts]


def _order(one: ClassSchedule, told: Schedule) -> Table:
    """Return what is poured as a liquid, and round what."""
    columns = (
        Column("step"),
        left("part"),
        Column("in the mould, g"),
        Column("pour, g"),
        Column("out of it, g"),
        Column("liquid, cm³"),
        Column("liquid, g/cm³"),
        Column("void-free, g/cm³"),
    )
    shown, rows = told.shop.scales.shown, []
    for k, casting in enumerate(one.castings, start=1):
        mix = casting.batch.mix
        rows.append(
            (
                str(k),
                casting.part.name,
                str(shown(casting.within)),
                str(shown(casting.poured)),
                str(shown(casting.out)),
                fixed(casting.wet_volume, 1),
                fixed(casting.batch.wet, 4),
                str(casting.batch.density) if mix is None else fixed(mix.theoretical, 4),
            )
        )
    return Table(columns, tuple(rows))


def _moulds(one: ClassSchedule, length: Unit) -> Table:
    """Return the mould of each casting, larger by what it shrinks, and what is turned off it."""
    columns = (
        left("part"),
        Column("mould ÷ casting"),
        left(f"mould, {length.name}"),
        Column(f"cast to, {length.name}"),
        Column(f"turned to, {length.name}"),
    )
    rows = (
        (
            casting.part.name,
            fixed(casting.growth, 4),
            _mould(casting, length),
            *_turned(casting, length),
        )
        for casting in one.castings
    )
    return Table(columns, tuple(rows))


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


def _turned(casting: Casting, length: Unit) -> tuple[str, str]:
    """Return the diameters that a sphere is cast and then turned to."""
    if casting.diameter is None:
        return NONE, NONE
    (path,) = casting.part.shape.lengths()
    finished = value_of(casting.part.shape, path)
    return length.number(casting.diameter), length.number(finished)


def _held(one: ClassSchedule, told: Schedule) -> Iterator[Block]:
    """Yield the forces on what is held in the liquid."""
    most, rows = told.shop.text.hold_down, []
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
    over = tuple(held_words(*strong, most) for strong in told.too_strong if strong[0] == one.label)
    if over:
        yield Notes(over, "warning")


def held_words(label: str, casting: Casting, held: Held, most: float | None) -> str:
    """Return in words that a piece pulls harder than what holds it can take (N)."""
    return (
        f"Warning: weight {label}, {casting.part.name}: the {held.part} held in it pulls "
        f"{'up' if held.lift > 0 else 'down'} with {fixed(abs(held.lift), 2)} N, more than the "
        f"{most:g} N that what holds it can take."
    )


def _weigh_out(one: ClassSchedule) -> Table:
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
        rows.append((f"{casting.part.name}: {_batches(casting)}; {_liquid_words(casting)}",))
        rows += (
            (
                line.ingredient,
                NONE if line.parts is None else str(line.parts),
                str(line.grams),
                str(line.within),
                *(BLANK for _ in range(4)),
            )
            for line in batch.lines
        )
        rows.append(("whole batch", "", str(batch.grams), *("" for _ in range(5))))
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

"""The order of casting on the foundry's sheet: liquids, moulds, and what is held in the liquid."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from optimizer.paper.document import Block, Column, Heading, Listed, Notes, Table, left
from optimizer.paper.quantities import Unit
from optimizer.paper.words import listed
from optimizer.questions.schedule.pouring.casting import Casting, Held
from optimizer.questions.schedule.pouring.schedule import ClassSchedule, Schedule
from shared.rounding import fixed

NONE: Final = "-"
"""A cell without a value."""
UNKNOWN: Final = (
    "Without a recipe nothing is known of a material's liquid, its voids or its shrinkage: its "
    "mould is the shop's to say, and for the force its liquid counts as dense as its casting."
)


def order_of_casting(weight: ClassSchedule, schedule: Schedule) -> Iterator[Block]:
    """Yield the order of pours, their moulds, and the forces of the liquid."""
    yield Heading("Order of casting, one ball")
    yield _order(weight, schedule)
    yield _moulds(weight, schedule.units.length)
    notes = [
        f"{casting.part.name}: set into a hole drilled through {listed(casting.part.hosts)} once "
        f"{casting.part.inside} is cast."
        for casting in weight.castings
        if casting.part.through
    ]
    if any(casting.batch.mix is None for casting in weight.castings):
        notes.append(UNKNOWN)
    if notes:
        yield Notes(tuple(notes))
    yield from _held(weight, schedule)


def _order(weight: ClassSchedule, schedule: Schedule) -> Table:
    """Return each pour's liquid and masses, and the mass of what it is poured around."""
    shown, density = schedule.shop.scales.shown, schedule.units.density

    def liquid(casting: Casting) -> tuple[str, str, str]:
        mix = casting.batch.mix
        if mix is None:
            return NONE, NONE, NONE
        numbers = density.number(mix.wet), density.number(mix.theoretical)
        return fixed(casting.wet_volume, 1), *numbers

    liquids = ("liquid, cm³", f"liquid, {density.name}", f"void-free, {density.name}")
    return (
        Listed(weight.castings)
        .right("step", lambda casting: str(weight.castings.index(casting) + 1))
        .left("part", lambda casting: casting.part.name)
        .right("in the mould, g", lambda casting: str(shown(casting.within)))
        .right("pour, g", lambda casting: str(shown(casting.poured)))
        .right("trimmed, g", lambda casting: str(shown(casting.poured - casting.cast)))
        .right("out of it, g", lambda casting: str(shown(casting.out)))
        .right("turned or drilled off, g", lambda casting: str(shown(casting.machined)))
        .several(map(Column, liquids), liquid)
        .table
    )


def _moulds(weight: ClassSchedule, length: Unit) -> Table:
    """Return the mould of each casting, larger by its shrinkage, and what is turned off it."""
    mould = Column("mould ÷ casting"), left(f"mould, {length.name}")
    turned = Column(f"cast to, {length.name}"), Column(f"turned to, {length.name}")
    return (
        Listed(weight.castings)
        .left("part", lambda casting: casting.part.name)
        .several(mould, lambda casting: _mould(casting, length))
        .several(turned, lambda casting: _turned(casting, length))
        .table
    )


def _mould(casting: Casting, length: Unit) -> tuple[str, str]:
    """Return mould ÷ casting and the mould's lengths; of outlines and stretches only the ratio."""
    part, growth = casting.part, casting.growth
    if growth is None:
        return NONE, NONE
    ratio = fixed(growth, 4)
    if casting.diameter is not None:
        return ratio, f"diameter {length.number(casting.diameter * growth)}"
    paths = part.shape.lengths()
    if not 0 < len(paths) <= 3 or part.placement.stretch != (1.0, 1.0, 1.0):
        return ratio, f"as drawn × {ratio}"
    figures = dict[str | int, list[str]]()
    for path in paths:
        scaled = length.number(_value(part.shape, path) * growth)
        figures.setdefault(path[0], []).append(scaled)
    return ratio, ", ".join(f"{key} {' × '.join(each)}" for key, each in figures.items())


def _value(shape: Any, path: tuple[str | int, ...]) -> float:
    """Return the length (cm) at a path of a shape's fields."""
    value = shape
    for key in path:
        value = value[key] if isinstance(key, int) else getattr(value, key)
    return float(value)


def _turned(casting: Casting, length: Unit) -> tuple[str, str]:
    """Return the diameters that a sphere is cast to, and then turned to."""
    if casting.diameter is None:
        return NONE, NONE
    (path,) = casting.part.shape.lengths()
    return length.number(casting.diameter), length.number(_value(casting.part.shape, path))


def _held(weight: ClassSchedule, schedule: Schedule) -> Iterator[Block]:
    """Yield the forces on what is held in the liquid."""
    most, density = schedule.shop.text.hold_down, schedule.units.density
    held = [(casting, piece) for casting in weight.castings for piece in casting.held]
    if not held:
        return

    def room(piece: Held) -> str:
        return NONE if most is None else fixed(most - abs(piece.lift), 2)

    yield Heading("Held in the liquid (in full once the liquid wets its underside)")
    yield (
        Listed(held)
        .left("pouring", lambda row: row[0].part.name)
        .left("held in it", lambda row: row[1].part)
        .right(f"its mean, {density.name}", lambda row: density.number(row[1].density))
        .right(f"liquid, {density.name}", lambda row: density.number(row[0].batch.wet))
        .right("force, N", lambda row: fixed(abs(row[1].lift), 2))
        .left("way", lambda row: "up: hold it down" if row[1].lift > 0 else "down: hold it up")
        .right("to the limit, N", lambda row: room(row[1]))
        .table
    )
    if over := tuple(held_warnings(schedule, weight)):
        yield Notes(over, "warning")


def held_warnings(schedule: Schedule, only: ClassSchedule | None = None) -> Iterator[str]:
    """Yield a warning for each piece that pulls harder than its holder can take, N."""
    most = schedule.shop.text.hold_down
    for weight, casting, held in schedule.too_strong:
        if weight is only or only is None:
            yield (
                f"Warning: weight {weight.name}, {casting.part.name}: the {held.part} held in it "
                f"pulls {'up' if held.lift > 0 else 'down'} with {fixed(abs(held.lift), 2)} N, "
                f"more than the {most:g} N that what holds it can take."
            )

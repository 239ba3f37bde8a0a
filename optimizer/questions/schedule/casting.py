"""The order of casting on the foundry's sheet: liquids, moulds, and what is held in the liquid."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import Final

from optimizer.paper.document import Block, Column, Heading, Listed, Notes, Table, left
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import listed
from optimizer.questions.schedule.pouring.casting import Casting, Held
from optimizer.questions.schedule.pouring.schedule import ClassSchedule, Schedule
from shared.rounding import fixed

NONE: Final = "-"
"""Where nothing is asked or said."""
UNKNOWN: Final = (
    "Without a recipe nothing is known of a material's liquid, its voids or its shrinkage: its "
    "mould is the shop's to say, and for the force its liquid counts as dense as its casting."
)


def order_of_casting(class_schedule: ClassSchedule, schedule: Schedule) -> Iterator[Block]:
    """Yield what is poured round what, in which mould, and what the liquid does to it."""
    units = Units.of(schedule.result.scenario)
    yield Heading("Order of casting, one ball")
    yield _order(class_schedule, schedule, units.density)
    yield _moulds(class_schedule, units.length)
    said = [
        f"{casting.part.name}: set into a hole drilled through {listed(casting.part.hosts)} once "
        f"{casting.part.inside} is cast."
        for casting in class_schedule.castings
        if casting.part.through
    ]
    said += (
        [UNKNOWN] if any(casting.batch.mix is None for casting in class_schedule.castings) else []
    )
    if said:
        yield Notes(tuple(said))
    yield from _held(class_schedule, schedule, units.density)


def _order(class_schedule: ClassSchedule, schedule: Schedule, density: Unit) -> Table:
    """Return what is poured as a liquid, and round what."""
    shown = schedule.shop.scales.shown

    def liquid(casting: Casting) -> tuple[str, str, str]:
        mix = casting.batch.mix
        if mix is None:
            return NONE, NONE, NONE
        numbers = density.number(mix.wet), density.number(mix.theoretical)
        return fixed(casting.wet_volume, 1), *numbers

    liquids = ("liquid, cm³", f"liquid, {density.name}", f"void-free, {density.name}")
    return (
        Listed(class_schedule.castings)
        .right("step", lambda c: str(class_schedule.castings.index(c) + 1))
        .left("part", lambda c: c.part.name)
        .right("in the mould, g", lambda c: str(shown(c.within)))
        .right("pour, g", lambda c: str(shown(c.poured)))
        .right("trimmed, g", lambda c: str(shown(c.poured - c.cast)))
        .right("out of it, g", lambda c: str(shown(c.out)))
        .right("turned or drilled off, g", lambda c: str(shown(c.cast - c.finished)))
        .several(map(Column, liquids), liquid)
        .table
    )


def _moulds(class_schedule: ClassSchedule, length: Unit) -> Table:
    """Return the mould of each casting, larger by what it shrinks, and what is turned off it."""
    mould = Column("mould ÷ casting"), left(f"mould, {length.name}")
    turned = Column(f"cast to, {length.name}"), Column(f"turned to, {length.name}")
    return (
        Listed(class_schedule.castings)
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
    told = []
    for key, same in groupby(paths, key=lambda path: path[0]):
        figures = (length.number(value_of(part.shape, path) * growth) for path in same)
        told.append(f"{key} {' × '.join(figures)}")
    return ratio, ", ".join(told)


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


def _held(class_schedule: ClassSchedule, schedule: Schedule, density: Unit) -> Iterator[Block]:
    """Yield the forces on what is held in the liquid."""
    most = schedule.shop.text.hold_down
    held = [(casting, piece) for casting in class_schedule.castings for piece in casting.held]
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
    over = tuple(
        held_words(*strong, most)
        for strong in schedule.too_strong
        if strong[0] == class_schedule.name
    )
    if over:
        yield Notes(over, "warning")


def held_words(name: str, casting: Casting, held: Held, most: float | None) -> str:
    """Return in words that a piece pulls harder than what holds it can take (N)."""
    return (
        f"Warning: weight {name}, {casting.part.name}: the {held.part} held in it pulls "
        f"{'up' if held.lift > 0 else 'down'} with {fixed(abs(held.lift), 2)} N, more than the "
        f"{most:g} N that what holds it can take."
    )

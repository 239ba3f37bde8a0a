"""A part that a line might get: its shape, its place, and which of its lengths are free."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain, count
from typing import Any

from geometry.parts import Part
from geometry.placement import Placement
from geometry.shapes import SHAPES, Shape
from geometry.walls.thinnest import wall
from optimizer.scenario import Scenario
from optimizer.scenario.source.part_tables import with_part
from shared.units import LENGTHS


@dataclass(frozen=True)
class Free:
    """A length to be picked, cm: the least, where its search starts, and the greatest."""

    low: float
    start: float
    high: float


Length = float | Free
Drawing = Mapping[str, Length | tuple[Length, ...]]
"""The lengths of a shape by its fields, cm."""


@dataclass(frozen=True)
class Form:
    """A part for a line, of whatever material.

    `what` says what it is to its `host`. `kind` is the kind of its shape, and `drawing` has its
    lengths; or it is `like` a part there is, whose keys are `copied`, on another scale. `at` is its
    place, cm. The parts that are `adopted` lie inside it from then on.
    """

    what: str
    host: str
    kind: str
    drawing: Drawing
    at: tuple[Length, Length, Length]
    rotate: tuple[float, float, float] = (0.0, 0.0, 0.0)
    stretch: tuple[float, float, float] = (1.0, 1.0, 1.0)
    adopted: frozenset[str] = frozenset()
    like: Shape | None = None
    copied: Mapping[str, Any] = field(default_factory=dict)

    @property
    def words(self) -> str:
        """What it is, as a phrase: "heart in keel: spheroid"."""
        around = f" around {' and '.join(sorted(self.adopted))}" if self.adopted else ""
        return f"{self.place}{around}: {self.kind}"

    @property
    def place(self) -> str:
        """What it is and where, whatever its shape."""
        return f"{self.what} in {self.host}"

    @property
    def part(self) -> Part:
        """It as drawn at the start. Raises ValueError where no such shape is."""
        x, y, z = map(_start, self.at)
        shape = self.like
        if shape is None:
            (own,) = (each for each in SHAPES if each.model_fields["kind"].default == self.kind)
            lengths = {
                key: tuple(map(_start, value)) if isinstance(value, tuple) else _start(value)
                for key, value in self.drawing.items()
            }
            shape = own.model_validate(lengths)
        return Part("", self.host, shape, Placement((x, y, z), self.rotate, self.stretch))

    def room(self, parts: Iterable[Part]) -> float:
        """Return its thinnest wall in a mould of these `parts`, at the start, cm."""
        new = self.part
        return min(
            (wall(part, new, nested=True) if part.name in self.adopted else
             wall(new, part, nested=part.name == self.host)).thickness
            for part in parts
            if self.host in (part.name, part.inside)
        )  # fmt: skip

    def text(self, asked: Scenario, material: str) -> str:
        """Return the scenario's text with this part. Raises InputError if it can't be written."""
        name = unused(self.what, asked.sharing, " ")
        lengths = _Lengths(asked, name.replace(" ", "_"))
        part: dict[str, Any] = {"name": name, "inside": self.host, **self.copied}
        if not self.copied:
            part["shape"] = {"kind": self.kind}
            for key, value in self.drawing.items():
                part["shape"][key] = lengths.told(key, value)
        if any(map(_start, self.at)) or any(isinstance(one, Free) for one in self.at):
            part["at"] = lengths.told("", self.at)
        for key, value, plain in (("rotate", self.rotate, 0.0), ("stretch", self.stretch, 1.0)):
            if any(one != plain for one in value):
                part[key] = list(value)
        part["material"] = material
        return with_part(
            asked.source,
            part,
            dimensions=lengths.free,
            adopted=self.adopted,
            file=asked.file,
        )


class _Lengths:
    """Lengths as a scenario writes them; those that are `free` are named dimensions of it."""

    def __init__(self, asked: Scenario, part: str) -> None:
        self.free = dict[str, Any]()
        self._part, self._taken = part, asked.text.dimensions
        self._unit, self._digits = asked.reading.length, LENGTHS[asked.text.units.length].digits

    def told(self, key: str, value: Length | Sequence[Length]) -> Any:
        """Return a length, or three along the axes, with the name of each that is free."""
        if isinstance(value, Sequence):
            axes = (f"{key}_{axis}".strip("_") for axis in "xyz")
            return [self.told(axis, one) for axis, one in zip(axes, value, strict=True)]
        if not isinstance(value, Free):
            return self._number(value)
        low, start, high = map(self._number, (value.low, value.start, value.high))
        name = unused(f"{self._part}_{key}", [*self._taken, *self.free], "_")
        self.free[name] = {"min": low, "max": high, "start": min(max(start, low), high)}
        return name

    def _number(self, length: float) -> float:
        return float(f"{round(length / self._unit, self._digits):.12g}")


def unused(name: str, taken: Iterable[str], between: str) -> str:
    """Return a name that isn't taken yet: with a number, if need be."""
    known = set(taken)
    every = chain([name], (f"{name}{between}{number}" for number in count(2)))
    return next(each for each in every if each not in known)


def _start(length: Length) -> float:
    return length.start if isinstance(length, Free) else length

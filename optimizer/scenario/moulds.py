"""The moulds that a scenario's free dimensions can make: regions, walls and their derivatives."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from pydantic import ValidationError

from geometry.parts import Part
from geometry.regions import region_rates
from geometry.surfaces.velocity import Dimension as Length
from geometry.walls.thinnest import Wall, close_walls, pairs, wall_rates
from optimizer.ball.weight_class import LinearMap
from optimizer.scenario.dimensions import having, named_lengths, values
from optimizer.scenario.drawn import ball_radius, mould_walls, region_moments
from optimizer.scenario.scenario import ClassDrawing, Scenario
from optimizer.scenario.source.content import Content, named_parts, part_labels
from optimizer.scenario.text.scenario_text import PartText
from shared.arrays import Array, frozen
from shared.errors import UnbuildableError

NEAR = 0.2
"""cm. Walls thicker than the thinnest of their pair by more than this are left out."""
KEPT = 512
"""Moulds that are cached: a search returns to where it was."""


@dataclass(frozen=True, eq=False)
class Mould:
    """One mould: its parts, moments (n, 4, 4), walls, and their derivatives in d dimensions."""

    parts: tuple[Part, ...]
    moments: Array
    growth: Array
    walls: tuple[Wall, ...]
    wall_growth: Array


@dataclass(frozen=True, eq=False)
class Drawn:
    """The drawing of one weight: its parts at the start, and where its free dimensions are used.

    `names` are its d free dimensions, `lengths` all lengths that they set, and `uses` (d, lengths)
    is 1 where a dimension sets a length, else 0.
    """

    parts: tuple[Part, ...]
    names: tuple[str, ...]
    lengths: Sequence[Length]
    uses: Array

    @classmethod
    def of(cls, class_drawing: ClassDrawing, names: Sequence[str], content: Content) -> Drawn:
        """Return the drawing of a weight class with the free dimensions `names`."""
        standing = {part.name for part in class_drawing.parts}
        parts = part_labels(content)
        free = [
            (names.index(name), (parts[path[:2]], path[2:]))
            for path, name in named_lengths(content)
            if name in names and parts.get(path[:2]) in standing
        ]
        lengths = list(dict.fromkeys(length for _, length in free))
        uses = np.zeros((len(names), len(lengths)))
        for j, length in free:
            uses[j, lengths.index(length)] = 1.0
        return cls(class_drawing.parts, tuple(names), lengths, frozen(uses))

    @cached_property
    def moving(self) -> frozenset[str]:
        """The parts that use a free dimension."""
        return frozenset(name for name, _ in self.lengths)


def redrawn(scenario: Scenario, label: str, by: Mapping[str, float]) -> tuple[Part, ...]:
    """Return the parts of one weight with named dimensions changed `by` so much, cm.

    Raises UnbuildableError where no such mould can be.
    """
    content = tomllib.loads(scenario.source)
    named, texts = scenario.named(label), named_parts(content)
    for name, more in by.items():
        named[name] += more / scenario.reading.length
    reading = replace(scenario.reading, named=named)
    names = [part.name for part in scenario.classes[scenario.labels.index(label)].parts]
    try:
        return tuple(PartText.model_validate(texts[name], context=reading).part for name in names)
    except ValidationError:
        raise UnbuildableError("no mould has these dimensions") from None


class Moulds:
    """All moulds of a scenario, by the values of its free dimensions."""

    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario
        self._content = tomllib.loads(scenario.source)
        self._have = having(self._content)
        self._texts = named_parts(self._content)
        self._drawn = {
            class_drawing.label: Drawn.of(
                class_drawing,
                [free.name for free in scenario.free_in(class_drawing)],
                self._content,
            )
            for class_drawing in scenario.classes
        }
        self._known: dict[tuple[object, ...], Mould | None] = {}

    def map(self, linear_map: LinearMap, dimensions: Array) -> LinearMap:
        """Return a weight's map at these free dimensions (d,), cm. Raises UnbuildableError."""
        mould = self.at(linear_map.label, dimensions)
        return replace(linear_map, **vars(mould), radius=ball_radius(mould.parts))

    def at(self, label: str, dimensions: Array) -> Mould:
        """Return the mould of the weight `label`; equal moulds are made once."""
        drawn = self._drawn[label]
        named = values(self._content, label, self.scenario.chosen, self._have)
        lengths = (np.asarray(dimensions) / self.scenario.reading.length).tolist()
        named.update(zip(drawn.names, lengths, strict=True))
        key = (*(part.name for part in drawn.parts), *named.values())
        if key not in self._known:
            if len(self._known) >= KEPT:
                self._known.pop(next(iter(self._known)))
            self._known[key] = self._made(drawn, named)
        mould = self._known[key]
        if mould is None:
            raise UnbuildableError("no mould has these dimensions")
        return mould

    def _made(self, drawn: Drawn, named: Mapping[str, float]) -> Mould | None:
        try:
            parts = tuple(self._parts(drawn, named))
            rates = region_rates(parts, drawn.lengths)
            walls = tuple(_walls(drawn, parts))
            wall_growth = wall_rates(walls, parts, drawn.lengths) @ drawn.uses.T
        except (ValidationError, ValueError):
            return None
        return Mould(
            parts,
            region_moments(parts),
            frozen(np.tensordot(drawn.uses, rates, axes=1)),
            walls,
            frozen(wall_growth),
        )

    def _parts(self, drawn: Drawn, named: Mapping[str, float]) -> Iterator[Part]:
        """Yield the parts of one weight's mould, redrawn if they use a free dimension."""
        reading = replace(self.scenario.reading, named=named)
        for part in drawn.parts:
            if part.name in drawn.moving:
                yield PartText.model_validate(self._texts[part.name], context=reading).part
            else:
                yield part


def _walls(drawn: Drawn, parts: Sequence[Part]) -> Iterator[Wall]:
    """Yield every place where a wall may become thinnest; one for each pair of fixed parts."""
    still = {wall.between: wall for wall in mould_walls(drawn.parts)}
    for part, other, nested in pairs(parts):
        if {part.name, other.name} & drawn.moving:
            yield from close_walls(part, other, nested=nested, reach=NEAR)
        else:
            yield still[part.name, other.name]

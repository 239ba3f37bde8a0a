"""The moulds that a scenario's free dimensions can make: regions, walls and their derivatives."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from pydantic import ValidationError

from geometry.parts import Part
from geometry.regions import region_rates
from geometry.velocity import Dimension as Length
from geometry.walls import Wall, close_walls, pairs, wall_rates
from optimizer.linear.maps import LinearMap
from optimizer.scenario.dimensions import named_lengths, values
from optimizer.scenario.drawn import ball_radius, mould_walls, region_moments
from optimizer.scenario.scenario import Scenario
from optimizer.scenario.text import PartText
from shared.arrays import Array, frozen
from shared.errors import UnbuildableError

NEAR = 0.2
"""cm. Walls that are thicker than the thinnest of their pair by more than this can wait."""


KEPT = 512
"""Moulds that are kept at hand: a search comes back to where it was."""


@dataclass(frozen=True, eq=False)
class Mould:
    """One mould: its parts, moments (n, 4, 4), walls, and their derivatives in d dimensions."""

    parts: tuple[Part, ...]
    moments: Array
    growth: Array
    walls: tuple[Wall, ...]
    wall_growth: Array


class Moulds:
    """All moulds of a scenario, by the values of its free dimensions."""

    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario
        self._content = tomllib.loads(scenario.source)
        self._known: dict[tuple[float, ...], Mould | None] = {}

    def map(self, one: LinearMap, dimensions: Array) -> LinearMap:
        """Return a weight's map with these free dimensions (d,), cm.

        Raises UnbuildableError where a shape can't be.
        """
        mould = self.at(one.label, dimensions)
        return replace(
            one,
            parts=mould.parts,
            moments=mould.moments,
            growth=mould.growth,
            walls=mould.walls,
            wall_growth=mould.wall_growth,
            radius=ball_radius(mould.parts),
        )

    def at(self, label: str, dimensions: Array) -> Mould:
        """Return the mould of the weight `label`; equal moulds are made once."""
        named = values(self._content, label, self.scenario.chosen)
        names = [one.name for one in self.scenario.free]
        told = (np.asarray(dimensions) / self.scenario.reading.length).tolist()
        named.update(zip(names, told, strict=True))
        key = tuple(named.values())
        if key not in self._known:
            if len(self._known) >= KEPT:
                self._known.pop(next(iter(self._known)))
            self._known[key] = self._made(label, named)
        found = self._known[key]
        if found is None:
            raise UnbuildableError("no such mould can be")
        return found

    def _made(self, label: str, named: Mapping[str, float]) -> Mould | None:
        try:
            parts = tuple(self._parts(label, named))
            rates = region_rates(parts, self._lengths)
            walls = tuple(self._walls(label, parts))
            wall_growth = wall_rates(walls, parts, self._lengths) @ self._uses.T
        except (ValidationError, ValueError):
            return None
        return Mould(
            parts,
            region_moments(parts),
            frozen(np.tensordot(self._uses, rates, axes=1)),
            walls,
            frozen(wall_growth),
        )

    def _parts(self, label: str, named: Mapping[str, float]) -> Iterator[Part]:
        """Yield the parts of one weight's mould; those that no free dimension is in as they are."""
        reading = replace(self.scenario.reading, named=named)
        for part, text in zip(self._drawn(label), self._content["parts"], strict=True):
            if part.name not in self._moving:
                yield part
                continue
            yield PartText.model_validate(text, context=reading).part

    def _walls(self, label: str, parts: Sequence[Part]) -> Iterator[Wall]:
        """Yield every place where a wall may come to be thinnest; one for parts that stay."""
        still = {wall.between: wall for wall in mould_walls(self._drawn(label))}
        for part, other, nested in pairs(parts):
            if {part.name, other.name} & self._moving:
                yield from close_walls(part, other, nested=nested, reach=NEAR)
            else:
                yield still[part.name, other.name]

    def _drawn(self, label: str) -> tuple[Part, ...]:
        return next(one.parts for one in self.scenario.classes if one.label == label)

    @cached_property
    def _moving(self) -> frozenset[str]:
        """The parts that a free dimension is in."""
        return frozenset(name for name, _ in self._lengths)

    @cached_property
    def _free(self) -> Sequence[tuple[int, Length]]:
        """Where each free dimension is used: its number, the part's name, the place in it."""
        number = {one.name: j for j, one in enumerate(self.scenario.free)}
        return [
            (number[name], (self._name(path[1]), path[2:]))
            for path, name in named_lengths(self._content)
            if name in number
        ]

    def _name(self, i: Any) -> str:
        return str(self._content["parts"][i]["name"])

    @cached_property
    def _lengths(self) -> Sequence[Length]:
        """Every length that a free dimension sets."""
        return list(dict.fromkeys(length for _, length in self._free))

    @cached_property
    def _uses(self) -> Array:
        """Which lengths (columns) each free dimension (rows) sets, 1 or 0, (d, lengths)."""
        uses = np.zeros((len(self.scenario.free), len(self._lengths)))
        for j, length in self._free:
            uses[j, self._lengths.index(length)] = 1.0
        return frozen(uses)

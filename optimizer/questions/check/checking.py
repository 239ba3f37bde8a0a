"""What `check` finds: a scenario's moulds, what is free, and its balls where nothing is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from optimizer.ball.bounds import Margin
from optimizer.ball.figures import WALL
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.margins import deviations, margins, outside
from optimizer.lineup.result import WeightResult
from optimizer.scenario import Scenario, linear_maps
from shared.arrays import Array, frozen


@dataclass(frozen=True)
class Reach:
    """The least and the most a weight class can weigh within its density ranges, g."""

    label: str
    least: float
    most: float
    asked: float
    tolerance: float

    @property
    def exact(self) -> bool:
        """Whether the class weight can be made exactly."""
        return self.least <= self.asked <= self.most

    @property
    def within(self) -> bool:
        """Whether the class weight can be made within its tolerance."""
        return self.least - self.tolerance <= self.asked <= self.most + self.tolerance


@dataclass(frozen=True, eq=False)
class Check:
    """A scenario looked at; `measured` has the balls of the weights with every density fixed."""

    scenario: Scenario
    maps: tuple[LinearMap, ...]
    walls: tuple[Margin, ...]
    reach: tuple[Reach, ...]
    measured: tuple[WeightResult, ...]

    @property
    def broken(self) -> tuple[Margin, ...]:
        """Limits that aren't kept: walls, and all the others where balls are measured."""
        if self.scenario.open:  # its mould is a start: the solver keeps the walls
            return ()
        told = [m for weight in self.measured for m in weight.margins]
        told += [m for m in self.walls if m.weight in self.unmeasured]
        return tuple(m for m in told if outside(m) and not m.rule_only)

    @property
    def out_of_reach(self) -> tuple[Reach, ...]:
        """Class weights that no density in the ranges can make, even within their tolerance."""
        if self.scenario.open:
            return ()
        asked = (reach for reach in self.reach if reach.label in self.unmeasured)
        return tuple(reach for reach in asked if not reach.within)

    @property
    def unmeasured(self) -> tuple[str, ...]:
        """The labels of the weights in which some density is free."""
        known = {weight.label for weight in self.measured}
        return tuple(map_.label for map_ in self.maps if map_.label not in known)

    @property
    def sought(self) -> tuple[LinearMap, ...]:
        """The weights in which some density is free."""
        return tuple(map_ for map_ in self.maps if map_.label in self.unmeasured)

    @property
    def moulds(self) -> tuple[tuple[LinearMap, ...], ...]:
        """The weight classes, those that share a mould together."""
        groups: dict[int, list[LinearMap]] = {}
        for map_ in self.maps:
            groups.setdefault(id(map_.parts), []).append(map_)
        return tuple(tuple(group) for group in groups.values())


def checked(scenario: Scenario) -> Check:
    """Return what can be said of a scenario without solving it."""
    maps = linear_maps(scenario)
    return Check(
        scenario=scenario,
        maps=maps,
        walls=tuple(margin for map_ in maps for margin in _walls(map_)),
        reach=tuple(
            Reach(map_.label, *_weighing(map_), map_.mass, map_.mass_tolerance or 0.0)
            for map_ in maps
        ),
        measured=tuple(
            _measured(map_, scenario) for map_ in maps if all(pour.fixed for pour in map_.pours)
        ),
    )


def _walls(map_: LinearMap) -> Iterator[Margin]:
    """Yield how far a mould's walls are from their limits, whatever is poured."""
    ball = map_.ball(_ends(map_)[0])
    for bound in map_.bounds:
        if bound.figure == WALL:
            yield from bound.margins(ball)


def _ends(map_: LinearMap) -> tuple[Array, Array]:
    """Return the least and the greatest densities (n,) of what may be poured."""
    return frozen([pour.low for pour in map_.pours]), frozen([pour.high for pour in map_.pours])


def _weighing(map_: LinearMap) -> tuple[float, float]:
    """Return the least and the most that a ball of a weight class can weigh, g."""
    low, high = _ends(map_)
    return float(low @ map_.volumes), float(high @ map_.volumes)


def _measured(map_: LinearMap, scenario: Scenario) -> WeightResult:
    """Return the ball at the fixed densities; a target left free is taken where the ball is."""
    ball = map_.ball(_ends(map_)[0])
    figures: Sequence[float] = ()
    if scenario.target is not None:
        radii = ball.radii
        found = (radii.low, radii.differential, radii.intermediate_differential)
        spans = scenario.target.spans
        figures = [
            float(np.clip(value, span.low, span.high))
            for value, span in zip(found, spans, strict=False)
        ]
    off = () if map_.mass_tolerance is None else tuple(deviations(ball, frozen(figures)))
    return WeightResult(ball, margins(ball), off)

"""What `check` finds: a scenario's moulds, its free densities, and balls where none is free."""

from __future__ import annotations

from collections.abc import Iterator
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
class WeightRange:
    """The least and the greatest weight that a class can have within its density ranges, g."""

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
    """A checked scenario; `measured` has the balls of the weights with every density fixed."""

    scenario: Scenario
    maps: tuple[LinearMap, ...]
    walls: tuple[Margin, ...]
    reach: tuple[WeightRange, ...]
    measured: tuple[WeightResult, ...]

    @property
    def broken(self) -> tuple[Margin, ...]:
        """The broken limits: walls, and all others where balls are measured."""
        if self.scenario.open:  # its mould is a start: the solver keeps the walls
            return ()
        every = [margin for weight in self.measured for margin in weight.margins]
        every += [margin for margin in self.walls if margin.weight in self.unmeasured]
        return tuple(margin for margin in every if outside(margin) and not margin.rule_only)

    @property
    def out_of_reach(self) -> tuple[WeightRange, ...]:
        """Class weights that no density in the ranges can make, even within their tolerance."""
        if self.scenario.open:
            return ()
        unmeasured = self.unmeasured
        return tuple(r for r in self.reach if r.label in unmeasured and not r.within)

    @property
    def unmeasured(self) -> tuple[str, ...]:
        """The labels of the weights in which some density is free."""
        known = {weight.label for weight in self.measured}
        return tuple(linear_map.label for linear_map in self.maps if linear_map.label not in known)

    @property
    def sought(self) -> tuple[LinearMap, ...]:
        """The weights in which some density is free."""
        return tuple(linear_map for linear_map in self.maps if linear_map.label in self.unmeasured)

    @property
    def moulds(self) -> tuple[tuple[LinearMap, ...], ...]:
        """The weight classes, grouped by the mould that they share."""
        groups: dict[int, list[LinearMap]] = {}
        for linear_map in self.maps:
            groups.setdefault(id(linear_map.parts), []).append(linear_map)
        return tuple(tuple(group) for group in groups.values())


def checked(scenario: Scenario) -> Check:
    """Return what can be found in a scenario without solving it."""
    maps = linear_maps(scenario)
    fixed = [each for each in maps if all(pour.fixed for pour in each.pours)]
    return Check(
        scenario=scenario,
        maps=maps,
        walls=tuple(margin for each in maps for margin in _walls(each)),
        reach=tuple(map(_reach, maps)),
        measured=tuple(_measured(each) for each in fixed),
    )


def _walls(linear_map: LinearMap) -> Iterator[Margin]:
    """Yield the margins of a mould's walls, which hold whatever is poured."""
    ball = linear_map.ball(_ends(linear_map)[0])
    for bound in linear_map.bounds:
        if bound.figure == WALL:
            yield from bound.margins(ball)


def _ends(linear_map: LinearMap) -> tuple[Array, Array]:
    """Return the least and the greatest densities (n,) that may be poured, g/cm³."""
    return frozen([pour.low for pour in linear_map.pours]), frozen(
        [pour.high for pour in linear_map.pours]
    )


def _reach(linear_map: LinearMap) -> WeightRange:
    """Return what a weight class can weigh."""
    least, most = (float(densities @ linear_map.volumes) for densities in _ends(linear_map))
    asked, tolerance = linear_map.mass, linear_map.mass_tolerance or 0.0
    return WeightRange(linear_map.label, least, most, asked, tolerance)


def _measured(linear_map: LinearMap) -> WeightResult:
    """Return the ball at the fixed densities; a free target is taken where it is nearest."""
    ball = linear_map.ball(_ends(linear_map)[0])
    figures = [
        float(np.clip(figure.value(ball), span.low, span.high))
        for figure, span in linear_map.target.items()
    ]
    off = () if linear_map.mass_tolerance is None else tuple(deviations(ball, frozen(figures)))
    return WeightResult(ball, margins(ball), off)

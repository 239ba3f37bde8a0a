"""Densities in whole steps near a line-up, as counts, and the line-ups measured at them.

The unknowns are counts. A density with a step is a count of steps; one without is a fraction of
moves that weigh as much as one step of every other pour, so that one reach fits all.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

import numpy as np

from optimizer.ball.bounds import Margin
from optimizer.ball.sought import Pour
from optimizer.ball.weight_class import Ball, LinearMap
from optimizer.lineup.margins import stated
from optimizer.lineup.result import WeightResult
from optimizer.lineup.rows import Lineup
from optimizer.lineup.stating import measured
from optimizer.scenario.scenario import Scenario
from shared.arrays import Array, frozen
from shared.tolerances import ARITHMETIC, DENSITY_STEP

DIGITS = 12
"""Decimals of a step, g/cm³."""


@dataclass(frozen=True, eq=False)
class Candidate:
    """A line-up on the steps, measured exactly at the columns `x`.

    `off` is the largest deviation from the targets, in tolerances; `far` the sum of the counts from
    the original line-up. `kept`: every limit is kept. `worst` is the number of the worst weight:
    one that breaks a limit, or else the one that is off the most.
    """

    x: Array
    weights: tuple[WeightResult, ...]
    kept: bool
    off: float
    far: float
    worst: int

    @property
    def rank(self) -> tuple[bool, float, float]:
        """Sort key, larger is better; equal to rounding is equal."""
        return self.kept, -round(self.off, 9), -round(self.far, 9)


@dataclass(frozen=True, eq=False)
class Counts:
    """Columns `x` as counts of `size`, whole where `whole`; given and `pinned` ones stay."""

    lineup: Lineup
    scenario: Scenario
    x: Array
    pinned: frozenset[int] = frozenset()

    @cached_property
    def pours(self) -> dict[int, tuple[LinearMap, int]]:
        """For each sought column the map and the place of its first pour."""
        pours: dict[int, tuple[LinearMap, int]] = {}
        for k, linear_map in enumerate(self.lineup.maps):
            for i, pour in enumerate(linear_map.pours):
                column = int(self.lineup.columns.poured[k][i])
                if not pour.fixed and column not in self.pinned:
                    pours.setdefault(column, (linear_map, i))
        return pours

    @cached_property
    def whole(self) -> Array:
        """1 for a column that is whole steps (c,), else 0."""
        return frozen([1.0 if self._step(j) else 0.0 for j in range(len(self.x))])

    @cached_property
    def sought(self) -> list[int]:
        """The columns that are sought."""
        return list(self.pours)

    @cached_property
    def steps(self) -> dict[int, float]:
        """The step of each column that is sought in whole steps, g/cm³."""
        return {j: step for j in self.sought if (step := self._step(j))}

    @property
    def all_whole(self) -> bool:
        """Whether every column that is sought is whole steps."""
        return len(self.steps) == len(self.sought)

    @cached_property
    def size(self) -> Array:
        """One count of each column (c,), in the column's unit."""
        size = np.ones(len(self.x))
        for j, (linear_map, i) in self.pours.items():
            stepped = sum(
                (pour.step or 0.0) * float(volume)
                for pour, volume in zip(linear_map.pours, linear_map.volumes, strict=True)
                if not pour.fixed
            )
            size[j] = self._step(j) or stepped / float(linear_map.volumes[i])
        return frozen(size)

    def box(self, reach: int) -> tuple[Array, Array]:
        """Return the least and the greatest counts (c,), at most `reach` from the line-up."""
        at, sought = self.x / self.size, np.zeros(len(self.x))
        sought[self.sought] = reach
        lower, upper = at - sought, at + sought
        whole = self.whole > 0.0
        lower[whole] = np.ceil(lower[whole] - ARITHMETIC)
        upper[whole] = np.floor(upper[whole] + ARITHMETIC)
        return lower, upper

    def columns(self, counts: Array) -> Array:
        """Return the columns at `counts`, as stated."""
        x = self.x.copy()
        for j, (linear_map, i) in self.pours.items():
            x[j] = _stated(linear_map.pours[i], float(counts[j] * self.size[j]))
        return x

    def candidate(self, x: Array) -> Candidate:
        """Return the line-up at stated columns `x`, measured exactly."""
        figures = self.lineup.columns.target(x)
        weights = tuple(measured(ball, figures) for ball in self.lineup.balls(x))
        ranks = [(not broken(weight), -largest(weight)) for weight in weights]
        worst = min(range(len(weights)), key=ranks.__getitem__)
        far = float(np.sum(np.abs(x - self.x) / self.size))
        return Candidate(x, weights, ranks[worst][0], max(map(largest, weights)), far, worst)

    def nearest(self) -> Candidate:
        """Return the line-up with every density at its nearest step."""
        return self.candidate(self.columns(self.x / self.size))

    @cached_property
    def rounding(self) -> Array:
        """How much stating can move each column (c,): those that are not whole."""
        moved = np.zeros(len(self.x))
        moved[self.sought] = DENSITY_STEP / 2
        return frozen(moved * (1.0 - self.whole))

    def _step(self, column: int) -> float | None:
        linear_map, i = self.pours.get(column, (None, 0))
        return None if linear_map is None else _step_of(linear_map.pours[i])


def _step_of(pour: Pour) -> float | None:
    """Return a pour's step as it was written: 9 kg/m³ are 0.009 g/cm³, not 0.009000000000000001."""
    return None if pour.step is None else round(pour.step, DIGITS)


def _stated(pour: Pour, density: float) -> float:
    """Return a density as the shop can hold it: the nearest whole step, or as stated."""
    if (step := _step_of(pour)) is None:
        return stated(density, pour.low, pour.high)
    return whole_steps(step, round(density / step))


def whole_steps(step: float, count: int) -> float:
    """Return so many steps, g/cm³: the number nearest to them, as it is written."""
    return float(Decimal(repr(step)) * count)


def largest(weight: WeightResult) -> float:
    """Return the largest deviation from the targets, in tolerances."""
    return max(abs(off.tolerances or 0.0) for off in weight.deviations)


def broken(weight: WeightResult) -> tuple[Margin, ...]:
    """Return the limits broken by more than stating densities without a step can cause."""
    return tuple(
        margin
        for margin in weight.margins
        if margin.gradient is not None and not margin.rule_only
        if margin.slack < -allowed(margin, weight.ball)
    )


def allowed(margin: Margin, ball: Ball) -> float:
    """Return by how much stating densities without a step can break a ball's limit."""
    if margin.gradient is None:
        return ARITHMETIC
    fine = np.array([pour.step is None and not pour.fixed for pour in ball.map.pours])
    turning = ball.rg_difference_rate if margin.quantity == "rg" else 0.0
    return DENSITY_STEP / 2 * float((np.abs(margin.gradient) + turning) @ fine) + ARITHMETIC

"""A line-up that is known and what is around it: one number is moved, all else sought anew."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from optimizer.ball.bounds import Bound
from optimizer.lineup.columns import Flags
from optimizer.lineup.engine.climbing import Peak
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.moulds.starts import groups
from optimizer.lineup.moulds.walk import walk
from optimizer.lineup.result import LineupResult
from optimizer.lineup.rows import Lineup
from optimizer.scenario import Scenario
from optimizer.scenario.release import searched
from shared.arrays import Array
from shared.errors import UnbuildableError

NEAR = 0.02
"""Of a dimension's range: the first step of a re-solve, which has not far to go."""
REACH = 100.0
"""Times as far as one number is moved, the dimensions may follow in the program for its slope."""


@dataclass(frozen=True, eq=False)
class Around:
    """One group of weights at its best, and the line-ups in which one number is moved.

    Only dimensions that the text leaves free are sought anew; the others stay where they are.
    """

    lineup: Lineup
    x: Array
    free: Flags
    solver: LinearSolver

    @cached_property
    def stated(self) -> float:
        """The smallest margin of the line-up as it was stated."""
        return float(np.min(self.lineup.rows(self.x).levels(self.x)))

    @cached_property
    def peak(self) -> Peak:
        """The best line-up from here. Raises UnbuildableError where no mould can be here."""
        return walk(self.lineup.engine(self.solver), self.x, self.lineup.columns.mould, reach=NEAR)

    def again(self, moved: Lineup) -> float | None:
        """Return the smallest margin of a line-up with one number moved, sought from the best.

        None where no mould can be, or none was found that meets the targets.
        """
        try:
            peak = walk(
                moved.engine(self.solver), self.peak.x, self.lineup.columns.mould, reach=NEAR
            )
        except UnbuildableError:
            return None
        return peak.level if peak.meets_targets else None

    def slope(self, moved: Lineup, amount: float) -> float:
        """Return the change of the program's objective for the small `amount` by which it moved.

        Moved or not, the same tangents: rows at the best point, dimensions near it.
        """
        room = np.where(
            self.lineup.columns.mould, np.where(self.free, REACH * abs(amount), 0.0), np.inf
        )
        return self._program(moved, room) - self._program(self.lineup, room)

    def column(self, column: int, amount: float) -> Lineup:
        """Return the line-up with a dimension held `amount` off its best."""
        held = self.lineup.columns.held(column, self.peak.x[column] + amount)
        return replace(self.lineup, columns=held)

    def shifted(self, some: Container[Bound], amount: float) -> Lineup:
        """Return the line-up with the bounds `some` moved by `amount`."""
        maps = tuple(
            replace(
                linear_map,
                bounds=tuple(b.moved(amount) if b in some else b for b in linear_map.bounds),
            )
            for linear_map in self.lineup.maps
        )
        return replace(self.lineup, maps=maps)

    def _program(self, of: Lineup, room: Array) -> float:
        """Return the objective of the program over all columns, at the tangents of the best."""
        rows = of.rows(self.peak.x)
        lower, upper = of.columns.lower, of.columns.upper
        held = lower == upper
        return self.solver.best(
            rows,
            np.where(held, lower, np.maximum(lower, self.peak.x - room)),
            np.where(held, upper, np.minimum(upper, self.peak.x + room)),
        ).objective


def around(result: LineupResult, let_go: Scenario) -> list[Around]:
    """Return what is around a result, group by group of the weights that are solved together."""
    solver = LinearSolver()
    return [_around(result, let_go, lineup, solver) for lineup in groups(let_go)]


def _around(result: LineupResult, let_go: Scenario, lineup: Lineup, solver: LinearSolver) -> Around:
    of, unit = lineup.columns, let_go.reading.length
    x, free = lineup.point_of(result), np.zeros(of.count, dtype=bool)
    for k, weight_class in enumerate(lineup.maps):
        named = let_go.named(weight_class.label)
        x[of.drawn[k]] = [named[dimension.name] * unit for dimension in weight_class.free]
        free[of.drawn[k]] = [searched(let_go, dimension.name) for dimension in weight_class.free]
    held = of.mould & ~free
    return Around(replace(lineup, columns=of.held(held, x[held])), x, free, solver)

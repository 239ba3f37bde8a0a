"""The neighbourhood of a known line-up: one number is moved, all else re-optimised."""

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
"""Of a dimension's range: the first step of a re-solve, which is never far off."""
REACH = 100.0
"""The program for a slope lets dimensions move this many times as far as the one number."""


@dataclass(frozen=True, eq=False)
class Neighbourhood:
    """One group of weights at its best, and the line-ups with one number moved.

    Only dimensions that the text leaves free are re-optimised; the others stay as they are.
    """

    lineup: Lineup
    x: Array
    free: Flags
    solver: LinearSolver

    @cached_property
    def stated(self) -> float:
        """The smallest margin of the line-up as stated."""
        return float(np.min(self.lineup.rows(self.x).levels(self.x)))

    @cached_property
    def peak(self) -> Peak:
        """The best line-up from here. Raises UnbuildableError where no mould is possible here."""
        return self._walked(self.lineup, self.x)

    def again(self, moved: Lineup) -> float | None:
        """Return the smallest margin of a line-up with one number moved, starting at the best.

        None where no mould is possible, or none was found that meets the targets.
        """
        try:
            peak = self._walked(moved, self.peak.x)
        except UnbuildableError:
            return None
        return peak.level if peak.meets_targets else None

    def _walked(self, lineup: Lineup, x: Array) -> Peak:
        return walk(lineup.engine(self.solver), x, self.lineup.columns.mould, reach=NEAR)

    def slope(self, moved: Lineup, amount: float) -> float:
        """Return the change of the program's objective for the small `amount` by which it moved.

        Both programs have the same tangents, rows at the best point, and dimensions near it.
        """
        reach = np.where(self.free, REACH * abs(amount), 0.0)
        room = np.where(self.lineup.columns.mould, reach, np.inf)
        return self._program(moved, room) - self._program(self.lineup, room)

    def column(self, column: int, amount: float) -> Lineup:
        """Return the line-up with a dimension held `amount` off its best."""
        held = self.lineup.columns.held(column, self.peak.x[column] + amount)
        return replace(self.lineup, columns=held)

    def shifted(self, bounds: Container[Bound], amount: float) -> Lineup:
        """Return the line-up with these bounds moved by `amount`."""
        maps = tuple(
            replace(m, bounds=tuple(b.moved(amount) if b in bounds else b for b in m.bounds))
            for m in self.lineup.maps
        )
        return replace(self.lineup, maps=maps)

    def _program(self, lineup: Lineup, room: Array) -> float:
        """Return the objective of the program over all columns, at the tangents of the best."""
        x, lower, upper = self.peak.x, lineup.columns.lower, lineup.columns.upper
        held = lower == upper
        lowest = np.where(held, lower, np.maximum(lower, x - room))
        highest = np.where(held, upper, np.minimum(upper, x + room))
        return self.solver.best(lineup.rows(x), lowest, highest).objective


def neighbourhoods(result: LineupResult, freed: Scenario) -> list[Neighbourhood]:
    """Return the neighbourhood of a result, one for each group of weights solved together.

    `freed` is its scenario with dimensions free.
    """
    solver, unit, each = LinearSolver(), freed.reading.length, []
    for lineup in groups(freed):
        of = lineup.columns
        x, free = lineup.point_of(result), np.zeros(of.count, dtype=bool)
        for drawn, linear_map in zip(of.drawn, lineup.maps, strict=True):
            named = freed.named(linear_map.label)
            x[drawn] = [named[dimension.name] * unit for dimension in linear_map.free]
            free[drawn] = [searched(freed, dimension.name) for dimension in linear_map.free]
        held = of.mould & ~free
        columns = of.held(held, x[held])
        each.append(Neighbourhood(replace(lineup, columns=columns), x, free, solver))
    return each

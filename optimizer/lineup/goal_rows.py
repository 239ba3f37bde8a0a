"""The rows of a goal: one number of the scenario is a column, raised in place of the margins.

Limits are kept with the room that is asked for. A figure of the target and a free dimension are
columns anyway; the end of a bound, or a class weight, gets one of its own, in which its rows are
linear.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from optimizer.ball.bounds import Bound
from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.ball.weight_class import LinearMap
from optimizer.scenario.goals import Goal

SHARE = 0.01
"""Of its range: the unit of a number that has no tolerance."""


@dataclass(frozen=True, eq=False)
class Sought:
    """A goal as the weight classes of one line-up see it, in internal units.

    It is `low` to `high`, and counts from its worse end in `unit`s; `size` is the text's unit in
    ours. `bounds` are those whose end it is; none for a figure of the target or a dimension. It has
    an `extra` column where nothing else in these weights is the number. If it isn't `raised`, the
    margins are, and it is free.
    """

    goal: Goal
    low: float
    high: float
    unit: float
    size: float
    bounds: frozenset[Bound] = frozenset()
    extra: bool = False
    raised: bool = True

    @classmethod
    def of(cls, goal: Goal, maps: Sequence[LinearMap]) -> Sought:
        """Return the goal as these weight classes see it."""
        bounds = [bound for linear_map in maps for bound in linear_map.bounds if _ends(bound, goal)]
        free = [free for linear_map in maps for free in linear_map.free if free.name == goal.name]
        target = [span for figure, span in maps[0].target.items() if figure.key == goal.name]
        low, high, tolerance, width = goal.low, goal.high, None, goal.high - goal.low
        if goal.side is not None:
            size = bounds[0].value / goal.start if bounds else 1.0
            low, high = low * size, high * size
            tolerance = bounds[0].tolerance if bounds else None
        elif goal.path[0] == "target":
            low, high, tolerance = target[0].low, target[0].high, target[0].tolerance
        elif free:
            low, high = free[0].low, free[0].high
        size = (high - low) / width
        extra = goal.path[0] != "target" and not free
        unit = tolerance or SHARE * (high - low)
        return cls(goal, low, high, unit, size, frozenset(bounds), extra)

    @property
    def worst(self) -> float:
        """The end of its range that is farthest from the goal."""
        return self.low if self.goal.sense == "most" else self.high

    @cached_property
    def start(self) -> float:
        """The value that its bounds have in the weight classes' maps."""
        return next((bound.value for bound in self.bounds), (self.low + self.high) / 2)

    def rows(self, kept: Iterable[LinearRow], column: int) -> list[LinearRow]:
        """Return the rows of a program whose limits are `kept`: with room, and the goal raised.

        `column` is the goal's.
        """
        rows = [self._row(row, column) for row in kept]
        if not self.raised:
            return rows
        toward = np.zeros_like(rows[0].coefficients)
        toward[column] = self.goal.way
        worst = self.goal.way * self.worst
        return [*rows, LinearRow(Name("goal"), toward, worst, np.inf, self.unit)]

    def _row(self, row: LinearRow, column: int) -> LinearRow:
        if self.raised:
            row = with_room(row, self.goal.keep)
        if row.name.of not in self.bounds:
            return row
        coefficients, base = row.coefficients.copy(), row.eased * self.start
        coefficients[column] += row.eased
        return replace(
            row, coefficients=coefficients, lower=row.lower + base, upper=row.upper + base
        )


def with_room(row: LinearRow, keep: float) -> LinearRow:
    """Return the row of a limit that is kept with room, in tolerances; any other as it is."""
    of = row.name.of
    limit = isinstance(of, Bound) and of.side != "both" and of.tolerance is not None
    return replace(row, lower=row.lower + keep) if limit else row


def _ends(bound: Bound, goal: Goal) -> bool:
    """Whether the number that is sought is the end of a bound."""
    return goal.side == bound.side and goal.of == bound.path

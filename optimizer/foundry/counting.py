"""Densities that are whole steps: the integer program near a line-up, and its answers measured.

The unknowns are counts. A density with a step is a count of steps; one without is counted, not
whole, in moves that weigh as much as one step of every other pour, so that one reach fits all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

import numpy as np

from optimizer.foundry.bend import Bend
from optimizer.linear.maps import LinearMap, Pour
from optimizer.linear.rows import Margin
from optimizer.lineup.margins import stated
from optimizer.lineup.pipeline import measured
from optimizer.lineup.result import WeightResult
from optimizer.lineup.rows import Lineup
from optimizer.lineup.solve import Rows
from optimizer.scenario.scenario import Scenario
from shared.arrays import Array, frozen
from shared.errors import SolverError
from shared.tolerances import ARITHMETIC, DENSITY_STEP

NEAR = 1e-5
"""Tolerances that one count nearer to the line-up is worth: it settles ties."""
NODES = 20000
"""Branches of one program at the most: seconds. Its bound holds wherever it stops."""


@dataclass(frozen=True, eq=False)
class Candidate:
    """A line-up on the steps, measured exactly at the columns `x`.

    `off` is the largest deviation from the targets, in tolerances; `far` how many counts it is
    from the line-up that it stands for, all together. `kept`: every limit is.
    """

    x: Array
    weights: tuple[WeightResult, ...]
    kept: bool
    off: float
    far: float

    @property
    def rank(self) -> tuple[bool, float, float]:
        """What makes one better than another; equal to rounding is equal."""
        return self.kept, -round(self.off, 9), -round(self.far, 9)


@dataclass(frozen=True, eq=False)
class Counted:
    """What a program answers: counts (c,), or None; and what none within its reach goes below.

    `least` bounds the largest deviation, in tolerances, as the program's rows see it.
    """

    counts: Array | None
    least: float


@dataclass(frozen=True, eq=False)
class Counts:
    """The counts of a line-up's columns `x`: column = `size` · count, whole where `whole`.

    Columns that are given, and those in `pinned`, stay where they are.
    """

    lineup: Lineup
    scenario: Scenario
    x: Array
    pinned: frozenset[int] = frozenset()

    @cached_property
    def pours(self) -> dict[int, tuple[LinearMap, int]]:
        """The class and the place of the pour that each sought column stands for first."""
        pours: dict[int, tuple[LinearMap, int]] = {}
        for k, one in enumerate(self.lineup.maps):
            for i, pour in enumerate(one.pours):
                column = int(self.lineup.columns.place[k, i])
                if not pour.fixed and column not in self.pinned:
                    pours.setdefault(column, (one, i))
        return pours

    @cached_property
    def whole(self) -> Array:
        """1 for a column that is whole steps (c,), else 0."""
        return frozen([1.0 if self._step(j) else 0.0 for j in range(len(self.x))])

    @cached_property
    def size(self) -> Array:
        """What one count is of each column (c,), in the column's unit."""
        size = np.ones(len(self.x))
        for j, (one, i) in self.pours.items():
            stepped = sum(
                (pour.step or 0.0) * float(volume)
                for pour, volume in zip(one.pours, one.volumes, strict=True)
                if not pour.fixed
            )
            size[j] = self._step(j) or stepped / float(one.volumes[i])
        return frozen(size)

    def box(self, reach: int) -> tuple[Array, Array]:
        """Return the least and the greatest counts (c,), so many from the line-up at the most."""
        at, sought = self.x / self.size, np.zeros(len(self.x))
        sought[list(self.pours)] = reach
        lower, upper = at - sought, at + sought
        whole = self.whole > 0.0
        lower[whole] = np.ceil(lower[whole] - ARITHMETIC)
        upper[whole] = np.floor(upper[whole] + ARITHMETIC)
        return lower, upper

    def columns(self, counts: Array) -> Array:
        """Return the columns at `counts`, as they are stated."""
        x = self.x.copy()
        for j, (one, i) in self.pours.items():
            x[j] = _stated(one.pours[i], float(counts[j] * self.size[j]))
        return x

    def candidate(self, x: Array) -> Candidate:
        """Return the line-up at columns `x` that are stated, measured exactly."""
        figures = self.lineup.columns.target(x)
        weights = tuple(measured(ball, self.scenario, figures) for ball in self.lineup.balls(x))
        far = np.abs(x - self.x) / self.size
        return Candidate(
            x, weights, not any(broken(one) for one in weights), largest(weights), float(far.sum())
        )

    def nearest(self) -> Candidate:
        """Return the line-up with every density at its nearest step, whatever it comes to."""
        return self.candidate(self.columns(self.x / self.size))

    def program(self, at: Array, reach: int) -> Counted:
        """Return the counts within `reach` that the rows made at the columns `at` find best."""
        from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415 - heavy

        rows = Rows.of(self.lineup.nearest_rows(at, weight_kept=False))
        lower, upper = self.box(reach)
        sought = list(self.pours)
        n, s = len(at), len(sought)
        matrix = np.zeros((len(rows.lower), n + 1 + s))
        matrix[:, :n] = rows.matrix * self.size
        matrix[:, n] = rows.tolerance
        alone = np.count_nonzero(rows.matrix, axis=1) <= 1  # stating keeps within a range
        room = np.where(rows.margin | alone, 0.0, np.abs(rows.matrix) @ self._rounding)
        apart = np.zeros((2 * s, n + 1 + s))
        apart[np.arange(2 * s), 2 * sought] = np.repeat([1.0, -1.0], s)
        apart[np.arange(2 * s), n + 1 + np.tile(np.arange(s), 2)] = 1.0
        start = apart[:, :n] @ (self.x / self.size)
        answer = milp(
            np.r_[np.zeros(n), 1.0, np.full(s, NEAR)],
            integrality=np.r_[self.whole, np.zeros(1 + s)],
            bounds=Bounds(np.r_[lower, np.zeros(1 + s)], np.r_[upper, np.full(1 + s, np.inf)]),
            constraints=[
                LinearConstraint(matrix, rows.lower + room, rows.upper),
                LinearConstraint(apart, start, np.inf),
            ],
            options={"mip_rel_gap": 0.0, "node_limit": NODES},
        )
        if answer.status == 2:  # infeasible
            return Counted(None, np.inf)
        known = answer.fun if answer.mip_dual_bound is None else answer.mip_dual_bound
        if known is None:  # neither optimal nor stopped at NODES
            raise SolverError(f"HiGHS did not solve a bounded program: {answer.message}")
        counts = None if answer.x is None else np.asarray(answer.x[:n])
        return Counted(counts, float(known) - NEAR * reach * s)

    def least(self, answer: Counted, at: Candidate, reach: int, off: float) -> float | None:
        """Return what no line-up on the steps within `reach` goes below, in tolerances.

        From the program's `answer` with rows made `at`; `off` is the best that is known. None
        where the error of the rows isn't known, and where a density has no step.
        """
        sought = list(self.pours)
        if not all(self.whole[sought]):
            return None
        apart = np.abs(at.x - self.x)
        apart[sought] += reach * self.size[sought]
        bends = [
            Bend(one, self.lineup.columns.densities(k, apart), off).tolerances
            for k, one in enumerate(at.weights)
        ]
        known = answer.least - max(bends)
        return max(known, 0.0) if np.isfinite(known) else None

    @cached_property
    def _rounding(self) -> Array:
        """By how much stating moves each column (c,): those that are not whole."""
        moved = np.zeros(len(self.x))
        moved[list(self.pours)] = DENSITY_STEP / 2
        return moved * (1.0 - self.whole)

    def _step(self, column: int) -> float | None:
        one, i = self.pours.get(column, (None, 0))
        return None if one is None else one.pours[i].step


def _stated(pour: Pour, density: float) -> float:
    """Return a density as the shop can hold it: the nearest whole step, or as it is stated."""
    if pour.step is None:
        return stated(density, pour.low, pour.high)
    return float(Decimal(repr(pour.step)) * round(density / pour.step))


def largest(weights: Sequence[WeightResult]) -> float:
    """Return the largest deviation from the targets, in tolerances."""
    return max(abs(off.tolerances or 0.0) for one in weights for off in one.deviations)


def broken(weight: WeightResult) -> tuple[Margin, ...]:
    """Return the limits that densities on their steps break.

    A density without a step may break one by what stating it moves.
    """
    fine = np.array([pour.step is None and not pour.fixed for pour in weight.ball.map.pours])
    return tuple(
        margin
        for margin in weight.margins
        if margin.gradient is not None and not margin.rule_only
        if margin.slack < -DENSITY_STEP / 2 * float(np.abs(margin.gradient) @ fine) - ARITHMETIC
    )

"""Sequential linear programming with a trust region, and leximin margins.

The engine knows nothing of balls: it gets rows at a point, exact there and tangent around it, and
climbs from point to point. It takes a step if the merit, by the new point's own rows, rises.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, partial

import numpy as np

from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.lineup.engine.linear_solver import LinearSolver, Optimum, Rows
from shared.arrays import Array
from shared.tolerances import LEAST_DUAL, MARGIN, ROW_ERROR, SOLVER

RowsAt = Callable[[Array], Sequence[LinearRow]]
Held = Mapping[int, float]
"""Levels, by the margin's row, below which margins may not fall any more."""

HELD_PRICE = 1e3
"""The price, per tolerance, of falling below a held level."""
DEARER = 100.0
"""The factor on every price after a climb has traded a target for margin: on near-round balls,
second-order rows yield several tolerances for 1e-4 cm²."""
SOLD = 0.05
"""The largest violation of a row traded for margin, cm²: a larger one costs 750 tolerances at the
usual price, more than any margin can gain, so that a higher price changes nothing."""
PASSES = 200
"""The most linear programs in one climb; the median is three."""
WORTH = 1e-8
"""Tolerances: a program that promises less than this gains nothing."""
CRAWLING = 8
"""Passes judged together: where two RGs nearly meet, a climb gains next to nothing."""
HOPELESS = 1e-6
"""Of the remaining violation: a program that promises to remove less than this share is stuck."""
CORRECTED = 3
"""The most corrections of one step."""
PARALLEL = 1e-9
"""Relative size below which a singular value of the binding rows is rounding."""


@dataclass(frozen=True, eq=False)
class Peak:
    """The end of a climb: the point, its own rows, and the last program's optimum there."""

    x: Array
    rows: Rows
    optimum: Optimum

    @cached_property
    def level(self) -> float:
        """The smallest margin that isn't held, in tolerances."""
        return float(np.min(self.rows.levels(self.x), initial=np.inf))

    @cached_property
    def error(self) -> float:
        """The largest violation of a row; of targets in cm² of RG²."""
        return float(np.max(self.rows.broken(self.x), initial=0.0))

    @property
    def meets_targets(self) -> bool:
        """Whether every row holds that isn't a margin's."""
        return self.error <= ROW_ERROR


@dataclass(frozen=True, eq=False)
class Engine:
    """One program: its rows at a point, the box of its columns, and a warm solver.

    `middle` and `spread` break ties: nearest to the middle, in units of the spread. A climb ends
    when all rows are met with margins of `enough` tolerances, when CRAWLING passes together gain
    less than `crawl`, or when the solver can't tell a step from none. With `second_order`, a step
    spoilt by the rows' curvature is corrected before it is shortened.
    """

    rows_at: RowsAt
    lower: Array
    upper: Array
    middle: Array
    spread: Array
    solver: LinearSolver = field(default_factory=LinearSolver)
    passes: int = PASSES
    enough: float = np.inf
    crawl: float = 0.0
    second_order: bool = False

    def climb(self, x: Array, rows: Rows | None = None) -> Peak:
        """Return the peak reached from `x`; `rows` replace x's own in the first program."""
        return self._met(x, lambda at: Rows.of(self.rows_at(at)), rows)

    def evenly_out(self, peak: Peak) -> Peak:
        """Return the point with leximin margins, climbing from `peak`.

        First the smallest margin is raised; then, with that one held, the next smallest, and so on.
        If the margins leave a choice, distances to the middle are reduced in the same way.
        """
        held: dict[int, float] = {}
        tie = False
        while not self._settled(peak.rows, held):
            binding = np.flatnonzero(peak.rows.margin & (abs(peak.optimum.duals) > LEAST_DUAL))
            if not len(binding):
                if tie:
                    break
                tie = True
            held.update((int(i), peak.level) for i in binding)
            higher = self._met(peak.x, partial(self._rows, held=held, tie=tie))
            if peak.meets_targets and not higher.meets_targets:
                break
            peak = higher
        return peak

    def _met(self, x: Array, rows_at: Callable[[Array], Rows], rows: Rows | None = None) -> Peak:
        """Return the peak reached from `x`, at higher prices if the usual ones trade a row away."""
        peak = self._climb(x, rows_at, rows)
        if peak.meets_targets or peak.error > SOLD:
            return peak

        def dearer(at: Array) -> Rows:
            cheap = rows_at(at)
            return replace(cheap, price=DEARER * cheap.price)

        again = self._climb(peak.x, dearer)
        return again if again.meets_targets else peak

    def _climb(self, x: Array, rows_at: Callable[[Array], Rows], rows: Rows | None = None) -> Peak:
        x = np.clip(x, self.lower, self.upper)
        rows = rows_at(x) if rows is None else rows
        merit, reach, past = rows.merit(x), np.inf, list[float]()
        optimum = self.solver.best(rows, self.lower, self.upper)
        for _ in range(self.passes):
            promised = optimum.objective - merit
            step = float(np.max(np.abs(optimum.x - x), initial=0.0))
            if promised <= max(WORTH, -HOPELESS * merit) or step <= 1e-13:
                break
            if merit >= self.enough and Peak(x, rows, optimum).meets_targets:
                break
            past.append(merit)
            if len(past) > CRAWLING and merit - past[-1 - CRAWLING] < self.crawl:
                break
            to, there = self._step(rows_at, rows, optimum, merit + 0.75 * promised)
            rise = there.merit(to) - merit
            if rise < 0.25 * promised:
                reach = step / 4
            elif rise > 0.75 * promised:
                reach = max(reach, 2 * step)
            if rise > 0.0:
                x, rows, merit = to, there, merit + rise
            elif reach <= SOLVER:
                break
            optimum = self.solver.best(
                rows, np.maximum(self.lower, x - reach), np.minimum(self.upper, x + reach)
            )
        return Peak(x, rows, optimum)

    def _step(
        self, rows_at: Callable[[Array], Rows], rows: Rows, optimum: Optimum, merit: float
    ) -> tuple[Array, Rows]:
        """Return the point that a program leads to, and its rows; `rows` are the program's.

        With `second_order`, as long as violated rows keep the point below `merit`, it moves the
        shortest way onto the binding rows, as linearised there: Fletcher, Practical Methods of
        Optimization, 2nd ed. (1987), section 14.4; from memory.
        """
        x, there = optimum.x, rows_at(optimum.x)
        free, equations = self.lower < self.upper, rows.lower == rows.upper
        bind = (equations | (abs(optimum.duals) > LEAST_DUAL)) & ~rows.margin
        for _ in range(CORRECTED if self.second_order else 0):
            if there.matrix.shape != rows.matrix.shape or there.merit(x) >= merit:
                break
            ends = np.where(np.isfinite(there.lower), there.lower, there.upper)
            missing, matrix = (ends - there.matrix @ x)[bind], there.matrix[np.ix_(bind, free)]
            if there.price[bind] @ abs(missing) <= 0.25 * (merit - there.merit(x)):
                break
            to = x.copy()
            to[free] += np.linalg.lstsq(matrix, missing, rcond=PARALLEL)[0]
            to = np.clip(to, self.lower, self.upper)
            beside = rows_at(to)
            if beside.merit(to) <= there.merit(x):
                break
            x, there = to, beside
        return x, there

    def _rows(self, x: Array, held: Held, *, tie: bool) -> Rows:
        """Return the rows at `x` with some margins held, and the tie-breaking rows as the last."""
        rows = list(self.rows_at(x))
        if tie:
            for j in np.flatnonzero(self.spread > 0.0):
                unit, spread = np.eye(len(x))[j], float(self.spread[j])
                for sign in (1.0, -1.0):
                    middle = sign * float(self.middle[j])
                    rows.append(LinearRow(Name("middle"), sign * unit, middle, np.inf, spread))
        for i, level in held.items():
            row = rows[i]
            tolerance = row.tolerance or 1.0
            rows[i] = LinearRow(
                row.name,
                row.coefficients,
                row.lower + tolerance * (level - MARGIN),
                np.inf,
                price=HELD_PRICE / tolerance,
            )
        return Rows.of(rows)

    def _settled(self, rows: Rows, held: Held) -> bool:
        """Whether the held rows, the equations and the fixed columns determine the point."""
        equations, given = np.flatnonzero(rows.lower == rows.upper), self.lower == self.upper
        if len(equations) + len(held) + int(np.sum(given)) < len(given):
            return False
        fixed = np.eye(len(given))[given]
        active = np.vstack([rows.matrix[[*equations, *held]], fixed])
        size = np.linalg.norm(active, axis=1, keepdims=True)
        scaled = active / np.where(size > 0.0, size, 1.0)
        return int(np.linalg.matrix_rank(scaled, tol=1e-9)) >= len(given)

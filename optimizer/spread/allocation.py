"""The tolerances that hold the variance of each figure at least cost.

The cost of a tolerance is its price ÷ its width: half as wide costs twice as much. With slopes
a (f, d) and the sources' correlation R,

    minimise   Σ price_i ÷ t_i
    such that  Σ_ik a_ji t_i R_ik a_jk t_k ≤ allowed_j²    for each figure j
               least ≤ t ≤ most

is convex. Where only one figure's variance holds independent sources, t_i ∝ (price_i ÷ a_i²)^⅓.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final, NamedTuple

import numpy as np

from shared.arrays import Array
from shared.errors import SolverError
from shared.tolerances import SOLVER

ROOM: Final = 1e-4
"""The relative room above the least tolerances that the solver needs."""


@dataclass(frozen=True, eq=False)
class ToleranceProgram:
    """Tolerances t (d,), as standard deviations of the sources, that hold f figures.

    `slopes` (f, d) are the figures' derivatives in the sources, `correlation` (d, d) the sources'.
    All of `price`, `least` and `most` (d,) are positive.
    """

    slopes: Array
    correlation: Array
    price: Array
    least: Array
    most: Array

    @cached_property
    def _roots(self) -> list[Array]:
        """For each figure, a matrix (., d) that makes a vector as long as its sd of t ÷ most."""
        roots = []
        for slope in self.slopes * self.most:
            own = slope != 0.0
            root = np.zeros((int(own.sum()), len(slope)))
            root[:, own] = np.linalg.cholesky(self.correlation[np.ix_(own, own)]).T * slope[own]
            roots.append(root)
        return roots

    def sd(self, tolerances: Array) -> Array:
        """Return the standard deviation of each figure (f,), to first order."""
        share = tolerances / self.most
        return np.array([float(np.linalg.norm(root @ share)) for root in self._roots])

    def cost(self, tolerances: Array) -> float:
        """Return the cost of tolerances (d,)."""
        return float(np.sum(self.price / tolerances))

    def cheapest(self, allowed: Array) -> Array:
        """Return the cheapest tolerances (d,) that hold each figure's sd to what is `allowed` (f,).

        Where the least tolerances don't hold it, what they make of it is allowed. Raises
        SolverError unless the program is solved.
        """
        stated, least = self._stated, self.sd(self.least)
        limits = np.maximum(allowed, least * (1.0 + ROOM)) / stated.sizes
        scale = min(1.0, float(limits.min()))
        stated.limits.value = limits / scale
        stated.low.value, stated.high.value = self.least / self.most / scale, 1.0 / scale
        accuracy = dict.fromkeys(("tol_gap_abs", "tol_gap_rel", "tol_feas"), SOLVER)
        with warnings.catch_warnings():
            warnings.simplefilter(
                "ignore", UserWarning
            )  # an inaccurate answer is still a candidate
            stated.problem.solve(solver="CLARABEL", **accuracy)
        if stated.share.value is None:
            raise SolverError(f"no tolerances of least cost were found: {stated.problem.status}")
        return np.asarray(np.clip(stated.share.value * scale * self.most, self.least, self.most))

    @cached_property
    def _stated(self) -> _Stated:
        import cvxpy as cp  # noqa: PLC0415 - heavy: only where tolerances are sought

        price = self.price / self.most
        share = cp.Variable(len(price))
        limits = cp.Parameter(len(self.slopes), nonneg=True)
        low, high = cp.Parameter(len(price), nonneg=True), cp.Parameter(nonneg=True)
        sizes = np.maximum(self.sd(self.most), np.finfo(float).tiny)
        held = [
            cp.norm(root / size @ share) <= limits[j]
            for j, (root, size) in enumerate(zip(self._roots, sizes, strict=True))
            if len(root)
        ]
        cost = cp.Minimize(price / price.sum() @ cp.inv_pos(share))
        problem = cp.Problem(cost, [*held, share >= low, share <= high])
        return _Stated(problem, share, limits, low, high, sizes)


class _Stated(NamedTuple):
    """The program in cvxpy; its variable is t ÷ most ÷ a scale that keeps its numbers near one.

    `limits` are measured in `sizes`, the figures' standard deviations at `most`.
    """

    problem: Any
    share: Any
    limits: Any
    low: Any
    high: Any
    sizes: Array

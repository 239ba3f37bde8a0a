"""How far a population is spread, learned from measurements of some of its members.

    y = X m + Σⱼ τⱼ Zⱼ uⱼ + e,    uⱼ ~ (0, 1),    e ~ (0, R)

The standard deviations τ maximise the likelihood of what the unknown means m leave of y (restricted
maximum likelihood; Patterson and Thompson, 1971, from memory). An interval holds what the
likelihood, with the other τ at their best, doesn't rule out at 95 %. Estimates of the members
won't do for y: a prior has drawn them together. What was measured does. Where the data tell only
a sum of several variances, each interval begins at 0, and its `sd` is one of many as likely.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from shared.arrays import Array
from shared.errors import SolverError

ALLOWED: Final = 1.920729410347062
"""What a log likelihood may lie below its largest: half of the 95 % quantile of χ² (1)."""
WIDEST: Final = 1e3
"""Times the assumed spread: what reaches it has no upper end."""
STARTS: Final = (1.0, 0.2, 4.0)
"""Times the assumed spread, where the search begins."""
ENDS: Final = 1e-4
"""The relative accuracy of an interval's ends."""


@dataclass(frozen=True)
class Learned:
    """A standard deviation with its 95 % interval; `high` is inf where the data set no end."""

    sd: float
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class Members:
    """What was measured: `values` y (n,) of variance `covariance` R (n, n), which has an inverse.

    `means` X (n, p) are the derivatives of y in the unknown means, `effects` Zⱼ (n, qⱼ) those in
    the deviations of each kind: a column for each member, a batch or a ball.
    """

    values: Array
    covariance: Array
    means: Array
    effects: Sequence[Array]

    @cached_property
    def _contrasts(self) -> Array:
        """What no mean moves: orthonormal rows (., n)."""
        U, s, _ = np.linalg.svd(self.means)
        rank = int(np.count_nonzero(s > 1e-10 * s.max(initial=0.0)))
        return U[:, rank:].T

    @cached_property
    def _reduced(self) -> tuple[Array, Array, list[Array]]:
        K = self._contrasts
        ZZ = [K @ Z @ Z.T @ K.T for Z in self.effects]
        return K @ self.values, K @ self.covariance @ K.T, ZZ

    def log_likelihood(self, sds: Array) -> tuple[float, Array]:
        """Return it for the standard deviations `sds` (j,), but for a constant, and its slopes."""
        y, R, ZZ = self._reduced
        V = R + sum((sd**2 * Z for sd, Z in zip(sds, ZZ, strict=True)), np.zeros_like(R))
        root = np.linalg.cholesky(V)
        inverse = np.linalg.inv(V)
        weighed = inverse @ y
        value = -float(np.sum(np.log(np.diag(root)))) - float(y @ weighed) / 2.0
        slopes = [
            sd * float(weighed @ Z @ weighed - np.vdot(inverse, Z))
            for sd, Z in zip(sds, ZZ, strict=True)
        ]
        return value, np.array(slopes)

    def likeliest(self, start: Array, held: Sequence[int] = ()) -> tuple[Array, float]:
        """Return the likeliest standard deviations (j,) near `start`, and their log likelihood.

        `start` (j,) is more than 0, but for the `held`, which stay as they are there.
        Raises SolverError if the search fails.
        """
        from scipy.optimize import minimize  # noqa: PLC0415 - heavy: only where it is asked

        free, sds = np.setdiff1d(np.arange(len(start)), held), np.array(start, dtype=float)

        def less(share: Array) -> tuple[float, Array]:
            sds[free] = share * start[free]
            value, slopes = self.log_likelihood(sds)
            return -value, -slopes[free] * start[free]

        share = np.ones(len(free))
        if len(free):
            share = minimize(
                less,
                share,
                jac=True,
                bounds=[(0.0, WIDEST)] * len(free),
                options={"ftol": 1e-12, "gtol": 1e-7},
            ).x
        value = -less(share)[0]
        if not np.isfinite(value):
            raise SolverError("the likeliest spreads were not found")
        return sds, value

    def learned(self, assumed: Array) -> list[Learned]:
        """Return each standard deviation (j,) with its interval.

        `assumed` (j,), more than 0, says where to begin. Raises ValueError where too few were
        measured: the means alone explain every value.
        """
        if not len(self._contrasts):
            raise ValueError("nothing shows a spread: too few were measured")
        searches = [self.likeliest(assumed * start) for start in STARTS]
        sds, most = max(searches, key=lambda search: search[1])
        return [
            Learned(float(sds[j]), *self._interval(j, sds, most, assumed)) for j in range(len(sds))
        ]

    def _interval(self, j: int, sds: Array, most: float, assumed: Array) -> tuple[float, float]:
        from scipy.optimize import brentq  # noqa: PLC0415 - heavy: only where it is asked

        sd, size = float(sds[j]), float(assumed[j])
        near = np.maximum(sds, assumed * min(STARTS))

        def room(at: float) -> float:
            near[j] = at
            return self.likeliest(near, [j])[1] - most + ALLOWED

        low, high = 0.0, max(sd, size * min(STARTS))
        if room(0.0) < 0.0:
            low = float(brentq(room, 0.0, sd, rtol=ENDS, xtol=ENDS * sd))
        while room(high) > 0.0:
            if high >= WIDEST * size:
                return low, np.inf
            high *= 2.0
        return low, float(brentq(room, sd, high, rtol=ENDS, xtol=ENDS * high))

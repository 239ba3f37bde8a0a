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
class _Blocked:
    """Values (b, m, 1) in b blocks of m, with V = B + W Wᵀ: B (b, m, m) is within blocks.

    A block that has fewer values is filled up by zeros of variance 1. `common` columns and those
    of the `effects`, (Zⱼ Zⱼᵀ within blocks, Zⱼ across), make up W. With the means X, orthonormal,
    and M = [X W]ᵀ B⁻¹ [X W] + diag(0, 1), |V| |Xᵀ V⁻¹ X| = |B| |M| (Henderson's equations, 1950,
    from memory).
    """

    values: Array
    covariance: Array
    means: Array
    common: Array
    effects: Sequence[tuple[Array, Array]]

    def log_likelihood(self, sds: Array) -> tuple[float, Array]:
        """Return it for the standard deviations (j,), but for a constant, and its slopes."""
        B = self.covariance + sum(
            sd**2 * within for sd, (within, _) in zip(sds, self.effects, strict=True)
        )
        across = [sd * columns for sd, (_, columns) in zip(sds, self.effects, strict=True)]
        W = np.concatenate([self.means, self.common, *across], axis=2)
        inverse = np.linalg.inv(B)
        BW, By, y = inverse @ W, inverse @ self.values, self.values
        M = _product(W, BW)
        M[np.diag_indices(len(M))] += np.arange(len(M)) >= self.means.shape[2]
        middle = np.linalg.inv(M)
        weighed = By - BW @ (middle @ _product(W, By))
        value = -(_log_root(B) + _log_root(M) + float(np.vdot(y, weighed)) / 2.0)
        left = inverse - BW @ middle @ BW.transpose(0, 2, 1)
        slopes = []
        for sd, (within, columns) in zip(sds, self.effects, strict=True):
            seen, pull = _product(columns, BW), _product(columns, weighed)
            slope = np.vdot(weighed, within @ weighed) + np.vdot(pull, pull)
            slope += np.vdot(seen @ middle, seen) - np.vdot(columns, inverse @ columns)
            # np.vdot of so many numbers starts threads that wait longer than they work.
            slopes.append(sd * float(slope - np.sum(left * within)))
        return value, np.array(slopes)


def _product(left: Array, right: Array) -> Array:
    """Return Leftᵀ Right of matrices whose rows are laid out in blocks (b, m, …)."""
    size = left.shape[0] * left.shape[1]
    return np.asarray(left.reshape(size, -1).T @ right.reshape(size, -1))


def _log_root(matrices: Array) -> float:
    """Return half the sum of the logarithms of the determinants of matrices (…, m, m)."""
    roots = np.linalg.cholesky(matrices)
    return float(np.sum(np.log(np.diagonal(roots, axis1=-2, axis2=-1))))


@dataclass(frozen=True, eq=False)
class Members:
    """What was measured: `values` y (n,) of variance `covariance` R (n, n), which has an inverse.

    `means` X (n, p) are the derivatives of y in the unknown means, `effects` Zⱼ (n, qⱼ) those in
    the deviations of each kind: a column for each member, a batch or a ball. `known` (n, r) is
    what else values have in common, by one standard deviation of each. `blocks` (n,) number
    the values; R has nothing between two blocks. It is fast if few columns are in several.
    """

    values: Array
    covariance: Array
    means: Array
    effects: Sequence[Array]
    known: Array | None = None
    blocks: Array | None = None

    @cached_property
    def _means(self) -> Array:
        """Orthonormal columns (n, rank) that span the means'."""
        U, s, _ = np.linalg.svd(self.means, full_matrices=False)
        return U[:, : int(np.count_nonzero(s > 1e-10 * s.max(initial=0.0)))]

    @cached_property
    def _blocked(self) -> _Blocked:
        numbers = np.zeros(len(self.values), int) if self.blocks is None else self.blocks
        of = np.unique(numbers, return_inverse=True)[1]
        rows = np.zeros((of.max(initial=-1) + 1, np.bincount(of).max(initial=0)), int)
        real = np.zeros(rows.shape, bool)
        for block in range(len(rows)):
            own = np.flatnonzero(of == block)
            rows[block, : len(own)], real[block, : len(own)] = own, True

        def laid(columns: Array) -> Array:
            return np.asarray(np.where(real[..., None], columns[rows], 0.0))

        def parted(columns: Array) -> tuple[Array, Array]:
            """Return Σ z zᵀ of the columns within one block (b, m, m), and the others."""
            every = laid(columns)
            touched = np.count_nonzero(np.any(every != 0.0, axis=1), axis=0)
            own = every[..., touched <= 1]
            return own @ own.transpose(0, 2, 1), every[..., touched > 1]

        R = np.where(
            real[:, :, None] & real[:, None, :],
            self.covariance[rows[:, :, None], rows[:, None, :]],
            np.eye(rows.shape[1]),
        )
        none = np.zeros((len(self.values), 0))
        known = none if self.known is None else self.known
        effects = [parted(Z) for Z in self.effects]
        return _Blocked(laid(self.values[:, None]), R, laid(self._means), laid(known), effects)

    def log_likelihood(self, sds: Array) -> tuple[float, Array]:
        """Return it for the standard deviations `sds` (j,), but for a constant, and its slopes."""
        return self._blocked.log_likelihood(sds)

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
                method="SLSQP",  # L-BFGS-B's small steps start threads, too
                bounds=[(0.0, WIDEST)] * len(free),
                options={"ftol": 1e-12},
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
        if self._means.shape[1] == len(self.values):
            raise ValueError("nothing shows a spread: too few were measured")
        searches = [self.likeliest(assumed * start) for start in STARTS]
        sds, most = max(searches, key=lambda search: search[1])
        return [
            Learned(float(sds[j]), *self._interval(j, sds, most, assumed)) for j in range(len(sds))
        ]

    def together(self, found: Sequence[Learned]) -> tuple[int, ...]:
        """Return the numbers of the kinds of which some vary, and nothing tells which.

        `found` is what was learned. Each of them alone may be 0, but not all of them.
        """
        unsure = [j for j, each in enumerate(found) if each.low == 0.0]
        sds = np.array([each.sd for each in found])
        most = self.log_likelihood(sds)[0]
        sds[unsure] = 0.0
        alone = self.likeliest(sds, unsure)[1] - most + ALLOWED < 0.0
        return tuple(unsure) if alone else ()

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

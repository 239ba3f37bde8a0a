"""Measurements that must satisfy linear balances, adjusted to do so.

Data reconciliation as in VDI 2048 part 1 (from memory): of all values that satisfy the balances,
the adjusted ones are nearest to what was measured, each correction counted in its uncertainty.
What the balances ask is solved in uncorrelated coordinates of unit variance, by one singular value
decomposition: redundant balances and quantities known exactly need no special case.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import numpy as np

from shared.arrays import Array

CONFIDENCE: Final = 0.95
BEYOND: Final = 1.959963984540054
"""Standard deviations that a normal quantity stays within at that confidence."""
TOGETHER: Final = 0.95
"""Quantities correlated by more than this, either way, can't be told apart."""
NEARLY: Final = 0.75
"""Of the largest standardised correction: one nearly as large."""
LIKELIER: Final = 20.0
"""Times: one error that is likelier than another by more can be told from it."""
RANK: Final = 1e-12
"""Of the largest singular value: what rounding leaves of none."""
CLOSED: Final = 1e-9
"""Of the terms of a balance: what rounding leaves of it."""


@dataclass(frozen=True, eq=False)
class Gaussian:
    """Quantities that are jointly normal: their `mean` (n,) and `covariance` (n, n)."""

    mean: Array
    covariance: Array

    @classmethod
    def independent(cls, mean: Array, sd: Array) -> Gaussian:
        """Return quantities of these means and standard deviations (n,), uncorrelated."""
        return cls(np.asarray(mean, dtype=float), np.diag(np.square(sd)))

    @classmethod
    def joined(cls, *parts: Gaussian) -> Gaussian:
        """Return all quantities of these, which are independent of each other, in order."""
        from scipy.linalg import block_diag  # noqa: PLC0415 - heavy: only where it is asked

        mean = np.concatenate([part.mean for part in parts])
        return cls(mean, block_diag(*(part.covariance for part in parts)))

    def only(self, which: slice) -> Gaussian:
        """Return some of the quantities."""
        return Gaussian(self.mean[which], self.covariance[which, which])

    @cached_property
    def sd(self) -> Array:
        """The standard deviations (n,)."""
        return np.asarray(np.sqrt(np.maximum(np.diag(self.covariance), 0.0)))

    @property
    def intervals(self) -> Array:
        """The 95 % interval of each quantity (n, 2)."""
        return self.mean[:, None] + BEYOND * np.outer(self.sd, [-1.0, 1.0])

    @property
    def correlation(self) -> Array:
        """The correlations (n, n): 0 with what doesn't vary."""
        sd = np.where(self.sd > 0.0, self.sd, np.inf)
        return np.asarray(self.covariance / np.outer(sd, sd))

    @property
    def inseparable(self) -> list[tuple[int, int]]:
        """The pairs of quantities that can't be told apart: correlated beyond TOGETHER."""
        first, second = np.nonzero(np.triu(np.abs(self.correlation) > TOGETHER, 1))
        return list(zip(first.tolist(), second.tolist(), strict=True))

    @cached_property
    def root(self) -> Array:
        """A matrix L (n, n) with L Lᵀ = covariance. Raises ValueError if there is none."""
        values, vectors = np.linalg.eigh(self.correlation)
        if np.any(values < -CLOSED * len(values)):
            raise ValueError("no quantities have this covariance: it has a negative variance")
        return np.asarray(self.sd[:, None] * vectors * np.sqrt(np.maximum(values, 0.0)))


@dataclass(frozen=True)
class GlobalTest:
    """Whether corrections are as small as the uncertainties say: χ² with `freedom` degrees."""

    statistic: float
    freedom: int
    confidence: float = CONFIDENCE

    def among(self, count: int) -> GlobalTest:
        """Return it as one of `count` independent tests, all of which pass with that confidence."""
        return replace(self, confidence=self.confidence ** (1.0 / count))

    @property
    def limit(self) -> float:
        """The quantile of χ² at its confidence, 95 %; 0 where nothing is redundant."""
        from scipy.stats import chi2  # noqa: PLC0415 - heavy: only where it is asked

        return float(chi2.ppf(self.confidence, self.freedom)) if self.freedom else 0.0

    @property
    def passed(self) -> bool:
        """Whether the measurements agree, or nothing could show that they don't."""
        return self.statistic <= self.limit or not self.freedom


@dataclass(frozen=True, eq=False)
class Adjustment:
    """Quantities before and after their balances; `corrected` (n, n): corrections' covariance."""

    before: Gaussian
    after: Gaussian
    corrected: Array
    test: GlobalTest

    @property
    def corrections(self) -> Array:
        """What was added to each quantity (n,)."""
        return self.after.mean - self.before.mean

    @cached_property
    def standardised(self) -> Array:
        """The corrections (n,) in standard deviations of their own: 0 where nothing checks one."""
        sd = np.sqrt(np.maximum(np.diag(self.corrected), 0.0))
        checked = sd > np.sqrt(RANK) * self.before.sd
        return np.asarray(np.where(checked, self.corrections / np.where(checked, sd, 1.0), 0.0))

    @property
    def by_others(self) -> Array:
        """What each quantity (n,) would be by all the others; NaN where nothing checks it.

        Holds of quantities that were uncorrelated before.
        """
        share = np.where(self.standardised == 0.0, np.nan, np.diag(self.corrected))
        return np.asarray(self.before.mean + self.corrections * self.before.sd**2 / share)

    @cached_property
    def explains(self) -> Array:
        """Whether the test would pass (n,) without each quantity alone."""
        without = replace(self.test, freedom=max(self.test.freedom - 1, 0))
        return np.asarray(self.test.statistic - self.standardised**2 <= max(without.limit, CLOSED))

    @property
    def suspects(self) -> tuple[int, ...]:
        """The quantities, one of which may be wrong, where the global test fails.

        Where one alone explains the failure, they are the likeliest one and all that it is not
        LIKELIER than; else the one of the largest standardised correction, and all nearly as large.
        None, although the test fails, where no correction is beyond 95 %. Without a quantity, the
        test's statistic is less by its standardised correction's square; the likelihood goes with
        exp(-statistic ÷ 2).
        """
        sizes = np.abs(self.standardised)
        if self.test.passed or sizes.max() <= BEYOND:
            return ()
        as_likely = sizes.max() ** 2 - sizes**2 <= 2.0 * np.log(LIKELIER)
        alike = as_likely if self.explains.any() else sizes >= NEARLY * sizes.max()
        return tuple(np.flatnonzero(alike & (sizes > BEYOND)).tolist())


def adjusted(measured: Gaussian, balances: Array, constants: Array) -> Adjustment:
    """Return quantities x (n,) adjusted to `balances` (k, n) x = `constants` (k,).

    Raises ValueError where no values within the quantities' variances satisfy the balances.
    """
    rows = balances @ measured.root
    sizes = np.linalg.norm(rows, axis=1)
    sizes[sizes == 0.0] = 1.0
    closing = (constants - balances @ measured.mean) / sizes
    U, s, Vt = np.linalg.svd(rows / sizes[:, None], full_matrices=False)
    rank = int(np.count_nonzero(s > RANK * s.max(initial=0.0)))
    explained = U[:, :rank].T @ closing
    terms = (np.abs(balances) @ np.abs(measured.mean) + np.abs(constants)) / sizes
    if np.any(np.abs(closing - U[:, :rank] @ explained) > CLOSED * (terms.max(initial=0.0) + 1.0)):
        raise ValueError("the balances contradict each other, or quantities that are known exactly")
    shares = explained / s[:rank]
    moved = measured.root @ Vt[:rank].T
    left = measured.root - moved @ Vt[:rank]
    after = Gaussian(measured.mean + moved @ shares, left @ left.T)
    return Adjustment(measured, after, moved @ moved.T, GlobalTest(float(shares @ shares), rank))

"""Parameters estimated from measurements of what they make, and from what was known before.

With parameters θ ~ (θ₀, P) and measurements y = h(θ) + e, e ~ (0, R), both θ₀ and y are quantities
that were measured, and y − h(θ) = 0 balances them: `adjustment` does the rest. Where h isn't
linear, it is linearised again at each estimate (Gauss and Newton), until that stands still.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final, TypeAlias

import numpy as np

from optimizer.spread.adjustment import Adjustment, Gaussian, GlobalTest, adjusted
from shared.arrays import Array

MOST: Final = 50
"""Linearisations."""
STILL: Final = 1e-6
"""Standard deviations of its own that an estimate may still move by."""
SHORTEST: Final = 2.0**-20
"""The shortest share of a step that is tried."""
SEEN: Final = 1e-10
"""Of a misfit and 1: a smaller change is rounding."""

Model: TypeAlias = Callable[[Array], tuple[Array, Array]]
"""h(θ) (m,) of parameters θ (d,), and its derivative (m, d)."""


@dataclass(frozen=True, eq=False)
class Estimate:
    """Parameters by what was known and measured; of a linear model, exactly normal.

    `settled` is False where the linearisations didn't come to rest: then it is no estimate.
    """

    prior: Gaussian
    adjustment: Adjustment
    slopes: Array
    settled: bool

    @cached_property
    def parameters(self) -> Gaussian:
        """The parameters (d,) with their uncertainty."""
        return self.adjustment.after.only(slice(self._d))

    @property
    def _d(self) -> int:
        return len(self.prior.mean)

    @property
    def narrowed(self) -> Array:
        """The sd of each parameter (d,) over its sd before: 1 where the data tell nothing of it."""
        before = self.prior.sd
        fixed = before == 0.0
        return np.asarray(np.where(fixed, 1.0, self.parameters.sd / np.where(fixed, 1.0, before)))

    @property
    def test(self) -> GlobalTest:
        """Whether measurements, and what was known before, agree."""
        return self.adjustment.test

    def among(self, count: int) -> Estimate:
        """Return it with its test as one of `count`, see GlobalTest."""
        adjustment = replace(self.adjustment, test=self.test.among(count))
        return replace(self, adjustment=adjustment)

    @property
    def shifts(self) -> Array:
        """By how much each parameter (d,) left what was known before, standardised."""
        return self.adjustment.standardised[: self._d]

    @property
    def residuals(self) -> Array:
        """By how much each measurement (m,) should read more, standardised."""
        return self.adjustment.standardised[self._d :]

    @property
    def by_others(self) -> Array:
        """What each measurement (m,) would read by all else, where all are independent."""
        return self.adjustment.by_others[self._d :]

    @property
    def suspects(self) -> tuple[int, ...]:
        """The measurements, one of which may be wrong, unless a parameter of `unlikely` is."""
        return tuple(k - self._d for k in self.adjustment.suspects if k >= self._d)

    @property
    def unlikely(self) -> tuple[int, ...]:
        """The parameters that may not be as was known before, where something doesn't fit."""
        return tuple(k for k in self.adjustment.suspects if k < self._d)


def estimated(prior: Gaussian, measured: Gaussian, model: Model) -> Estimate:
    """Return the estimate of the parameters (d,) of `prior` from what was measured (m,).

    Raises ValueError for covariances that can't be, or unless every measurement has a variance.
    """
    if np.any(measured.sd == 0.0):
        raise ValueError("a measurement without any uncertainty")
    joint, d = Gaussian.joined(prior, measured), len(prior.mean)
    inverse = np.asarray(np.linalg.pinv(joint.correlation, hermitian=True), dtype=float)
    parameters = prior.mean
    value, slopes = model(parameters)
    settled = False
    for _ in range(MOST):
        balances = np.hstack([-slopes, np.eye(len(value))])
        adjustment = adjusted(joint, balances, value - slopes @ parameters)
        move = adjustment.after.mean[:d] - parameters
        settled = bool(np.all(np.abs(move) <= STILL * adjustment.after.sd[:d]))
        share = 1.0
        misfit = _misfit(joint, inverse, parameters, value)
        while not settled and share >= SHORTEST:
            value, slopes = model(parameters + share * move)
            still = misfit + SEEN * (misfit + 1.0)
            if _misfit(joint, inverse, parameters + share * move, value) < still:
                break
            share /= 2.0
        if settled or share < SHORTEST:
            break
        parameters = parameters + share * move
    return Estimate(prior, adjustment, slopes, settled)


def _misfit(joint: Gaussian, inverse: Array, parameters: Array, value: Array) -> float:
    """Return χ² of parameters and of what they make, by the inverse of their correlation.

    NaN where they make nothing.
    """
    off = np.concatenate([parameters, value]) - joint.mean
    if not np.all(np.isfinite(off)):
        return np.nan
    size = np.where(joint.sd > 0.0, joint.sd, 1.0)
    return float(off / size @ inverse @ (off / size))

"""The shop's bias: by how much its pours come out denser than aimed at, in every ball alike.

Before anything is measured, COMMON of each density's variance from batch to batch is taken to be
common to all batches of a part, and the rest to be the batch's own. So of what was off in n balls
whose densities are known exactly, n ÷ (n + 1) is taken for bias: half of it after one ball, nearly
all after many. What isn't measured well moves it less.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from optimizer.questions.reconcile.finding import Reconciled
from optimizer.questions.reconcile.stack import Stack
from optimizer.spread.adjustment import BEYOND
from optimizer.spread.estimation import Estimate
from shared.arrays import Array

COMMON: Final = 0.5
"""The share of a density's variance that is common to all batches, before any is measured."""


@dataclass(frozen=True)
class Bias:
    """By how much a part comes out denser than aimed at, g/cm³: estimate and standard deviation.

    `before` is the standard deviation before anything was measured.
    """

    part: str
    mean: float
    sd: float
    before: float

    @property
    def interval(self) -> tuple[float, float]:
        """Its 95 % interval."""
        return self.mean - BEYOND * self.sd, self.mean + BEYOND * self.sd

    @property
    def shown(self) -> bool:
        """Whether the measurements show that there is one: 0 lies outside its interval."""
        low, high = self.interval
        return low > 0.0 or high < 0.0


def biases(found: Reconciled) -> tuple[Bias, ...]:
    """Return the bias of each part whose density varies from batch to batch."""
    before = _before(found)
    parts = list(before)
    if not parts:
        return ()
    prior = np.array([before[part] for part in parts])
    weight, pull = np.diag(1.0 / prior**2), np.zeros(len(parts))
    for stack, estimate in zip(found.stacks, found.estimates, strict=True):
        information, score = _told(stack, estimate, parts)
        weight, pull = weight + information, pull + score
    covariance = np.linalg.inv(weight)
    mean, sd = covariance @ pull, np.sqrt(np.diag(covariance))
    return tuple(
        Bias(part, float(mean[k]), float(sd[k]), float(prior[k])) for k, part in enumerate(parts)
    )


def _before(found: Reconciled) -> dict[str, float]:
    """Return each part's standard deviation of its bias before: of all parts of balls measured."""
    return {
        str(input_.of): float(np.sqrt(COMMON) * input_.law.sd)
        for stack in found.stacks
        for input_ in stack.inputs
        if input_.kind == "density"
    }


def _told(stack: Stack, estimate: Estimate, parts: Sequence[str]) -> tuple[Array, Array]:
    """Return what the readings of balls tell of the bias: information (p, p), and score (p,).

    The readings are linear at the estimate; what is each ball's own is part of their variance.
    """
    own = np.array([input_.kind == "density" for input_ in stack.inputs])
    to_bias = np.zeros((len(own), len(parts)))
    for k, input_ in enumerate(stack.inputs):
        if input_.kind == "density":
            to_bias[k, parts.index(str(input_.of))] = 1.0
    at = estimate.parameters.mean
    values, slopes = stack.model(at)
    off = stack.measured.mean - values + slopes @ at
    rest = np.where(own, np.sqrt(1.0 - COMMON), 1.0)
    covariance = stack.prior.covariance * np.outer(rest, rest)
    variance = slopes @ covariance @ slopes.T + stack.measured.covariance
    rows = slopes @ to_bias
    weighed = np.linalg.solve(variance, np.column_stack([rows, off]))
    return rows.T @ weighed[:, :-1], rows.T @ weighed[:, -1]

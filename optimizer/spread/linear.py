"""The answer to first order: figures that are linear in their sources.

With slopes S (f, d) the figures' covariance is S C Sᵀ. Of independent sources the shares of a
variance are (slope · sd)² ÷ variance: they add up to 1. Of correlated ones Shapley's shares do
(Song, Nelson and Staum, 2016; from memory): the mean, over all orders of the sources, of what each
adds to the variance that is explained. Groups that are independent of each other are shared alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from math import comb

import numpy as np

from shared.arrays import Array

MOST = 12
"""Correlated sources of one group that are shared exactly: 2¹² sets of them."""


def variance_shares(slopes: Array, covariance: Array) -> Array:
    """Return the share (d,) of each source in the variance of a figure with `slopes` (d,).

    Zeros where the figure doesn't vary. Raises ValueError for a group of more than MOST sources
    that are correlated.
    """
    total = float(slopes @ covariance @ slopes)
    shares = np.zeros(len(slopes))
    if total <= 0.0:
        return shares
    for group in _groups(covariance):
        own = covariance[np.ix_(group, group)]
        shares[group] = _shapley(slopes[group], own) / total
    return shares


def _groups(covariance: Array) -> list[list[int]]:
    """Return the groups of sources that are correlated with each other, directly or not."""
    linked = covariance != 0.0
    left, groups = set(range(len(covariance))), list[list[int]]()
    while left:
        group, new = set[int](), {min(left)}
        while new:
            group |= new
            new = {int(j) for i in new for j in np.flatnonzero(linked[i])} - group
        groups.append(sorted(group))
        left -= group
    return groups


def _shapley(slopes: Array, covariance: Array) -> Array:
    """Return what each source of one group adds to the variance, by Shapley's value."""
    d = len(slopes)
    if d == 1:
        return np.asarray(slopes**2 * covariance[0])
    if d > MOST:
        raise ValueError(f"at most {MOST} sources may be correlated with each other")
    explained = {
        members: _explained(slopes, covariance, members)
        for size in range(d + 1)
        for members in combinations(range(d), size)
    }
    values = np.zeros(d)
    for i in range(d):
        for members, known in explained.items():
            if i not in members:
                more = tuple(sorted((*members, i)))
                values[i] += (explained[more] - known) / (d * comb(d - 1, len(members)))
    return values


def _explained(slopes: Array, covariance: Array, members: Sequence[int]) -> float:
    """Return the variance of the figure's mean, given these sources: of normals."""
    if not members:
        return 0.0
    with_figure = covariance[list(members)] @ slopes
    own = covariance[np.ix_(members, members)]
    return float(with_figure @ np.linalg.lstsq(own, with_figure, rcond=1e-12)[0])


def joint_share(mean: Array, covariance: Array, low: Array, high: Array) -> float:
    """Return the probability that normal figures (f,) all lie between `low` and `high`.

    Genz's integration (1992), as scipy has it. A figure that doesn't vary is inside or outside.
    """
    from scipy.stats import multivariate_normal  # noqa: PLC0415 - heavy

    sd = np.sqrt(np.maximum(np.diag(covariance), 0.0))
    varies = sd > 0.0
    if not np.all((low <= mean) & (mean <= high) | varies):
        return 0.0
    held = varies & (np.isfinite(low) | np.isfinite(high))
    if not held.any():
        return 1.0
    scale = sd[held]
    ends = (low[held] - mean[held]) / scale, (high[held] - mean[held]) / scale
    correlation = covariance[np.ix_(held, held)] / np.outer(scale, scale)
    law = multivariate_normal(np.zeros(len(scale)), correlation, allow_singular=True, seed=1)
    inside = law.cdf(ends[1], lower_limit=ends[0])
    return float(np.clip(inside, 0.0, 1.0))

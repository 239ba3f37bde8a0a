"""All corners of a polytope of densities: a box cut by one equation, then by one limit at a time.

The double description method (Motzkin, Raiffa, Thompson, Thrall, "The double description method",
Contributions to the Theory of Games II, 1953; from memory), started from the box, where the corners
are known: all densities but one at an end of their range, the last one by the equation.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from shared.arrays import Array, Index, Mask

ON = 1e-9
"""Slack, relative to a row's size on the box, below which a corner is on the row."""
MOST = 4000
"""Corners above which the polytope is not enumerated: another method is faster."""
WIDEST = 12
"""Free densities above which the same holds."""


@dataclass(frozen=True, eq=False)
class Cuts:
    """Half-spaces: slope (r, n) · ρ ≥ bound (r,)."""

    slope: Array
    bound: Array


@dataclass(frozen=True, eq=False)
class Polytope:
    """Corners (k, n), which of the rows each one lies on (k, 2n + r), and its edges (e, 2).

    The rows are the n lower ends, the n upper ends, then the cuts. A degenerate face may add one of
    its chords to the edges: the chord still lies in the polytope.
    """

    corners: Array
    on: Mask

    @property
    def edges(self) -> Index:
        """Pairs of corners (e, 2) that share as many rows as an edge needs."""
        n = self.corners.shape[1]
        common = _common(self.on, self.on)
        return np.argwhere(np.triu(common >= n - 2, 1))


def polytope(lower: Array, upper: Array, slope: Array, total: float, cuts: Cuts) -> Polytope | None:
    """Return the polytope lower ≤ ρ ≤ upper, slope · ρ = total, kept by all `cuts`.

    `slope` (n,) is positive, lower < upper. No corners where it is empty; None where it is too
    large to enumerate.
    """
    n = len(lower)
    if n > WIDEST:
        return None
    at, last = _choices(n)
    corners = np.where(at, upper, lower)
    each = np.arange(len(corners))
    corners[each, last] = 0.0
    free = (total - corners @ slope) / slope[last]
    reach = ON * (upper - lower)[last]
    inside = (free >= lower[last] - reach) & (free <= upper[last] + reach)
    corners[each, last] = np.clip(free, lower[last], upper[last])
    corners = corners[inside]
    span = upper - lower
    on = np.hstack([corners - lower <= ON * span, upper - corners <= ON * span])
    corners, on = _distinct(corners, on)
    least = np.minimum(cuts.slope * lower, cuts.slope * upper).sum(axis=1)
    sizes = np.abs(cuts.slope) @ span
    sizes[sizes == 0.0] = 1.0
    for k in np.flatnonzero(least - cuts.bound < -ON * sizes):  # the box keeps the others
        corners, on = _cut(corners, on, (corners @ cuts.slope[k] - cuts.bound[k]) / sizes[k])
        if len(corners) > MOST:
            return None
    return Polytope(corners, on)


@lru_cache(maxsize=16)
def _choices(n: int) -> tuple[Mask, Index]:
    """Return which densities are at their upper end (k, n), and the one the equation gives (k,)."""
    bits = np.arange(2 ** (n - 1))[:, None] >> np.arange(n - 1) & 1
    at = np.vstack([np.insert(bits.astype(bool), j, values=False, axis=1) for j in range(n)])
    return at, np.repeat(np.arange(n), 2 ** (n - 1))


def _cut(corners: Array, on: Mask, slack: Array) -> tuple[Array, Mask]:
    """Return the corners that remain when a row is added; `slack` (k,) is theirs to it."""
    touches = np.abs(slack) <= ON
    outside, inside = np.flatnonzero(slack < -ON), np.flatnonzero(slack > ON)
    on = np.column_stack([on, touches])
    if not len(outside):
        return corners, on
    n = corners.shape[1]
    pairs = np.argwhere(_common(on[inside], on[outside]) >= n - 2)
    i, o = inside[pairs[:, 0]], outside[pairs[:, 1]]
    part = (slack[i] / (slack[i] - slack[o]))[:, None]
    new = corners[i] + part * (corners[o] - corners[i])
    new_on = on[i] & on[o]
    new_on[:, -1] = True
    kept = slack >= -ON
    return _distinct(np.vstack([corners[kept], new]), np.vstack([on[kept], new_on]))


def _common(a: Mask, b: Mask) -> Array:
    """Return how many rows each pair of corners shares."""
    return np.asarray(a.astype(np.float64) @ b.T.astype(np.float64))


def _distinct(corners: Array, on: Mask) -> tuple[Array, Mask]:
    """Return the corners without copies; copies pool their rows."""
    if len(corners) < 2:
        return corners, on
    packed = np.round(corners, 9) + 0.0
    order = np.lexsort(packed.T)
    fresh = np.any(np.diff(packed[order], axis=0) != 0.0, axis=1)
    if np.all(fresh):
        return corners, on
    starts = np.flatnonzero(np.concatenate([[True], fresh]))
    return corners[order[starts]], np.logical_or.reduceat(on[order], starts, axis=0)

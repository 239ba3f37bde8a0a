"""Almost closest points of two surfaces, refined to rounding."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.rows import Aligned
from geometry.surfaces.cells import Cells
from geometry.surfaces.surface import Surface
from shared.arrays import Array, Index

STEPS = 20
"""The most Newton steps; from nearby, four suffice."""
LENGTHS = (1.0, 0.3, 0.1, 0.01)
"""The fractions of each step that are tried."""
APART = 1e-5
"""The step in u and v for the curvature by finite differences."""
NEAR = 1e-3
"""Of a patch: if a bound this close would stop a step, the step goes to the bound."""
LEVEL = 1e-12
"""cm². A slope of ½|q − p|² in u or v that counts as 0."""
ROUNDING = 1e-13
"""Squared distances with a relative difference less than this are equal."""


@dataclass(frozen=True, eq=False)
class Ends(Aligned):
    """Points p of one surface and q of the other (k, 3), and the slope (k, 4) of ½|q − p|².

    The slope is in u and v of the first, then of the second; 0 where a bound is active.
    """

    p: Array
    q: Array
    slope: Array

    @property
    def value(self) -> Array:
        """½|q − p|², (k,)."""
        return np.asarray(((self.q - self.p) ** 2).sum(axis=1) / 2)


def settled(first: Surface, second: Surface, a: Cells, b: Cells) -> tuple[Array, Array]:
    """Return the closest points (k, 3) of the two surfaces, starting from the middles of cells.

    By Newton's method within their patches; only steps that bring the points closer are made.
    """
    x = np.hstack([a.middle, b.middle])
    pairs = Pairs(first, second, a.patch, b.patch)
    now = pairs.ends(x)
    for _ in range(STEPS):
        if np.all(np.abs(now.slope) < LEVEL):
            break
        step = pairs.step(x, now)
        moved = np.zeros(len(x), dtype=bool)
        for length in LENGTHS:
            trial = pairs.within(x + np.where(moved, 0.0, length)[:, None] * step)
            there = pairs.ends(trial)
            nearer = there.value < now.value * (1 - ROUNDING)
            settles = np.linalg.norm(there.slope, axis=1) < np.linalg.norm(now.slope, axis=1)
            good = ~moved & (nearer | (settles & (there.value <= now.value * (1 + ROUNDING))))
            x = np.where(good[:, None], trial, x)
            both = zip(there.arrays, now.arrays, strict=True)
            now = Ends(*(np.where(good[:, None], new, old) for new, old in both))
            moved |= good
            if moved.all():
                break
        if not moved.any():
            break
    return now.p, now.q


@dataclass(frozen=True, eq=False)
class Pairs:
    """Patches of two surfaces in pairs, a (k,) with b (k,)."""

    first: Surface
    second: Surface
    a: Index
    b: Index

    def _bounds(self) -> tuple[Array, Array]:
        """Return the bounds on u, v, u, v: infinite for v of a closed patch."""
        free = np.zeros((len(self.a), 4), dtype=bool)
        free[:, 1], free[:, 3] = self.first.closed[self.a], self.second.closed[self.b]
        return np.where(free, -np.inf, 0.0), np.where(free, np.inf, 1.0)

    def within(self, x: Array) -> Array:
        """Return `x` (k, 4), moved to the nearest point of its patches."""
        return np.clip(x, *self._bounds())

    def ends(self, x: Array) -> Ends:
        """Return the ends of the pairs at `x` (k, 4)."""
        p, q, slope = self._free(x)
        low, high = self._bounds()
        stopped = ((x <= low) & (slope > 0)) | ((x >= high) & (slope < 0))
        return Ends(p, q, np.where(stopped, 0.0, slope))

    def _free(self, x: Array) -> tuple[Array, Array, Array]:
        """Return p, q and the slope at `x` (m·k, 4), all pairs m times; without bounds."""
        times, unit = len(x) // len(self.a), np.ones((len(x), 2))
        a = self.first.view(Cells(np.tile(self.a, times), x[:, :2], unit))
        b = self.second.view(Cells(np.tile(self.b, times), x[:, 2:], unit))
        gap = b.points - a.points
        slope = [-np.einsum("nij,nj->ni", a.spans, gap), np.einsum("nij,nj->ni", b.spans, gap)]
        return a.points, b.points, np.hstack(slope)

    def step(self, x: Array, now: Ends) -> Array:
        """Return Newton's step (k, 4): downhill in every direction that isn't flat.

        A variable that a nearby bound would stop goes to the bound; the step is in the others.
        """
        aside = np.concatenate([APART * np.eye(4), -APART * np.eye(4)])
        slopes = self._free((x + aside[:, None]).reshape(-1, 4))[2].reshape(2, 4, len(x), 4)
        H = ((slopes[0] - slopes[1]) / (2 * APART)).transpose(1, 0, 2)
        H = (H + H.transpose(0, 2, 1)) / 2
        low, high = self._bounds()
        away = np.where(now.slope > 0, low, high) - x
        away = np.where((now.slope != 0) & (np.abs(away) < NEAR), away, 0.0)
        away[np.abs(np.diagonal(H, axis1=1, axis2=2) * away) >= np.abs(now.slope)] = 0.0
        free = (now.slope != 0) & (away == 0)
        slope = np.where(free, now.slope + np.einsum("kij,kj->ki", H, away), 0.0)
        bend, axes = np.linalg.eigh(np.where(free[:, :, None] & free[:, None], H, 0.0))
        bend = np.abs(bend)
        level = bend <= 1e-9 * bend.max(axis=1, keepdims=True)
        down = np.einsum("kji,kj->ki", axes, slope) / np.where(level, 1.0, bend)
        step = np.einsum("kij,kj->ki", axes, np.where(level, 0.0, -down))
        return np.where(free, step, away)

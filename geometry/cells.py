"""Cells of a surface's patches: how they are cut, and bounds on where each of them lies."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.rows import Rows
from shared.arrays import Array, Index, Mask


@dataclass(frozen=True, eq=False)
class Cells(Rows):
    """Pieces of patches: which patch (n,), and middle and half width (n, 2) in its u and v."""

    patch: Index
    middle: Array
    half: Array

    def halved(self, axis: Index, which: Mask) -> tuple[Cells, Index]:
        """Cut the cells of `which` (n,) across their parameter `axis` (n,).

        Returns the cells, the second halves after all the others, and of which each was part.
        """
        cut = np.flatnonzero(which)
        half, step = self.half.copy(), np.zeros_like(self.half)
        half[cut, axis[cut]] /= 2
        step[cut, axis[cut]] = half[cut, axis[cut]]
        origin = np.concatenate([np.arange(len(self)), cut])
        middle = np.concatenate([self.middle - step, self.middle[cut] + step[cut]])
        return Cells(self.patch[origin], middle, half[origin]), origin


@dataclass(frozen=True, eq=False)
class View(Rows):
    """What is known of n cells: every point of a cell is p + s·spans[0] + t·spans[1] + e.

    `points` (n, 3) are the middles, `spans` (n, 2, 3) the way to the cell's edge along u and v,
    |s| and |t| at most 1. The length of e is at most the sum of `rest` (n, 2), the share of u and
    that of v: Taylor's bound.
    """

    points: Array
    spans: Array
    rest: Array

    def shares(self, direction: Array) -> Array:
        """Return how far u and v (n, 2) each take the cell along unit `direction` (n, 3)."""
        return np.asarray(np.abs(np.einsum("nij,nj->ni", self.spans, direction)) + self.rest)

    @property
    def radius(self) -> Array:
        """A radius (n,) around the middle that holds the cell."""
        return np.asarray(np.linalg.norm(self.spans, axis=2).sum(axis=1) + self.rest.sum(axis=1))

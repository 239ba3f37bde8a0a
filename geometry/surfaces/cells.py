"""Cells of a surface's patches: bounds on each, and pairs of them that may be close."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain
from typing import TYPE_CHECKING, Final

import numpy as np

from geometry.nearest import tree_of
from geometry.rows import Aligned
from geometry.surfaces.boxes import BATCH, MOST, TOO_FINE, Boxes, near
from shared.arrays import Array, Index, Mask
from shared.errors import InputError

if TYPE_CHECKING:
    from scipy.spatial import cKDTree

ALL: Final = 400_000
"""Up to this many pairs are all tested: a tree isn't worth it."""


@dataclass(frozen=True, eq=False)
class Cells(Aligned):
    """Pieces of patches: the patch (n,), and the middle and half width (n, 2) in its u and v."""

    patch: Index
    middle: Array
    half: Array

    def halved(self, axis: Index, which: Mask) -> tuple[Cells, Index]:
        """Halve the cells of `which` (n,) across their parameter `axis` (n,).

        Returns the cells, the second halves after all others, and the original cell of each.
        """
        cut = np.flatnonzero(which)
        half, step = self.half.copy(), np.zeros_like(self.half)
        half[cut, axis[cut]] /= 2
        step[cut, axis[cut]] = half[cut, axis[cut]]
        origin = np.concatenate([np.arange(len(self)), cut])
        middle = np.concatenate([self.middle - step, self.middle[cut] + step[cut]])
        return Cells(self.patch[origin], middle, half[origin]), origin


@dataclass(frozen=True, eq=False)
class View(Aligned):
    """Bounds on n cells: every point of a cell is p + s·spans[0] + t·spans[1] + e.

    `points` (n, 3) are the middles, `spans` (n, 2, 3) the vectors to the cell's edge along u and v,
    |s| and |t| at most 1. The length of e is at most the sum of `rest` (n, 2), the remainders of u
    and v in Taylor's theorem.
    """

    points: Array
    spans: Array
    rest: Array

    @property
    def boxes(self) -> Boxes:
        """A tree of the boxes around the cells."""
        wide = np.abs(self.spans).sum(axis=1) + self.rest.sum(axis=1)[:, None]
        return Boxes(self.points, self.points - wide, self.points + wide)

    def shares(self, direction: Array) -> Array:
        """Return the extents (n, 2) of the cell in u and v along unit `direction` (n, 3)."""
        return np.asarray(np.abs(np.einsum("nij,nj->ni", self.spans, direction)) + self.rest)

    @property
    def radius(self) -> Array:
        """The radius (n,) of a ball around the middle that holds the cell."""
        return np.asarray(np.linalg.norm(self.spans, axis=2).sum(axis=1) + self.rest.sum(axis=1))


def near_pairs(first: View, second: View, reach: float = 0.0) -> tuple[Index, Index]:
    """Return the pairs (n,), (n,) of cells that may be nearest, or up to `reach` (cm) farther.

    Raises InputError if there are too many.
    """
    count, others = len(first.points), len(second.points)
    if count * others <= ALL:
        i, j = np.divmod(np.arange(count * others), others)
        return i, j
    i, j = near(first.boxes, second.boxes, reach=reach)
    limit = float(np.min(np.linalg.norm(second.points[j] - first.points[i], axis=1))) + reach
    batches = (slice(k, k + BATCH) for k in range(0, len(i), BATCH))
    close = np.concatenate([bounds(first, second, i[k], j[k]) <= limit for k in batches])
    order = np.lexsort((j[close], i[close]))
    return i[close][order], j[close][order]


def nearest_middle(tree: cKDTree, points: Array) -> Array:
    """Return the distance (n,) of each of `points` (n, 3) from the nearest point in `tree`."""
    return np.asarray(tree.query(points)[0])


def pairs_within(points: Array, bound: Array, second: View) -> tuple[Index, Index]:
    """Return pairs of points (n, 3) and cells, at least those closer than `bound` (n,), cm."""
    return Sought(second.points, second.radius).within(points, bound)


class Sought:
    """A search structure for balls, given by middles and radii: a tree for each size."""

    def __init__(self, middles: Array, radius: Array) -> None:
        size = np.floor(np.log2(np.maximum(radius, 1e-12))).astype(np.intp)
        groups = [np.flatnonzero(size == power) for power in np.unique(size)]
        self._groups = [(g, float(radius[g].max()), tree_of(middles[g])) for g in groups]

    def within(self, points: Array, bound: Array) -> tuple[Index, Index]:
        """Return pairs of points (n, 3) and balls, as `pairs_within` does."""
        pairs, total = [], 0
        for cells, radius, tree in self._groups:
            within = bound + radius
            counts = tree.query_ball_point(points, within, return_length=True)
            total += int(counts.sum())
            if total > MOST:
                raise InputError([TOO_FINE])
            lists = tree.query_ball_point(points, within, return_sorted=False)
            j = np.fromiter(chain.from_iterable(lists), dtype=np.intp, count=int(counts.sum()))
            pairs.append((np.repeat(np.arange(len(points)), counts), cells[j]))
        i, j = (np.concatenate(of) for of in zip(*pairs, strict=True))
        return i, j


def bounds(first: View, second: View, i: Index, j: Index) -> Array:
    """Return lower bounds (n,), cm, on the distance between the cells of each pair."""
    across = second.points[j] - first.points[i]
    distance = np.linalg.norm(across, axis=1)
    w = across / np.where(distance > 0, distance, 1)[:, None]
    return np.asarray(distance - first[i].shares(w).sum(axis=1) - second[j].shares(w).sum(axis=1))

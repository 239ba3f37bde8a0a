"""Every place where two surfaces come close: the local minima of their distance.

Pairs of cells show where they may be. Around each, the least distance is found by branch and bound
and refined by Newton's method; places that aren't local minima are then dropped.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from geometry.rows import apart
from geometry.surfaces.cells import Cells, near_pairs
from geometry.surfaces.surface import Surface
from geometry.walls.between_surfaces import nearest
from geometry.walls.closest_points import settled
from geometry.walls.support_functions import Gap
from shared.arrays import Array, Index

FINE = 1e-5
"""cm. The error at which the search for one place stops, before it is refined."""
CELLS = 2048
"""Cells that are tested, or one per patch."""
PAIRS = 20_000
"""Pairs of cells that are tested, the nearest first."""
MANY = 400
"""The most cells around a place that are searched."""
PLACES = 40
"""The most places that are searched."""
SAME = 1e-3
"""cm. Places whose ends are closer than this are the same."""


def surface_walls(part: Surface, other: Surface, *, nested: bool, reach: float) -> list[Gap]:
    """Return the walls where a part and its host (`nested`) or its neighbour come close.

    These are from `closest`, except where the line between the two points crosses a body.
    """
    gaps = []
    for p, q in zip(*closest(part, other, reach), strict=True):
        way = p + np.array([[1e-3], [0.5], [1 - 1e-3]]) * (q - p)
        if not part.inside(way).any() and np.all(other.inside(way) == nested):
            thickness = float(np.linalg.norm(q - p))
            gaps.append(Gap(thickness, 0.0, p, (q - p) / thickness))
    return gaps


def closest(first: Surface, second: Surface, reach: float) -> tuple[Array, Array]:
    """Return the points (k, 3) of either surface where their distance has a local minimum.

    Those within `reach` (cm) of the least, the least first. If two curves are parallel for a
    stretch, its ends count too; for surfaces, some places on it. One of two minima closer together
    than the cells' size may be missed. The surfaces must not cross.
    """
    count = 48 if first.curve else 16
    a, b = first.about(CELLS, count), second.about(CELLS, count)
    wide = 2.5 * max(first.view(a).radius.max(), second.view(b).radius.max())
    seek = Seek(first, second, reach, wide)
    pairs = [(a, b)]
    if first.curve:
        pairs += [(_ends(a), b), (a, _ends(b))]
    p, q = seek.least([Near(*cells, *seek.seeds(*cells)) for cells in pairs])
    length = np.linalg.norm(q - p, axis=1)
    order = np.argsort(np.round(length, 9), kind="stable")
    order = order[length[order] <= length.min() + reach]
    order = order[apart(np.hstack([p[order], q[order]]), SAME)]
    p, q, length = p[order], q[order], length[order]
    around = seek.least([Near(a, b, p, q)])
    least = np.linalg.norm(around[1] - around[0], axis=1) > length - 2 * FINE
    return p[least], q[least]


def _ends(cells: Cells) -> Cells:
    """Return the two ends of each patch of curves, as cells of no size."""
    patches = np.unique(cells.patch)
    at = np.tile([[0.0, 0.5], [1.0, 0.5]], (len(patches), 1))
    return Cells(np.repeat(patches, 2), at, np.zeros_like(at))


class Near(NamedTuple):
    """Points `p` and `q` (k, 3) of two surfaces near some places, and cells of each around them."""

    a: Cells
    b: Cells
    p: Array
    q: Array


@dataclass(frozen=True)
class Seek:
    """A search: two surfaces, a reach, and the radius `wide` of a place's surroundings, cm."""

    first: Surface
    second: Surface
    reach: float
    wide: float

    def seeds(self, a: Cells, b: Cells) -> tuple[Array, Array]:
        """Return the middles (k, 3) of cells `a` and `b` that may be close, a pair for each place.

        The nearest first; other pairs around them are left out.
        """
        view_a, view_b = self.first.view(a), self.second.view(b)
        p, q = view_a.points, view_b.points
        i, j = near_pairs(view_a, view_b, self.reach)
        distance = np.linalg.norm(p[i] - q[j], axis=1)
        close = distance - view_a.radius[i] - view_b.radius[j] <= distance.min() + self.reach
        i, j, distance = i[close], j[close], distance[close]
        order = np.argsort(distance, kind="stable")[:PAIRS]
        i, j = i[order], j[order]
        seeds = apart(np.hstack([p[i], q[j]]), self.wide)[:PLACES]
        return p[i[seeds]], q[j[seeds]]

    def least(self, places: Sequence[Near]) -> tuple[Array, Array]:
        """Return the points (k, 3) where the cells around each of the `places` are closest.

        All are searched at once: each step is a few small array calls, whose number counts.
        """
        cells_a, cells_b, groups = list[Cells](), list[Cells](), list[Index]()
        count = 0
        for a, b, p, q in places:
            middles, others = self.first.view(a).points, self.second.view(b).points
            for x, y in zip(p, q, strict=True):
                i, j = _around(middles, x, self.wide), _around(others, y, self.wide)
                i, j = np.repeat(i[None], len(j), 0).ravel(), np.repeat(j, len(i))
                cells_a.append(a[i])
                cells_b.append(b[j])
                groups.append(np.full(len(i), count))
                count += 1
        a, b = Cells.joined(cells_a), Cells.joined(cells_b)
        near = nearest(self.first, self.second, a, b, np.concatenate(groups), tolerance=FINE)
        return settled(self.first, self.second, *near.places)


def _around(middles: Array, point: Array, wide: float) -> Index:
    """Return which of `middles` (n, 3) are around a point, at most the nearest MANY."""
    distance = np.linalg.norm(middles - point, axis=1)
    around = np.flatnonzero(distance <= wide)
    return around[np.argsort(distance[around], kind="stable")[:MANY]]

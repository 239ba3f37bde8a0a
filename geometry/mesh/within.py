"""Which points are within a closed surface of triangles, and their distance from it."""

from __future__ import annotations

from functools import cached_property
from typing import Final

import numpy as np

from shared.arrays import Array, Index, Mask

PAIRS: Final = 2_000_000
"""Pairs of point and triangle that are tested at a time."""
ASIDE: Final = np.array([0.3713, 0.5291, 0.7630])
"""The direction of rays: along no side of a drawn block."""


class Within:
    """The test for a closed surface: the ray of a point inside leaves it once more than it enters.

    Seen along the ray, each edge is a line, and both its triangles agree on which side of it a
    point is; a point level with a vertex or on an edge counts as infinitesimally higher, then
    farther right. So no ray slips between two triangles or hits both.
    """

    def __init__(self, vertices: Array, faces: Index) -> None:
        n = ASIDE / np.linalg.norm(ASIDE)
        e = np.cross(n, [0.0, 0.0, 1.0])
        e /= np.linalg.norm(e)
        self._axes = np.stack([e, np.cross(n, e), n], axis=1)
        self._corners = (vertices @ self._axes)[faces]

    @cached_property
    def _grid(self) -> tuple[Array, Array, Index, Index]:
        """The grid's corner, its cells per cm (2,), and the triangles over each cell."""
        flat = self._corners[:, :, :2]
        low, high = flat.min(axis=(0, 1)), flat.max(axis=(0, 1))
        side = max(16, int(np.sqrt(2 * len(flat))))
        per = side / np.maximum(high - low, np.finfo(float).tiny)
        first = np.clip(((flat.min(axis=1) - low) * per).astype(np.intp), 0, side - 1)
        last = np.clip(((flat.max(axis=1) - low) * per).astype(np.intp), 0, side - 1)
        wide = last - first + 1
        count = wide.prod(axis=1)
        triangle = np.repeat(np.arange(len(flat)), count)
        step = np.arange(len(triangle)) - np.repeat(np.cumsum(count) - count, count)
        x, y = first[triangle].T + np.stack(np.divmod(step, wide[triangle, 1]))
        cell = x * side + y
        starts = np.concatenate([[0], np.cumsum(np.bincount(cell, minlength=side * side))])
        return np.array([*low, side]), per, triangle[np.argsort(cell, kind="stable")], starts

    def __call__(self, points: Array) -> Mask:
        """Return which of `points` (n, 3) are within."""
        placed = points @ self._axes
        (*low, side), per, triangles, starts = self._grid
        at = np.floor((placed[:, :2] - low) * per).astype(np.intp)
        on = np.flatnonzero(np.all((at >= 0) & (at < side), axis=1))
        cell = at[on, 0] * int(side) + at[on, 1]
        many = starts[cell + 1] - starts[cell]
        winding = np.zeros(len(points), dtype=np.intp)
        batch = np.cumsum(many) // PAIRS
        for k in range(int(batch[-1]) + 1 if len(batch) else 0):
            ours = batch == k
            count = many[ours]
            point = np.repeat(on[ours], count)
            step = np.arange(len(point)) - np.repeat(np.cumsum(count) - count, count)
            triangle = triangles[np.repeat(starts[cell[ours]], count) + step]
            passed = _above(placed[point], self._corners[triangle])
            winding += np.bincount(point, passed, len(points)).astype(np.intp)
        return winding > 0


def _above(p: Array, corners: Array) -> Index:
    """Return how rays up from `p` (k, 3) cross `corners` (k, 3, 3): out 1, in −1, not at all 0."""
    turns = np.zeros(len(p), dtype=np.intp)
    for i in range(3):
        a, b = corners[:, i], corners[:, (i + 1) % 3]
        up = (a[:, 1] <= p[:, 1]) & (b[:, 1] > p[:, 1])
        down = (b[:, 1] <= p[:, 1]) & (a[:, 1] > p[:, 1])
        low, high = np.where(up[:, None], a, b), np.where(up[:, None], b, a)
        left = _twice(low, high, p) > 0
        turns += (up & left).astype(np.intp) - (down & left).astype(np.intp)
    hit = np.flatnonzero(turns)
    a, b, c = corners[hit].transpose(1, 0, 2)
    shares = np.stack([_twice(b, c, p[hit]), _twice(c, a, p[hit]), _twice(a, b, p[hit])], axis=1)
    whole = shares.sum(axis=1)
    z = np.einsum("ki,ki->k", shares, corners[hit, :, 2]) / np.where(whole == 0, 1.0, whole)
    turns[hit[z <= p[hit, 2]]] = 0
    return turns


def _twice(a: Array, b: Array, p: Array) -> Array:
    """Return twice the signed area of triangles a, b, p as seen from above."""
    return np.asarray(
        (b[:, 0] - a[:, 0]) * (p[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (p[:, 0] - a[:, 0])
    )


def distance(points: Array, corners: Array) -> Array:
    """Return the distance (k,) of points (k, 3) from the nearest of triangles (m, 3, 3)."""
    each = max(1, 500_000 // len(corners))  # pairs at a time
    batches = [_nearest(points[k : k + each], corners) for k in range(0, len(points), each)]
    return np.concatenate([np.empty(0), *batches])


def _nearest(points: Array, corners: Array) -> Array:
    """Return the same for few points: the distance to a triangle's plane, or to its sides."""
    sides = np.roll(corners, -1, axis=1) - corners
    normal = np.cross(sides[:, 0], sides[:, 1])
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    seen = points[:, None, None] - corners
    along = np.einsum("kmij,mij->kmi", seen, sides) / np.einsum("mij,mij->mi", sides, sides)
    foot = seen - np.clip(along, 0.0, 1.0)[..., None] * sides
    to_sides = np.linalg.norm(foot, axis=3).min(axis=2)
    inward = np.cross(normal[:, None], sides)
    above = np.all(np.einsum("kmij,mij->kmi", seen, inward) >= 0.0, axis=2)
    to_plane = np.abs(np.einsum("kmj,mj->km", seen[:, :, 0], normal))
    return np.asarray(np.where(above, to_plane, to_sides).min(axis=1))

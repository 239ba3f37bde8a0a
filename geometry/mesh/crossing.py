"""Triangles that cross or overlap, found by a tree of boxes."""

from __future__ import annotations

from typing import Final

import numpy as np

from geometry.mesh.edges import normal, unit
from geometry.surfaces.boxes import Boxes, near
from shared.arrays import Array, Mask

LEVEL: Final = 1e-6
"""Of the solid's size: smaller crossings are rounding in the file."""


def crossing(corners: Array) -> Array:
    """Return a point (k, 3) for each pair of triangles (m, 3, 3) that cross or share an area."""
    level = LEVEL * float(np.ptp(corners.reshape(-1, 3), axis=0).max())
    tree = Boxes.around(corners)
    pairs = np.stack(near(tree, tree, within=0.0), axis=1)
    n = normal(corners)
    for _ in range(2):  # both ways: neither may lie on one side of the other
        i, j = pairs.T
        d = np.einsum("kij,kj->ki", corners[j] - corners[i, :1], n[i])
        parted = (d.min(axis=1) >= -level) | (d.max(axis=1) <= level)
        together = np.abs(d).max(axis=1) <= level
        pairs = pairs[~parted | together][:, ::-1]
    i, j = pairs.T
    d = np.abs(np.einsum("kij,kj->ki", corners[j] - corners[i, :1], n[i])).max(axis=1)
    on = d <= level
    places = [_lying(corners[i[on]], corners[j[on]], level)]
    a, b = corners[i[~on]], corners[j[~on]]
    for first, second in ((a, b), (b, a)):
        places += [_pierced(first[:, k], first[:, (k + 1) % 3], second, level) for k in range(3)]
    return np.concatenate(places)


def _pierced(start: Array, end: Array, through: Array, level: float) -> Array:
    """Return where lines (k, 3) pierce triangles (k, 3, 3), more than `level` from their sides."""
    a, n = through[:, 0], normal(through)
    s, t = np.einsum("ij,ij->i", start - a, n), np.einsum("ij,ij->i", end - a, n)
    crosses = (np.minimum(s, t) < -level) & (np.maximum(s, t) > level)
    start, end, through, n, s, t = (of[crosses] for of in (start, end, through, n, s, t))
    p = start + (s / (s - t))[:, None] * (end - start)
    within = np.ones(len(p), dtype=bool)
    for k in range(3):
        within &= _out(through[:, k], through[:, (k + 1) % 3], n, p) < -level
    return np.asarray(p[within])


def _out(a: Array, b: Array, n: Array, p: Array) -> Array:
    """Return how far (k,) points lie outside the side from a to b of triangles with normal n."""
    return np.asarray(np.einsum("ij,ij->i", p - a, unit(np.cross(b - a, n))))


def _lying(a: Array, b: Array, level: float) -> Array:
    """Return where coplanar triangles (k, 3, 3) overlap: no side separates them."""
    apart: Mask = np.zeros(len(a), dtype=bool)
    for first, second in ((a, b), (b, a)):
        n = normal(first)
        for k in range(3):
            off = [_out(first[:, k], first[:, (k + 1) % 3], n, second[:, c]) for c in range(3)]
            apart |= np.min(off, axis=0) >= -level
    return np.asarray((a.mean(axis=1) + b.mean(axis=1))[~apart] / 2)

"""How far points are from triangles, exactly."""

from __future__ import annotations

from typing import Final

import numpy as np

from shared.arrays import Array

PAIRS: Final = 500_000
"""So many pairs of a point and a triangle are looked at in one go."""


def distance(points: Array, corners: Array) -> Array:
    """Return the distance (k,) of points (k, 3) from the nearest of triangles (m, 3, 3)."""
    each = max(1, PAIRS // len(corners))
    some = [_nearest(points[k : k + each], corners) for k in range(0, len(points), each)]
    return np.concatenate([np.empty(0), *some])


def _nearest(points: Array, corners: Array) -> Array:
    """Return the same, of few points: to a triangle's plane above it, else to one of its sides."""
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

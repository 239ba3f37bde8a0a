"""What triangles miss of a smooth surface that they stand for: an estimate from their angles.

A surface that is met at the corners of a triangle of area A stands out of it, on the whole, by the
volume A/24 · Σ eᵀH e over its three sides e, H the surface's curvature (the mean of a quadratic
over a triangle, less that over its corners). Along a side, eᵀH e is how far the surface's normal
leans forward from one end to the other, (n₂ − n₁)·e. The normal at a corner is the mean of the
triangles around it, by their areas and their angles there, as far as no sharp edge parts them:
large ones stand where the surface bends little, as on the barrel of a capsule beside its ends.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from geometry.mesh.edges import Joins, grouped
from geometry.moments import Moments
from shared.arrays import Array, Index

SHARP: Final = np.radians(31.0)
"""rad. A sharper edge is one of the solid's own; a round surface in 12 flats has 30°."""


def missed(corners: Array, faces: Index, joins: Joins) -> Moments:
    """Return the moments of what triangles `corners` (m, 3, 3) miss, negative where they hold more.

    They add to the solid's own. An estimate: of an even sphere within a hundredth of the truth, of
    spheres, capsules, rings, domes and cylinders as they are drawn within a factor of two.
    """
    normals = _normals(corners, faces, joins)
    after = [1, 2, 0]
    sides, lean = corners[:, after] - corners, normals[:, after] - normals
    area = np.linalg.norm(np.cross(sides[:, 0], sides[:, 1]), axis=1) / 2
    volume = area / 24 * np.einsum("mij,mij->m", lean, sides)
    p = np.concatenate([corners, np.ones((len(area), 3, 1))], axis=2)
    arms = np.concatenate([p.sum(axis=1), p[:, 0], p[:, 1], p[:, 2]])  # spread evenly, as mass is
    return Moments((arms.T * np.tile(volume, 4)) @ arms / 12)


def _normals(corners: Array, faces: Index, joins: Joins) -> Array:
    """Return the surface's unit normal (m, 3, 3) at each corner of each triangle."""
    sides = corners[:, [1, 2, 0]] - corners
    flat = np.cross(sides[:, 0], sides[:, 1])
    back = -sides[:, [2, 0, 1]]
    angles = np.arctan2(
        np.linalg.norm(np.cross(sides, back), axis=2), np.einsum("mij,mij->mi", sides, back)
    )
    group = _fans(faces, joins).ravel()
    weighted = (angles[:, :, None] * flat[:, None]).reshape(-1, 3)
    total = np.column_stack([np.bincount(group, weighted[:, k]) for k in range(3)])
    total = total / np.maximum(np.linalg.norm(total, axis=1, keepdims=True), np.finfo(float).tiny)
    return np.asarray(total[group].reshape(-1, 3, 3))


def _fans(faces: Index, joins: Joins) -> Index:
    """Return which fan each corner (m, 3) is in: at one vertex, with no sharp edge between."""
    smooth = joins.angle < SHARP
    pairs = []
    for end in (0, 1):
        vertex = joins.vertices[smooth, end]
        at = [
            3 * face + np.argmax(faces[face] == vertex[:, None], axis=1)
            for face in joins.faces[smooth].T
        ]
        pairs.append(np.column_stack(at))
    return grouped(np.concatenate(pairs), faces.size).reshape(faces.shape)

"""The edges of a closed surface of triangles, and what these miss of a smooth surface.

This is estimated from angles. A surface through the corners of a triangle of area A encloses the
extra volume A/24 · Σ eᵀH e over its three sides e, H the surface's curvature (the mean of a
quadratic over a triangle, less that over its corners). Along a side, eᵀH e is the change of the
surface's normal, (n₂ − n₁)·e. The normal at a corner is the mean over the triangles around it,
weighted by area and angle, up to the nearest sharp edge: large ones are where the surface bends
little, as on the barrel of a capsule next to its ends.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from geometry.moments import Moments
from shared.arrays import Array, Index

SHARP: Final = np.radians(31.0)
"""rad. A sharper edge belongs to the solid; a round surface in 12 flats has 30°."""


class Joins(NamedTuple):
    """The k edges where two triangles meet.

    `vertices` (k, 2)  the ends, in the first triangle's order
    `faces`    (k, 2)  the two triangles
    `angle`    (k,)    between their normals, rad; 0 if coplanar
    `rise`     (k,)    the height of the second's opposite corner above the first's plane, cm
    """

    vertices: Index
    faces: Index
    angle: Array
    rise: Array


def joins(vertices: Array, faces: Index) -> Joins:
    """Return the edges of a closed surface of consistently oriented triangles."""
    count = len(faces)
    start, end = faces.ravel(), faces[:, [1, 2, 0]].ravel()
    face = np.repeat(np.arange(count), 3)
    apex = faces[:, [2, 0, 1]].ravel()
    there = np.flatnonzero(start < end)
    back = np.flatnonzero(start > end)
    there = there[np.lexsort((end[there], start[there]))]
    back = back[np.lexsort((start[back], end[back]))]
    normals = normal(vertices[faces])
    first, second = normals[face[there]], normals[face[back]]
    between = np.arctan2(
        np.linalg.norm(np.cross(first, second), axis=1), np.einsum("ij,ij->i", first, second)
    )
    arm = vertices[apex[back]] - vertices[start[there]]
    return Joins(
        np.column_stack([start[there], end[there]]),
        np.column_stack([face[there], face[back]]),
        between,
        np.einsum("ij,ij->i", first, arm),
    )


def unit(vectors: Array) -> Array:
    """Return vectors (k, 3) scaled to length 1; those of length 0 stay 0."""
    length = np.linalg.norm(vectors, axis=1, keepdims=True)
    return np.asarray(vectors / np.maximum(length, np.finfo(float).tiny))


def normal(corners: Array) -> Array:
    """Return the unit normals (k, 3) of triangles (k, 3, 3), 0 for those without an area."""
    return unit(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]))


def grouped(pairs: Index, count: int) -> Index:
    """Return the group (count,) of each item; the two of each of `pairs` (k, 2) share a group."""
    ones = np.ones(len(pairs), dtype=np.int8)
    from scipy.sparse import coo_array  # noqa: PLC0415 - heavy: a plain solve has no mesh
    from scipy.sparse.csgraph import connected_components  # noqa: PLC0415

    graph = coo_array((ones, (pairs[:, 0], pairs[:, 1])), shape=(count, count))
    return np.asarray(connected_components(graph, directed=False)[1], dtype=np.intp)


def missed(corners: Array, faces: Index, joins: Joins) -> Moments:
    """Return the moments to add to those within triangles `corners` (m, 3, 3) for a smooth surface.

    An estimate: within a hundredth for an evenly meshed sphere, within a factor of two for spheres,
    capsules, rings, domes and cylinders as usually meshed.
    """
    normals = _normals(corners, faces, joins)
    after = [1, 2, 0]
    sides, lean = corners[:, after] - corners, normals[:, after] - normals
    area = np.linalg.norm(np.cross(sides[:, 0], sides[:, 1]), axis=1) / 2
    volume = area / 24 * np.einsum("mij,mij->m", lean, sides)
    p = np.concatenate([corners, np.ones((len(area), 3, 1))], axis=2)
    arms = np.concatenate([p.sum(axis=1), p[:, 0], p[:, 1], p[:, 2]])  # spread over the triangle
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
    total: Array = np.column_stack([np.bincount(group, weighted[:, k]) for k in range(3)])
    return unit(total)[group].reshape(-1, 3, 3)


def _fans(faces: Index, joins: Joins) -> Index:
    """Return the fan of each corner (m, 3): those at one vertex with no sharp edge between."""
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

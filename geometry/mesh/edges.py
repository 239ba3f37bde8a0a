"""The edges of a closed surface of triangles, each with the two that meet there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from shared.arrays import Array, Index


@dataclass(frozen=True, eq=False)
class Joins:
    """Where two triangles meet, k edges.

    `vertices` (k, 2)  the ends, in the order in which the first triangle runs through them
    `faces`    (k, 2)  the two triangles
    `angle`    (k,)    between their normals, rad; 0 where they are level
    `rise`     (k,)    how far the second's opposite corner stands out of the first's plane, cm
    """

    vertices: Index
    faces: Index
    angle: Array
    rise: Array


def joins(vertices: Array, faces: Index) -> Joins:
    """Return the edges of a closed surface, every triangle of which runs against its neighbours."""
    count = len(faces)
    start, end = faces.ravel(), faces[:, [1, 2, 0]].ravel()
    face = np.repeat(np.arange(count), 3)
    apex = faces[:, [2, 0, 1]].ravel()
    there = np.flatnonzero(start < end)
    back = np.flatnonzero(start > end)
    there = there[np.lexsort((end[there], start[there]))]
    back = back[np.lexsort((start[back], end[back]))]
    p = vertices[faces]
    normals = np.cross(p[:, 1] - p[:, 0], p[:, 2] - p[:, 0])
    length = np.linalg.norm(normals, axis=1, keepdims=True)
    normals = normals / np.where(length > 0, length, 1.0)
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


def grouped(pairs: Index, count: int) -> Index:
    """Return the number of the group (count,) that each is in: both of `pairs` (k, 2) in one."""
    ones = np.ones(len(pairs), dtype=np.int8)
    graph = coo_array((ones, (pairs[:, 0], pairs[:, 1])), shape=(count, count))
    return np.asarray(connected_components(graph, directed=False)[1], dtype=np.intp)

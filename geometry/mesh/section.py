"""Sections of solids by their triangles, exact: closed lines from edge to edge."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from geometry.mesh.solid import Solid
from geometry.section import ON_PLANE, Loop, plain_loop
from shared.arrays import Array, Index


def triangle_section(solid: Solid, T: Array) -> tuple[Loop, ...]:
    """Return the section by the plane y = 0 of a solid after the affine map `T` (4, 4).

    A vertex in the plane counts as above it, so that each triangle is cut across two of its sides
    or not at all, and the cuts follow each other from triangle to triangle.
    """
    placed = solid.vertices @ T[:3, :3].T + T[:3, 3]
    y = np.where(np.abs(placed[:, 1]) <= ON_PLANE, 0.0, placed[:, 1])
    above = y >= 0
    ends = solid.joins.vertices
    cut = np.flatnonzero(above[ends[:, 0]] != above[ends[:, 1]])
    if len(cut) == 0:
        return ()
    i, j = ends[cut].T
    share = (y[i] / (y[i] - y[j]))[:, None]
    points = (placed[i] + share * (placed[j] - placed[i]))[:, [0, 2]]
    error = solid.skin * float(np.linalg.norm(T[:3, :3], 2))
    loops = []
    for run in _followed(solid.joins.faces[cut], above[i]):
        loop = points[run][np.linalg.norm(points[run] - points[np.roll(run, 1)], axis=1) > ON_PLANE]
        x, z = (loop - loop[:1]).T
        if len(loop) > 2 and abs(x @ np.roll(z, -1) - z @ np.roll(x, -1)) / 2 > ON_PLANE**2:
            loops.append(plain_loop(loop, error))
    return tuple(loops)


def _followed(faces: Index, first_above: Array) -> Iterator[Index]:
    """Yield the closed runs of cut edges, each (n,), with the triangles (k, 2) at each.

    A triangle that is cut has one edge where the surface goes down through the plane and one where
    it goes up, as the triangle runs; from the one to the other is one piece of the section.
    """
    out = np.where(first_above, faces[:, 0], faces[:, 1])  # which triangle goes down here
    into = np.where(first_above, faces[:, 1], faces[:, 0])
    leaves = np.argsort(into)
    after = leaves[np.searchsorted(into[leaves], out)]
    free = np.ones(len(faces), dtype=bool)
    for start in range(len(faces)):
        if not free[start]:
            continue
        run = [start]
        free[start] = False
        while free[after[run[-1]]]:
            run.append(int(after[run[-1]]))
            free[run[-1]] = False
        yield np.array(run)

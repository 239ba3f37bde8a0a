"""Bars by their definition: an outline of lines and arcs, and a height along z about the middle.

Lines along x through the outline feed the quadrature, chords round it the mesh.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import trimesh
from oracles.distances import Patch
from oracles.solids import Dimensions, DrawnEdge, drawn_edges

NODES, WEIGHTS = np.polynomial.legendre.leggauss(48)
FEW_NODES, FEW_WEIGHTS = np.polynomial.legendre.leggauss(3)


def nodes(d: Dimensions) -> tuple[np.ndarray, np.ndarray]:
    """Return points (k, 3) and weights (k,) that integrate over a bar.

    Each strip along x is integrated exactly to degree 5, over y as `quadrature.nodes` does over z.
    """
    edges, half = drawn_edges(d["outline"]), d["height"] / 2
    breaks = {float(edge.start[1]) for edge in edges}
    breaks |= {height for edge in edges for height in edge.turns()}
    points, weights = [], []
    for low, high in pairwise(sorted(breaks)):
        u = (NODES + 1) * np.pi / 2
        at = (low + high) / 2 - (high - low) / 2 * np.cos(u)
        over = WEIGHTS * np.pi / 2 * (high - low) / 2 * np.sin(u)
        for y, w in zip(at, over, strict=True):
            ends = sorted(x for edge in edges for x in edge.radii(float(y)))
            for a, b in zip(ends[::2], ends[1::2], strict=True):
                x, z = np.meshgrid((a + b) / 2 + (b - a) / 2 * FEW_NODES, half * FEW_NODES)
                points.append(np.stack([x, np.full_like(x, y), z], axis=-1).reshape(-1, 3))
                square = np.outer(FEW_WEIGHTS, FEW_WEIGHTS).ravel()
                weights.append(w * (b - a) / 2 * half * square)
    return np.concatenate(points), np.concatenate(weights)


def mesh(d: Dimensions, n: int) -> trimesh.Trimesh:
    """Return the mesh of a bar, n chords to an arc.

    Its ends are triangles from one corner to each edge. Of an outline that isn't convex some lie
    the wrong way round over others: in signed sums, as a mesh's moments are, they cancel.
    """
    rim = np.concatenate([e.points(n if e.sweep else 1) for e in drawn_edges(d["outline"])])
    count, half = len(rim), d["height"] / 2
    vertices = np.vstack([np.insert(rim, 2, z, axis=1) for z in (-half, half)])
    i = np.arange(count)
    j = (i + 1) % count
    sides = [np.stack([i, j, j + count], axis=1), np.stack([i, j + count, i + count], axis=1)]
    fan = np.stack([0 * i, i, j], axis=1)[1:-1]
    faces = np.concatenate([*sides, fan[:, ::-1], fan + count])
    x, y = rim.T
    if np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) < 0:
        faces = faces[:, ::-1]
    return trimesh.Trimesh(vertices, faces, process=False)


def patches(d: Dimensions, middle: tuple[float, float]) -> list[Patch]:
    """Return the sides and ends of a bar whose outline is all seen from `middle`."""
    found: list[Patch] = []
    for edge in drawn_edges(d["outline"]):
        found.append(_side(edge, d["height"]))
        found += [_end(edge, z * d["height"], middle) for z in (-0.5, 0.5)]
    return found


def _along(edge: DrawnEdge, t: np.ndarray) -> np.ndarray:
    t = np.clip(t, 0, 1)
    if edge.sweep == 0:
        return np.outer(1 - t, edge.start) + np.outer(t, edge.end)
    angle = edge.begin + edge.sweep * t
    return np.array(edge.centre) + edge.radius * np.stack([np.cos(angle), np.sin(angle)], 1)


def _side(edge: DrawnEdge, height: float) -> Patch:
    return lambda u, v: np.column_stack([_along(edge, u), height * (np.clip(v, 0, 1) - 0.5)])


def _end(edge: DrawnEdge, z: float, middle: tuple[float, float]) -> Patch:
    def patch(u: np.ndarray, v: np.ndarray) -> np.ndarray:
        way = np.clip(v, 0, 1)[:, None] * (_along(edge, u) - np.array(middle))
        return np.column_stack([np.array(middle) + way, np.full(len(u), z)])

    return patch

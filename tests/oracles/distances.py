"""Distances between bodies by other means: dense point clouds, Qhull, brute directions.

Takes plain arrays and callables; knows nothing of the package.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from scipy.optimize import minimize, nnls
from scipy.spatial import ConvexHull, cKDTree

Patch = Callable[[np.ndarray, np.ndarray], np.ndarray]
"""u and v (k,) → points (k, 3). Beyond 0 to 1 it stays at its end, or goes on round."""


def turned(curve: Callable[[np.ndarray], np.ndarray]) -> Patch:
    """Return the patch that the curve t (k,) → r, z (k, 2) sweeps about the z axis."""

    def patch(u: np.ndarray, v: np.ndarray) -> np.ndarray:
        r, z = curve(u).T
        return np.stack([r * np.cos(2 * np.pi * v), r * np.sin(2 * np.pi * v), z], axis=1)

    return patch


def line(a: Sequence[float], b: Sequence[float]) -> Callable[[np.ndarray], np.ndarray]:
    """Return the straight curve from a to b in r and z."""

    def curve(t: np.ndarray) -> np.ndarray:
        t = np.clip(t, 0, 1)
        return np.outer(1 - t, a) + np.outer(t, b)

    return curve


def arc(
    centre: Sequence[float], radius: float, start: float, end: float
) -> Callable[[np.ndarray], np.ndarray]:
    """Return the arc of a circle in r and z between two angles from +r, in radians."""

    def curve(t: np.ndarray) -> np.ndarray:
        angle = start + (end - start) * np.clip(t, 0, 1)
        return np.asarray(centre) + radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)

    return curve


def placed(patch: Patch, A: np.ndarray, t: Sequence[float]) -> Patch:
    """Return the patch after x → A x + t."""
    return lambda u, v: patch(u, v) @ np.asarray(A).T + np.asarray(t)


def cloud(patches: Sequence[Patch], n: int) -> np.ndarray:
    """Return a grid of n × n points on each patch."""
    u, v = (x.ravel() for x in np.meshgrid(np.linspace(0, 1, n), np.linspace(0, 1, n)))
    return np.concatenate([patch(u, v) for patch in patches])


def least_distance(first: Sequence[Patch], second: Sequence[Patch], n: int = 60) -> float:
    """Return the least distance between two surfaces, no less than the truth.

    The nearest points of two grids, for every pair of patches; then ever finer grids around them.
    """
    return min(_least(f, g, n) for f in first for g in second)


def _least(f: Patch, g: Patch, n: int) -> float:
    middles, width = [np.full(2, 0.5), np.full(2, 0.5)], 0.5
    best = np.inf
    while width > 1e-9:
        grids = [m + width * _grid(n) for m in middles]
        distance, index = cKDTree(f(*grids[0].T)).query(g(*grids[1].T))
        j = int(np.argmin(distance))
        if distance[j] < best:
            best = float(distance[j])
            middles = [grids[0][index[j]], grids[1][j]]
        width, n = 0.75 * width if n == 7 else 4 / n, 7
    return best


def _grid(n: int) -> np.ndarray:
    """Return n × n points (n², 2) from −1 to 1."""
    side = np.linspace(-1, 1, n)
    return np.stack(np.meshgrid(side, side), axis=-1).reshape(-1, 2)


def reach(points: np.ndarray, surface: np.ndarray) -> float:
    """Return how far the farthest of `points` lies from its nearest point of `surface`; 0 of none.

    Both are clouds (k, 3); hand in only the points on the side in question.
    """
    return float(cKDTree(surface).query(points)[0].max()) if len(points) else 0.0


def to_segments(point: Sequence[float], outline: np.ndarray) -> float:
    """Return the distance of a point from the nearest of the segments of `outline` (n, 2)."""
    a, along = outline[:-1], np.diff(outline, axis=0)
    share = np.clip(((point - a) * along).sum(axis=1) / (along**2).sum(axis=1), 0, 1)
    return float(np.linalg.norm(a + share[:, None] * along - point, axis=1).min())


def in_polygon(points: np.ndarray, polygon: np.ndarray) -> np.ndarray:
    """Say which of `points` (k, 2) lie in the closed `polygon` (n, 2): even-odd rule."""
    a, b = polygon, np.roll(polygon, -1, axis=0)
    x, y = points[:, :1], points[:, 1:]
    crosses = (a[:, 1] > y) != (b[:, 1] > y)
    rise = np.where(a[:, 1] == b[:, 1], 1, b[:, 1] - a[:, 1])
    at = a[:, 0] + (y - a[:, 1]) * (b[:, 0] - a[:, 0]) / rise
    return (crosses & (x < at)).sum(axis=1) % 2 == 1


def polytope_gap(p: np.ndarray, q: np.ndarray) -> float:
    """Return the distance of the hulls of `p` and `q` (k, 3), or minus the shortest way apart.

    Where they overlap: the nearest face of the hull of all differences q − p from the origin
    (Qhull). Where they don't: the least |Σ λ (q − p)| with λ ≥ 0 and Σ λ = 1, as non-negative least
    squares, the sum weighted until it holds (Lawson & Hanson, Solving Least Squares Problems,
    chapter 23; from memory).
    """
    differences = (q[:, None] - p[None]).reshape(-1, 3)
    offset = float(ConvexHull(differences).equations[:, 3].max())
    if offset < 0:
        return offset
    vertices = differences[ConvexHull(differences).vertices]
    share, _ = nnls(np.vstack([vertices.T, np.full(len(vertices), 1e5)]), np.array([0, 0, 0, 1e5]))
    return float(np.linalg.norm(share @ vertices / share.sum()))


def directions(n: int, seed: int) -> np.ndarray:
    """Return n random directions (n, 3), even over the sphere."""
    x = np.random.default_rng(seed).normal(size=(n, 3))
    return x / np.linalg.norm(x, axis=1, keepdims=True)


def least_over_directions(
    cost: Callable[[np.ndarray], np.ndarray], n: int = 15_000, seed: int = 0
) -> float:
    """Return the least of cost(directions (k, 3)) → (k,): brute force, then Nelder–Mead.

    No less than the truth.
    """
    start = directions(n, seed)
    values = cost(start)
    best = float(values.min())
    for i in np.argsort(values)[:3]:
        polished = minimize(
            lambda x: float(cost((x / np.linalg.norm(x))[None])[0]),
            start[i],
            method="Nelder-Mead",
            options={"xatol": 1e-10, "fatol": 1e-13, "maxiter": 300},
        )
        best = min(best, float(polished.fun))
    return best

"""Outlines drawn by hand, and points along any outline by the textbook form of its arcs."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

Vertices = Sequence[Sequence[float]]

QUARTER = np.tan(np.pi / 8)
"""The bulge of a quarter circle."""

SQUARE = [[1, 0], [3, 0], [3, 2], [1, 2]]
LENS = [[1, 0, 0.5], [1, 2, 0.5]]
D_SHAPE = [[0, -1, 1], [0, 1]]
KEYHOLE = [[2, 0], [3, 0], [3, 1, 2.0], [2, 1]]
CRESCENT = [[1, -1, 1], [1, 1, -0.5]]
OUTLINES = [SQUARE, LENS, D_SHAPE, KEYHOLE, CRESCENT]


def drawn(vertices: Vertices) -> np.ndarray:
    """Return vertices (n, 3), a missing bulge as 0."""
    return np.array([[*v, 0.0][:3] for v in vertices], dtype=float)


def sampled(vertices: np.ndarray, n: int = 2000) -> np.ndarray:
    """Return n points, complex, on each edge of `vertices` (k, 3), by centre, radius and angle.

    The centre lies at the chord's middle plus ½i·chord·cot(½θ), for θ = 4 atan(bulge).
    """
    t = np.arange(n) / n
    rows = []
    for i, (x, y, bulge) in enumerate(vertices):
        start = complex(x, y)
        after = vertices[(i + 1) % len(vertices)]
        end = complex(after[0], after[1])
        if bulge == 0:
            rows.append(start + (end - start) * t)
            continue
        theta = 4 * np.arctan(bulge)
        centre = (start + end) / 2 + 0.5j * (end - start) / np.tan(theta / 2)
        rows.append(centre + (start - centre) * np.exp(1j * theta * t))
    return np.concatenate(rows)


def unit_directions(count: int = 400) -> np.ndarray:
    """Return random directions (count + 6, 3), and the axes, both ways."""
    d = np.random.default_rng(3).normal(size=(count, 3))
    return np.vstack([d / np.linalg.norm(d, axis=1, keepdims=True), np.eye(3), -np.eye(3)])

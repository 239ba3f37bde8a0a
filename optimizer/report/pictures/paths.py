"""Sections as paths of SVG: an arc under an affine map is an elliptical arc, never chords."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from geometry.section import Loop
from shared.arrays import Array

LONGEST = np.pi / 2
"""An arc is told in pieces of a quarter turn at most: of half a turn whose ends are rounded, the
middle could lie anywhere."""


def path(loops: Sequence[Loop], scale: float, origin: tuple[float, float]) -> str:
    """Return the data of a path through closed `loops` (cm), x to the right and z up, px."""
    return " ".join(_loop(loop, scale, origin) for loop in loops)


def _loop(loop: Loop, scale: float, origin: tuple[float, float]) -> str:
    T = np.diag([scale, -scale]) @ loop.matrix
    shift = np.diag([scale, -scale]) @ loop.shift + origin
    U, stretched, _ = np.linalg.svd(T)
    turn = float(np.degrees(np.arctan2(U[1, 0], U[0, 0])))
    kept, edges = np.linalg.det(T) > 0.0, loop.outline.edges
    told = list[str]()
    for i, angle in enumerate(edges.angle.tolist()):
        edge, count = edges[[i]], max(1, int(np.ceil(abs(angle) / LONGEST - 1e-9)))
        reached = edge.points(np.arange(count + 1) / count)
        points = np.column_stack([reached.real, reached.imag]) @ T.T + shift
        if not told:
            told.append(f"M {_at(points[0])}")
        if angle == 0.0:
            told.append(f"L {_at(points[1])}")
            continue
        radius = float(edge.length[0]) / abs(angle)
        axes = f"{radius * stretched[0]:.3f} {radius * stretched[1]:.3f} {turn:.2f}"
        sweep = int((angle > 0.0) == kept)
        told += [f"A {axes} 0 {sweep} {_at(point)}" for point in points[1:]]
    return " ".join(told) + " Z"


def _at(point: Array) -> str:
    return f"{point[0]:.2f},{point[1]:.2f}"

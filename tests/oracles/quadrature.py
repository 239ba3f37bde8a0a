"""Moments by numerical integration over the points of a solid, placed point by point.

Each slice square to z is integrated exactly for polynomials of degree 5; over z, Gauss-Legendre in
the angle u with z = middle − half·cos u, which takes the square roots out of round ends.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from oracles import bars
from oracles.solids import Dimensions, Section, slices
from scipy.spatial.transform import Rotation

NODES, WEIGHTS = np.polynomial.legendre.leggauss(48)
FEW_NODES, FEW_WEIGHTS = np.polynomial.legendre.leggauss(3)


def _unit_disc() -> tuple[np.ndarray, np.ndarray]:
    rho = np.sqrt((FEW_NODES + 1) / 2)
    angle = np.arange(8) * np.pi / 4
    points = np.stack([np.outer(rho, np.cos(angle)), np.outer(rho, np.sin(angle))], axis=-1)
    weights = np.repeat(FEW_WEIGHTS / 2 * np.pi / 8, 8)  # they add up to π
    return points.reshape(-1, 2), weights


def _square() -> tuple[np.ndarray, np.ndarray]:
    x, y = np.meshgrid(FEW_NODES, FEW_NODES)
    return np.stack([x.ravel(), y.ravel()], axis=1), np.outer(FEW_WEIGHTS, FEW_WEIGHTS).ravel()


DISC, SQUARE = _unit_disc(), _square()


def _section(section: Section, z: float) -> tuple[np.ndarray, np.ndarray]:
    points, weights = DISC if section.round else SQUARE
    placed = np.column_stack([points * [section.a, section.b], np.full(len(points), z)])
    return placed, section.sign * section.a * section.b * weights


def nodes(kind: str, dimensions: Dimensions) -> tuple[np.ndarray, np.ndarray]:
    """Return points (k, 3) and weights (k,) that integrate over a solid in its own axes."""
    if kind == "extruded":
        return bars.nodes(dimensions)
    solid = slices(kind, dimensions)
    points, weights = [], []
    for low, high in zip(solid.breaks, solid.breaks[1:], strict=False):
        u = (NODES + 1) * np.pi / 2
        for z, w in zip(
            (low + high) / 2 - (high - low) / 2 * np.cos(u),
            WEIGHTS * np.pi / 2 * (high - low) / 2 * np.sin(u),
            strict=True,
        ):
            for section in solid.at(float(z)):
                p, v = _section(section, float(z))
                points.append(p)
                weights.append(w * v)
    return np.concatenate(points), np.concatenate(weights)


def placed(
    points: np.ndarray,
    stretch: Sequence[float],
    rotate: Sequence[float],
    at: Sequence[float],
) -> np.ndarray:
    """Return points (k, 3) stretched, then rotated about the fixed x, y, z axes, then moved."""
    return Rotation.from_euler("xyz", rotate, degrees=True).apply(points * np.array(stretch)) + at


def moments(
    kind: str,
    dimensions: Dimensions,
    stretch: Sequence[float] = (1, 1, 1),
    rotate: Sequence[float] = (0, 0, 0),
    at: Sequence[float] = (0, 0, 0),
) -> np.ndarray:
    """Return ∫ [x y z 1]ᵀ [x y z 1] dV, (4, 4), over the placed solid."""
    points, weights = nodes(kind, dimensions)
    rows = np.column_stack([placed(points, stretch, rotate, at), np.ones(len(points))])
    return (rows.T * (weights * abs(np.prod(stretch)))) @ rows


def apart(J: np.ndarray, K: np.ndarray) -> float:
    """Return the largest difference of two moment matrices, relative to the scale of each entry.

    By Cauchy-Schwarz no entry of a body's matrix exceeds the geometric mean of the two diagonal
    entries beside it, which is the scale.
    """
    scale = np.sqrt(np.diag(K))
    return float(np.max(np.abs(J - K) / np.outer(scale, scale)))

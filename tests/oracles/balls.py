"""An independent ball: nested ellipsoids by superposition, from handbook formulas alone.

A ball is the sum of its solids, each at its density less its host's (so nothing is subtracted, and
no region is formed). A solid ellipsoid's inertia is m (b² + c²) / 5 about its own axes (Beer &
Johnston, Vector Mechanics, inside cover; from memory), turned by R I Rᵀ and moved by the
parallel-axis theorem. numpy only.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Ellipsoid:
    """Semi-axes (3,), centre (3,), rotation in degrees about the fixed x, then y, then z axis."""

    axes: tuple[float, float, float]
    at: tuple[float, float, float] = (0.0, 0.0, 0.0)
    rotate: tuple[float, float, float] = (0.0, 0.0, 0.0)
    host: int | None = None


def rotation(degrees: Sequence[float]) -> np.ndarray:
    """Rotate about fixed x, then y, then z, by Rodrigues' formula axis by axis."""
    total = np.eye(3)
    for axis, angle in zip(np.eye(3), np.radians(degrees), strict=True):
        K = np.cross(np.eye(3), axis)
        total = (np.eye(3) + np.sin(angle) * K + (1 - np.cos(angle)) * K @ K) @ total
    return total


def about_centre(
    solids: Sequence[Ellipsoid], densities: Sequence[float]
) -> tuple[float, np.ndarray, np.ndarray]:
    """Mass (g), first moments (3,) and inertia (3, 3) about the ball's centre: all linear."""
    mass, first, inertia = 0.0, np.zeros(3), np.zeros((3, 3))
    for solid, density in zip(solids, densities, strict=True):
        contrast = density - (0.0 if solid.host is None else densities[solid.host])
        a, b, c = solid.axes
        m = contrast * 4 / 3 * np.pi * a * b * c
        own = m / 5 * np.diag([b * b + c * c, a * a + c * c, a * a + b * b])
        R, d = rotation(solid.rotate), np.array(solid.at)
        inertia += R @ own @ R.T + m * (d @ d * np.eye(3) - np.outer(d, d))
        mass, first = mass + m, first + m * d
    return mass, first, inertia


def weight_and_radii(
    solids: Sequence[Ellipsoid], densities: Sequence[float], about: str
) -> tuple[float, np.ndarray, np.ndarray]:
    """Mass (g), sorted RGs (cm), CG (cm) of nested ellipsoids, about "cg" or "centre"."""
    radii, _ = radii_and_axes(solids, densities, about)
    mass, first, _ = about_centre(solids, densities)
    return mass, radii, first / mass


def radii_and_axes(
    solids: Sequence[Ellipsoid], densities: Sequence[float], about: str
) -> tuple[np.ndarray, np.ndarray]:
    """Sorted RGs (cm) of nested ellipsoids about "cg" or "centre"; their axes, a column each."""
    mass, first, inertia = about_centre(solids, densities)
    cg = first / mass if about == "cg" else np.zeros(3)
    inertia = inertia - mass * (cg @ cg * np.eye(3) - np.outer(cg, cg))
    squares, axes = np.linalg.eigh(inertia / mass)
    return np.sqrt(squares), axes


def per_density(solids: Sequence[Ellipsoid]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return what one g/cm³ of each solid (n,) gives of an aligned ball, about its centre.

    Mass (n,), first moment along z (n,), and the inertias about x, y and z (3, n).
    """
    unit = [about_centre(solids, row) for row in np.eye(len(solids))]
    mass = np.array([one[0] for one in unit])
    first = np.array([one[1][2] for one in unit])
    return mass, first, np.array([np.diag(one[2]) for one in unit]).T

"""Tilted triaxial cores whose densities make high and intermediate RG equal, and their line-ups.

A block and two inserts, each flat in another direction across one long axis. Across that axis an
inertia is a vector (I₁₁ − I₂₂, 2 I₁₂), turned by twice the angle of its solid: three of them at
about 0°, 120° and 240° come to nothing at some densities, which scipy finds.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from oracles.balls import Ellipsoid, about_centre, rotation
from oracles.lineups import INCH, OUNCE, RADIUS, RANGES, Line
from scipy.optimize import root
from scipy.spatial.transform import Rotation

SPANS = (RANGES[0], (0.5, 1.0), (1.2, 2.9), (1.2, 3.6), (1.2, 3.6))


def _about(unit: Sequence[np.ndarray], densities: np.ndarray, about: str) -> np.ndarray:
    """Return inertia ÷ mass (3, 3), cm², from what one g/cm³ of each solid gives."""
    mass, first, inertia = (np.tensordot(densities, one, axes=1) for one in unit)
    c = first / mass
    return inertia / mass - (c @ c * np.eye(3) - np.outer(c, c) if about == "cg" else 0.0)


def _across(inertia: np.ndarray) -> np.ndarray:
    """Return (I₁₁ − I₂₂, 2 I₁₂) across the low axis."""
    low = np.linalg.eigh(inertia)[1][:, 0]
    one = np.cross(low, np.eye(3)[np.argmin(np.abs(low))])
    one /= np.linalg.norm(one)
    two = np.cross(low, one)
    return np.array([one @ inertia @ one - two @ inertia @ two, 2 * one @ inertia @ two])


def _solids(random: np.random.Generator) -> tuple[Ellipsoid, ...]:
    tilt = rotation(random.uniform(-180.0, 180.0, 3).tolist())
    spin = random.uniform(0.0, 360.0)
    up, mantle = random.uniform(-0.3, 0.6), random.uniform(8.9, 9.8)

    def solid(axes: np.ndarray, along: float, angle: float, host: int) -> Ellipsoid:
        turned = tilt @ rotation((0.0, 0.0, spin + angle))
        degrees = Rotation.from_matrix(turned).as_euler("xyz", degrees=True)
        at = np.array([0.0, 0.0, up]) + along * tilt[:, 2]
        return Ellipsoid(tuple(axes.tolist()), tuple(at.tolist()), tuple(degrees.tolist()), host)

    girth = random.uniform(3.4, 4.2)
    block = np.array([girth * random.uniform(1.01, 1.05), girth, random.uniform(5.8, 6.8)])
    thin = girth * random.uniform(0.4, 0.55, 2)
    flat = random.uniform(1.3, 1.6, 2)
    angles = random.uniform(45.0, 75.0, 2)
    inserts = [np.array([a * f, a, 2.3]) for a, f in zip(thin, flat, strict=True)]
    return (
        Ellipsoid((RADIUS,) * 3),
        Ellipsoid((mantle,) * 3, host=0),
        solid(block, 0.0, 0.0, 1),
        solid(inserts[0], 2.4, angles[0], 2),
        solid(inserts[1], -2.4, -angles[1], 2),
    )


def upright(random: np.random.Generator, about: str) -> tuple[Line, np.ndarray]:
    """A line of one weight with no intermediate differential, and the densities it is of."""
    low, high = np.array(SPANS).T
    while True:
        solids, start = _solids(random), random.uniform(low, high)
        measured = [about_centre(solids, one) for one in np.eye(len(solids))]
        unit = [np.array([one[k] for one in measured]) for k in range(3)]

        def off(x: np.ndarray) -> np.ndarray:
            return _across(_about(unit, np.concatenate([start[:3], x]), about))  # noqa: B023

        densities = np.concatenate([start[:3], root(off, start[3:], tol=1e-14).x])
        rg = np.sqrt(np.abs(np.linalg.eigvalsh(_about(unit, densities, about))))
        mass = float(densities @ unit[0])
        top = float(np.linalg.norm(densities @ unit[1])) / RADIUS / OUNCE
        inside = np.all((densities > low + 0.01) & (densities < high - 0.01))
        if inside and rg[2] - rg[1] < 1e-9 and rg[1] - rg[0] > 0.01 * INCH and top <= 4.0:
            break
    span = (float(rg[0]),) * 2, (float(rg[2] - rg[0]),) * 2
    line = Line(solids, {"15": mass}, *span, (0.0, 0.0), about, SPANS, (0.02,) * 5)
    return line.but(top=(0.0, 4.0)), densities

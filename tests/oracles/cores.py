"""Balls of any solids by quadrature over their points, and lines with such cores as scenario text.

A line's two inner ellipsoids are redrawn; all else of the line stands.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from oracles import quadrature
from oracles.lineups import RANGES, Line, solids

OUTLINE = (
    (0.0, -6.2, 0.2), (3.4, -4.8), (3.7, -3.0, -0.2), (3.7, 3.0), (3.4, 4.8, 0.2), (0.0, 6.2),
)  # fmt: skip
"""A block turned on a lathe: (r, z), cm, its ends and its waist arcs of these bulges."""
INNER = {"diameter": 2.4, "height": 7.0}
"""A capsule in it."""


def balanced(
    matrices: Sequence[np.ndarray], densities: Sequence[float], about: str = "cg"
) -> tuple[float, np.ndarray]:
    """Mass (g) and inertia (3, 3), g cm², about "cg" or "centre".

    Each solid, in the next one's hollow, counts by its density less its host's. The quadrature over
    each solid's points, `matrices` (n, 4, 4), is all that it is made of.
    """
    J = np.tensordot(np.diff(densities, prepend=0.0), np.array(matrices), axes=1)
    mass, first = float(J[3, 3]), J[3, :3]
    second = J[:3, :3] - (np.outer(first, first) / mass if about == "cg" else 0.0)
    return mass, np.trace(second) * np.eye(3) - second


def radii(mass: float, inertia: np.ndarray) -> np.ndarray:
    """Sorted RGs (3,), cm."""
    return np.asarray(np.sqrt(np.linalg.eigvalsh(inertia) / mass))


def redrawn(line: Line, shapes: Sequence[str]) -> str:
    """The line's text, what its two inner ellipsoids are shaped like written as `shapes`."""
    said = line.text()
    for solid, shape in zip(line.solids[2:], shapes, strict=True):
        axes = [20.0 * float(a) for a in solid.axes]
        old = f'shape = {{ kind = "ellipsoid", diameters = {axes} }}'
        assert old in said
        said = said.replace(old, shape)
    return said


def asked(line: Line, mass: float, found: np.ndarray) -> Line:
    """The line that asks for this mass (g) and for these three RGs (3,), cm."""
    low, middle, high = found.tolist()
    targets = {"rg": (low, low), "differential": (high - low,) * 2}
    return replace(line, weights={"15": mass}, intermediate=(high - middle,) * 2, **targets)


def turned(random: np.random.Generator, about: str) -> tuple[str, list[np.ndarray], list[float]]:
    """A line with a turned block, stretched and rotated: its text, matrices (4, 4 each), densities.

    It asks for what was measured of these densities.
    """
    cover, mantle, *inner = solids(random, "triaxial")
    rotate, at = random.uniform(-180, 180, 3).tolist(), random.uniform(-0.6, 0.6, 3).tolist()
    stretch = random.uniform([0.75, 0.75, 0.9], [1.15, 1.15, 1.1]).tolist()
    densities = [float(random.uniform(*span)) for span in RANGES]
    place = (stretch, rotate, at)
    matrices = [
        quadrature.moments("sphere", {"diameter": 2 * cover.axes[0]}),
        quadrature.moments("sphere", {"diameter": 2 * mantle.axes[0]}),
        quadrature.moments("revolved", {"outline": OUTLINE}, *place),
        quadrature.moments("capsule", INNER, *place),
    ]
    mass, inertia = balanced(matrices, densities, about)
    placed = (replace(one, at=tuple(at), rotate=tuple(rotate)) for one in inner)
    line = Line((cover, mantle, *placed), {}, (0.0, 0.0), (0.0, 0.0), about=about)
    corners = [[10 * r, 10 * z, *bulge] for r, z, *bulge in OUTLINE]
    lengths = ", ".join(f"{name} = {10 * length}" for name, length in INNER.items())
    shapes = [
        f'shape = {{ kind = "{kind}", {own} }}\nstretch = {stretch}'
        for kind, own in (("revolved", f"outline = {corners}"), ("capsule", lengths))
    ]
    return redrawn(asked(line, mass, radii(mass, inertia)), shapes), matrices, densities

"""What a ball loses when one part is taken out, with mass, CG and axes held, by quadrature.

The ball is integrated point by point, each solid at its density less its host's, so that no region
is formed: once whole, and once with the part's own material at no density. Takes the plain
dictionaries of a solution in JSON; knows nothing of the package.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from oracles import quadrature
from oracles.solids import dimensions

Densities = Mapping[str, float]


@dataclass(frozen=True)
class Lost:
    """What goes with a part: of mass and of the low, intermediate and high RG² (3,) as shares.

    `differential` and `intermediate` are what goes of high − low and high − intermediate RG, cm,
    with the sums of the RGs held.
    """

    mass: float
    squares: np.ndarray
    differential: float
    intermediate: float


def losses(
    parts: Sequence[Mapping[str, Any]], densities: Densities, about: str, unit: float
) -> dict[str, Lost]:
    """Return what goes with each part of a ball, about "cg" or "centre"; `unit` is in cm."""
    solids = [(part["name"], part.get("inside"), *_points(part, unit)) for part in parts]

    def integral(rho: Densities, of: Any) -> Any:
        contrast = {name: rho[name] - (rho[host] if host else 0.0) for name, host, *_ in solids}
        return sum(contrast[name] * np.tensordot(w, of(p), 1) for name, _, p, w in solids)

    mass = integral(densities, lambda p: np.ones(len(p)))
    point = integral(densities, lambda p: p) / mass if about == "cg" else np.zeros(3)
    second = integral(densities, lambda p: (p - point)[:, :, None] * (p - point)[:, None, :])
    _, axes = np.linalg.eigh(np.trace(second) * np.eye(3) - second)

    def inertia(rho: Densities) -> np.ndarray:
        def squared(p: np.ndarray) -> np.ndarray:
            return np.sum((p - point) ** 2, axis=1)[:, None] - ((p - point) @ axes) ** 2

        return np.asarray(integral(rho, squared))

    whole = inertia(densities)
    radii = np.sqrt(whole / mass)
    found = {}
    for name, *_ in solids:
        without = {**densities, name: 0.0}
        lost = whole - inertia(without)
        left = integral(without, lambda p: np.ones(len(p)))
        high, intermediate = ((lost[2] - lost[k]) / mass / (radii[2] + radii[k]) for k in (0, 1))
        found[name] = Lost(1.0 - left / mass, lost / whole, high, intermediate)
    return found


def _points(part: Mapping[str, Any], unit: float) -> tuple[np.ndarray, np.ndarray]:
    """Return points (k, 3) in cm and weights (k,) in cm³ that integrate over a part as drawn."""
    points, weights = quadrature.nodes(*dimensions(part["shape"]))
    stretch, at = part.get("stretch", (1.0, 1.0, 1.0)), part.get("at", (0.0, 0.0, 0.0))
    placed = quadrature.placed(points, stretch, part.get("rotate", (0.0, 0.0, 0.0)), at)
    return placed * unit, weights * abs(np.prod(stretch)) * unit**3

"""A printed solution read again from its own numbers: by quadrature, and by sampled surfaces.

Takes the plain dictionaries of a solution in JSON; knows nothing of the package.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, pairwise
from typing import Any

import numpy as np
from oracles import distances, quadrature
from oracles.distances import Patch, arc, line, turned
from oracles.solids import dimensions
from scipy.spatial.transform import Rotation

Printed = Mapping[str, Any]
ROUND = (-np.pi / 2, np.pi / 2)


def figures(
    parts: Sequence[Printed], densities: Mapping[str, float], about: str, unit: float
) -> tuple[float, np.ndarray]:
    """Mass (g) and sorted RGs (cm) of a ball about "cg" or "centre"; `unit` is its length's, cm."""
    whole = {part["name"]: _moments(part, unit) for part in parts}
    total = np.zeros((4, 4))
    for part in parts:
        own = whole[part["name"]].copy()
        for other in parts:
            if other.get("inside") == part["name"]:
                own -= whole[other["name"]]
        total += densities[part["name"]] * own
    mass, c = total[3, 3], total[:3, 3] / total[3, 3]
    second = total[:3, :3] - (mass * np.outer(c, c) if about == "cg" else 0.0)
    inertia = np.trace(second) * np.eye(3) - second
    return float(mass), np.sqrt(np.linalg.eigvalsh(inertia) / mass)


def _moments(part: Printed, unit: float) -> np.ndarray:
    place = {key: part[key] for key in ("stretch", "rotate", "at") if key in part}
    J = quadrature.moments(*dimensions(part["shape"]), **place)
    scale = np.diag([unit, unit, unit, 1.0])
    return unit**3 * scale @ J @ scale


def gaps(parts: Sequence[Printed]) -> Iterator[tuple[str, str, float]]:
    """Yield two parts that are host and guest or neighbours, and how far their surfaces are apart.

    The distance is no less than the truth, in the parts' own unit.
    """
    for one, other in combinations(parts, 2):
        nested = one["name"] == other.get("inside") or other["name"] == one.get("inside")
        if nested or one.get("inside") == other.get("inside"):
            surfaces = [[_placed(patch, part) for patch in patches(part)] for part in (one, other)]
            yield one["name"], other["name"], distances.least_distance(*surfaces)


def _placed(patch: Patch, part: Printed) -> Patch:
    turn = Rotation.from_euler("xyz", part.get("rotate", (0, 0, 0)), degrees=True).as_matrix()
    stretch = np.diag(part.get("stretch", (1.0, 1.0, 1.0)))
    return distances.placed(patch, turn @ stretch, part.get("at", (0, 0, 0)))


def patches(part: Printed) -> list[Patch]:
    """Return the surface of a solid in its own axes."""
    kind, d = dimensions(part["shape"])
    ball = turned(arc((0, 0), 1.0, *ROUND))
    match kind:
        case "sphere":
            return [distances.placed(ball, np.eye(3) * d["diameter"] / 2, (0, 0, 0))]
        case "spheroid":
            axes = np.diag([d["diameter"], d["diameter"], d["height"]]) / 2
            return [distances.placed(ball, axes, (0, 0, 0))]
        case "ellipsoid":
            return [distances.placed(ball, np.diag(d["diameters"]) / 2, (0, 0, 0))]
        case "ring":
            return [turned(arc((d["diameter"] / 2, 0), d["thickness"] / 2, 0.0, 2 * np.pi))]
        case "cylinder" | "cone":
            wide, top = (
                d.get("bottom", d.get("diameter")) / 2,
                d.get("top", d.get("diameter")) / 2,
            )
            h = d["height"] / 2
            corners = [(0, -h), (wide, -h), (top, h), (0, h)]
            return [turned(line(a, b)) for a, b in pairwise(corners)]
        case "capsule":
            r, h = d["diameter"] / 2, d["height"] / 2 - d["diameter"] / 2
            caps = [arc((0, h), r, 0, np.pi / 2), arc((0, -h), r, -np.pi / 2, 0)]
            return [turned(curve) for curve in (*caps, line((r, -h), (r, h)))]
    raise ValueError(kind)

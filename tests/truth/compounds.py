"""Moments of parts that are joined and cut from several solids, by chords.

Turned about one line: slices square to it are discs and annuli, whose union is exact, and Gauss's
rule in between. Otherwise a grid of chords through convex solids. RELATIVE states how far off each
may be: in volume, and in moments over what the part's size makes of its volume.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any, Final

import numpy as np
from oracles.solids import slices
from scipy.spatial.transform import Rotation
from truth.solids import Solid, moments, written

LINES: Final = 1000
"""Chords along each side of the grid."""
COAXIAL_ERROR, CHORD_ERROR = 2e-7, 3e-5
PANELS: Final = 160
"""Of three points each, between any two heights at which a solid's law changes."""
AWRY: Final = np.asarray(Rotation.from_euler("xyz", (27.0, 41.0, 13.0), degrees=True).as_matrix())
"""How the grid stands, so that no flat face lies along it: the columns are its x, y and z."""
NODES, WEIGHTS = np.polynomial.legendre.leggauss(3)


def part_moments(part: dict[str, Any], unit: float) -> tuple[np.ndarray, float]:
    """Return the moments (4, 4) of a part as drawn, g/cm³ and cm, and how far off they may be."""
    if "shape" in part:
        own = {key: part[key] for key in ("stretch", "rotate", "at") if key in part}
        shape = part["shape"]

        return moments({**shape, **own}, unit), 1e-9
    bodies, holes = part["shapes"], part.get("minus", [])
    if all(_coaxial(one) for one in (*bodies, *holes)):
        J, error = _turned(bodies, holes), COAXIAL_ERROR
    else:
        J, error = _chords(bodies, holes), CHORD_ERROR
    scale = np.diag([unit, unit, unit, 1.0])
    T = np.eye(4)
    T[:3, :3] = rotation(part) @ np.diag(part.get("stretch", (1.0, 1.0, 1.0)))
    T[:3, 3] = part.get("at", (0, 0, 0))
    T = scale @ T
    return np.asarray(abs(np.linalg.det(T[:3, :3])) * T @ J @ T.T), error


def rotation(solid: Solid) -> np.ndarray:
    """Return the rotation (3, 3) of a solid or part."""
    turn = Rotation.from_euler("xyz", solid.get("rotate", (0, 0, 0)), degrees=True)
    return np.asarray(turn.as_matrix())


def _coaxial(solid: Solid) -> bool:
    kind, _ = written(solid)
    at, turn, stretch = (
        solid.get(key, default)
        for key, default in (("at", (0, 0, 0)), ("rotate", (0, 0, 0)), ("stretch", (1, 1, 1)))
    )
    if kind in ("ellipsoid", "box", "extruded", "mesh"):
        return False
    return not any((*at[:2], *turn[:2])) and stretch[0] == stretch[1]


def _turned(bodies: Sequence[Solid], holes: Sequence[Solid]) -> np.ndarray:
    """Return the moments of solids about one line: annuli in slices."""
    levels = [(one, slices(*written(one))) for one in (*bodies, *holes)]

    def frame(solid: Solid) -> tuple[float, float, float]:
        across, _, along = solid.get("stretch", (1, 1, 1))
        return across, along, solid.get("at", (0, 0, 0))[2]

    breaks = sorted({b * frame(one)[1] + frame(one)[2] for one, its in levels for b in its.breaks})
    total = np.zeros(3)  # ∫ over discs of 1, z, z² and r⁴/4: V, F, S and across
    across = 0.0
    for low, high in pairwise(breaks):
        for u0, u1 in pairwise(np.linspace(0, np.pi, PANELS + 1)):
            u = (u0 + u1) / 2 + (u1 - u0) / 2 * NODES
            z = (low + high) / 2 - (high - low) / 2 * np.cos(u)
            weight = WEIGHTS * (u1 - u0) / 2 * (high - low) / 2 * np.sin(u)
            for one, w in zip(z, weight, strict=True):
                rings = [_spans(solid, its, frame(solid), one) for solid, its in levels]
                for a, b in _left(rings[: len(bodies)], rings[len(bodies) :]):
                    area = np.pi * (b * b - a * a)
                    total += w * area * np.array([1, one, one * one])
                    across += w * np.pi * (b**4 - a**4) / 4
    volume, first, second = total
    J = np.diag([across, across, second, volume])
    J[2, 3] = J[3, 2] = first
    return J


def _spans(
    solid: Solid, its: Any, frame: tuple[float, float, float], z: float
) -> list[tuple[float, float]]:
    across, along, at = frame
    own = (z - at) / along
    if not its.breaks[0] < own < its.breaks[-1]:
        return []
    radii = sorted(across * one.a for one in its.at(own))
    if len(radii) % 2:
        radii = [0.0, *radii]
    return list(zip(radii[::2], radii[1::2], strict=True))


def _left(
    bodies: Sequence[Sequence[tuple[float, float]]], holes: Sequence[Sequence[tuple[float, float]]]
) -> list[tuple[float, float]]:
    ends = sorted({r for spans in (*bodies, *holes) for span in spans for r in span})
    return [
        (a, b)
        for a, b in pairwise(ends)
        if any(c < (a + b) / 2 < d for spans in bodies for c, d in spans)
        and not any(c < (a + b) / 2 < d for spans in holes for c, d in spans)
    ]


def _chords(bodies: Sequence[Solid], holes: Sequence[Solid]) -> np.ndarray:
    """Return the moments of convex solids, joined and cut, from chords side by side."""
    every = (*bodies, *holes)
    reach = max(np.linalg.norm(np.array(one.get("at", (0, 0, 0)))) + _size(one) for one in bodies)
    step = 2 * reach / LINES
    level = -reach + step * (np.arange(LINES) + 0.5)
    J = np.zeros((4, 4))
    for z in level:
        points = np.column_stack([np.zeros(LINES), level, np.full(LINES, z)]) @ AWRY.T
        low, high = (np.array(one) for one in zip(*(_chord(s, points) for s in every), strict=True))
        ends = np.sort(np.vstack([low, high]), axis=0)
        a, b = ends[:-1], ends[1:]
        middle = (a + b) / 2
        there = (low[:, None] < middle) & (middle < high[:, None])
        solid = np.any(there[: len(bodies)], axis=0) & ~np.any(there[len(bodies) :], axis=0)
        one, x, xx = (np.sum(np.where(solid, (b**k - a**k) / k, 0.0), axis=0) for k in (1, 2, 3))
        y = level
        rows = np.array(
            [
                [xx.sum(), (x * y).sum(), x.sum() * z, x.sum()],
                [0, (one * y * y).sum(), (one * y).sum() * z, (one * y).sum()],
                [0, 0, one.sum() * z * z, one.sum() * z],
                [0, 0, 0, one.sum()],
            ]
        )
        J += rows * step * step
    T = np.eye(4)
    T[:3, :3] = AWRY
    return np.asarray(T @ (J + np.triu(J, 1).T) @ T.T)


def _size(solid: Solid) -> float:
    """Return a radius about a convex solid's origin."""
    kind, own = written(solid)
    half = float(np.linalg.norm(np.hstack(list(own.values())))) / 2
    return float(np.max(solid.get("stretch", 1))) * max(
        half, own["height"] if kind == "dome" else 0.0
    )


def _chord(solid: Solid, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return where chords through points (k, 3) enter and leave a convex solid."""
    back = np.diag(1 / np.array(solid.get("stretch", (1.0, 1.0, 1.0)))) @ rotation(solid).T
    p = (points - np.array(solid.get("at", (0.0, 0.0, 0.0)))) @ back.T
    v = back @ AWRY[:, 0]
    kind, d = written(solid)
    match kind:
        case "sphere":
            return _ball(p, v, np.full(3, d["diameter"] / 2))
        case "spheroid":
            return _ball(p, v, np.array([d["diameter"], d["diameter"], d["height"]]) / 2)
        case "ellipsoid":
            return _ball(p, v, np.array(d["diameters"]) / 2)
        case "cylinder":
            return _both(_round(p, v, d["diameter"] / 2), _slab(p, v, 2, d["height"] / 2))
        case "box":
            x, y, z = (_slab(p, v, k, side / 2) for k, side in enumerate(d["size"]))
            return _both(_both(x, y), z)
        case "dome":
            R, H = d["sphere"] / 2, d["height"]
            whole = _ball(p - [0, 0, H - R], v, np.full(3, R))
            return _both(whole, _slab(p - [0, 0, 2 * R], v, 2, 2 * R))
        case "capsule":
            R, c = d["diameter"] / 2, d["height"] / 2 - d["diameter"] / 2
            ends = [_ball(p - [0, 0, z], v, np.full(3, R)) for z in (-c, c)]
            pieces = [*ends, _both(_round(p, v, R), _slab(p, v, 2, c))]
            full = [(np.where(a < b, a, np.inf), np.where(a < b, b, -np.inf)) for a, b in pieces]
            low = np.min([a for a, _ in full], axis=0)
            high = np.max([b for _, b in full], axis=0)
            return np.where(low < high, low, 0.0), np.where(low < high, high, 0.0)
    raise ValueError(kind)


def _roots(a: Any, b: Any, c: Any) -> tuple[np.ndarray, np.ndarray]:
    """Return where a t² + 2 b t + c ≤ 0, a > 0; an empty stretch where nowhere."""
    inside = np.maximum(b * b - a * c, 0.0)
    return (-b - np.sqrt(inside)) / a, (-b + np.sqrt(inside)) / a


def _ball(p: np.ndarray, v: np.ndarray, axes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    p, v = p / axes, v / axes
    return _roots(v @ v, p @ v, np.sum(p * p, axis=1) - 1)


def _round(p: np.ndarray, v: np.ndarray, radius: float) -> tuple[np.ndarray, np.ndarray]:
    across = v * [1, 1, 0]
    c = np.sum(p[:, :2] ** 2, axis=1) - radius**2
    if across @ across < 1e-24:
        far = np.where(c <= 0, 1e9, 0.0)
        return -far, far
    return _roots(across @ across, p @ across, c)


def _slab(p: np.ndarray, v: np.ndarray, k: int, half: float) -> tuple[np.ndarray, np.ndarray]:
    if abs(v[k]) < 1e-12:
        far = np.where(np.abs(p[:, k]) <= half, 1e9, 0.0)
        return -far, far
    one, other = (-half - p[:, k]) / v[k], (half - p[:, k]) / v[k]
    return np.minimum(one, other), np.maximum(one, other)


def _both(
    one: tuple[np.ndarray, np.ndarray], other: tuple[np.ndarray, np.ndarray]
) -> tuple[np.ndarray, np.ndarray]:
    low, high = np.maximum(one[0], other[0]), np.minimum(one[1], other[1])
    return low, np.maximum(low, high)

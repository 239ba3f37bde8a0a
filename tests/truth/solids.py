"""Random solids of every kind in the union, and the balls about and within them.

Lengths are in any unit. The balls only say where a part may go; what it weighs is the oracle's.
"""

from __future__ import annotations

from dataclasses import dataclass
from random import Random
from typing import Any, Final

import numpy as np
from oracles import meshes, quadrature
from oracles.solids import dimensions

from geometry.shapes import SHAPES, Shape

Solid = dict[str, Any]
FILE: Final = "waist.stl"
KINDS: Final = {shape.model_fields["kind"].default: shape for shape in SHAPES}
"""Every shape in the union by its kind."""
MESHED: Final = {FILE: meshes.stl(meshes.waist(), 0.1)}
"""The file that a mesh names: the block that `oracles.solids` describes in cm, in mm."""


def _directions() -> np.ndarray:
    k = np.arange(600) + 0.5
    polar, azimuth = np.arccos(1 - k / 300), np.pi * (1 + 5**0.5) * k
    spread = np.array(
        [np.cos(azimuth) * np.sin(polar), np.sin(azimuth) * np.sin(polar), np.cos(polar)]
    )
    return np.vstack([spread.T, np.eye(3), -np.eye(3)])


DIRECTIONS: Final = _directions()


@dataclass(frozen=True)
class Ball:
    """A ball: no part of a solid is outside the one about it, or missing in the one within."""

    centre: np.ndarray
    radius: float


def written(shape: Solid) -> tuple[str, dict[str, Any]]:
    """Return the kind and dimensions that the oracle takes, of a solid of the text."""
    kind, own = dimensions({k: v for k, v in shape.items() if k not in ("at", "rotate", "stretch")})
    return kind, own


def moments(shape: Solid, unit: float) -> np.ndarray:
    """Return the oracle's moments (4, 4) of a solid about its part's origin; `unit` in cm."""
    kind, own = written(shape)
    place = {key: shape[key] for key in ("stretch", "rotate", "at") if key in shape}
    if kind == "mesh":  # the file's unit is its own: the oracle's is cm
        place["at"] = [one * unit for one in place.get("at", (0, 0, 0))]
        unit = 1.0
    scale = np.diag([unit, unit, unit, 1.0])
    return np.asarray(unit**3 * scale @ quadrature.moments(kind, own, **place) @ scale)


def aligned(kind: str) -> bool:
    """Say whether a solid of the kind has its centroid and principal axes along z, x and y."""
    J = quadrature.moments(*_example(kind))
    off = [*J[:2, 3], J[0, 1], J[0, 2], J[1, 2]]
    return bool(np.all(np.abs(off) < 1e-9 * J[3, 3]))


def _example(kind: str) -> tuple[str, dict[str, Any]]:
    return kind, dict(getattr(KINDS[kind], "EXAMPLE", {}))


ALIGNED: Final = tuple(kind for kind in KINDS if aligned(kind))
CONVEX: Final = ("sphere", "spheroid", "ellipsoid", "cylinder", "capsule", "dome", "box")
"""Kinds whose chords `compounds` knows."""


def drawn(random: Random, kind: str, radius: float) -> Solid:
    """Return a solid of the kind, in inches, that a ball of the radius goes about."""
    if kind == "mesh":
        factor = round(radius * 2.54 / around(KINDS[kind].example()).radius, 5)
        return {"kind": kind, "unit": "mm", "file": FILE, "stretch": [factor] * 3}
    shape = KINDS[kind]
    own = _plain(dict(shape.EXAMPLE))
    if random.random() < 0.8:
        changed = _plain(own)
        for path in shape.example().lengths():
            _change(changed, path, random.uniform(0.75, 1.3))
        own = changed if _sound(shape, changed) else own
    factor = radius / around(shape.model_validate(own)).radius
    for path in shape.model_validate(own).lengths():
        _change(own, path, factor, 4)
    return (
        {"kind": kind, **own} if _sound(shape, own) else {"kind": "sphere", "diameter": 2 * radius}
    )


def in_millimetres(solid: Solid) -> Solid:
    """Return a solid of a text in inches as one of a text in millimetres."""
    kind, own = written(solid)
    own = _plain(own)
    if kind != "mesh":
        for path in KINDS[kind].model_validate(own).lengths():
            _change(own, path, 25.4, 4)
    at = {"at": [round(25.4 * one, 4) for one in solid["at"]]} if "at" in solid else {}
    return {**solid, **own, **at}


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    return [_plain(one) for one in value] if isinstance(value, list | tuple) else value


def _change(own: Any, path: tuple[Any, ...], factor: float, digits: int | None = None) -> None:
    for key in path[:-1]:
        own = own[key]
    value = own[path[-1]] * factor
    own[path[-1]] = value if digits is None else round(value, digits)


def _sound(shape: type[Shape], own: Solid) -> bool:
    try:
        shape.model_validate(own)
    except ValueError:
        return False
    return True


def shaped(shape: Solid) -> Shape:
    """Return the product's own view of a solid, without its place: cm stand for any unit."""
    kind, own = written(shape)
    return KINDS[kind].example() if kind == "mesh" else KINDS[kind].model_validate(own)


def around(shape: Shape) -> Ball:
    """Return a ball about a shape, in its own axes."""
    ends = shape.support_points(np.vstack([np.eye(3), -np.eye(3)]))
    centre = (np.max(ends, axis=0) + np.min(ends, axis=0)) / 2
    out = shape.support_points(DIRECTIONS) - centre
    return Ball(centre, 1.01 * float(np.max(np.linalg.norm(out, axis=1))))


def within(shape: Solid, *, on_axis: bool) -> Ball:
    """Return a large ball within a solid, in its own axes; on the axis, if that is asked."""
    own = shaped(shape)
    kind, lengths = written(shape)
    points, weights = quadrature.nodes(kind, lengths)
    if kind == "ring":
        points = np.array([[0.5 * lengths["diameter"], 0.0, 0.0]])
    elif np.any(weights < 0):  # some points lie in a hole
        return Ball(np.zeros(3), 0.0)
    points = points[:: max(1, len(points) // 1500)]
    if on_axis:
        points = points * [0, 0, 1]
        if kind == "ring":
            return Ball(points[0], 0.0)
    if own.convex:
        support = np.sum(own.support_points(DIRECTIONS) * DIRECTIONS, axis=1)
        radii = np.min(support[:, None] - DIRECTIONS @ points.T, axis=0)
    else:
        radii = own.clearance(points)
    best = int(np.argmax(radii))
    return Ball(points[best], 0.96 * float(radii[best]))


def placed(ball: Ball, shape: Solid, rotation: np.ndarray, *, inner: bool) -> Ball:
    """Return the ball about (or within) a solid that was stretched, rotated and moved."""
    stretch = np.array(shape.get("stretch", (1.0, 1.0, 1.0)))
    factor = float(np.min(stretch) if inner else np.max(stretch))
    at = np.array(shape.get("at", (0.0, 0.0, 0.0)))
    return Ball(rotation @ (stretch * ball.centre) + at, factor * ball.radius)

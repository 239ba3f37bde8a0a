"""The wall between convex bodies of many faces: every direction is looked at, in cones.

A net of directions can miss one corner among thousands; here none is. The directions are parted
into cones between three each, and a cone is cut in four as long as a smaller wall may be in it. For
n = Σ λᵢ nᵢ in a cone, λᵢ ≥ 0, a support function obeys h(n) ≥ n·q for any point q of its body, and
h(n) ≤ Σ λᵢ h(nᵢ). With q the host's support point along the middle of the cone,
h_host(n) − h_part(n) ≥ Σ λᵢ (nᵢ·q − h_part(nᵢ)), no less than the least of the three: this falls
short of the truth by the square of the cone's width only. Between neighbours, with p and q their
support points along the middle, h(n) + h'(−n) ≥ n·(p − q).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from geometry.parts import Part
from geometry.rows import Rows
from geometry.space import InSpace
from geometry.support import ERROR, Gap
from shared.arrays import Array

TOLERANCE: Final = 1e-7
"""cm. Where the search stops."""
WORK: Final = 200_000
"""So many cones are looked at; what may hide in the others is the error told."""


@dataclass(frozen=True, eq=False)
class Cones(Rows):
    """Cones of directions: three unit vectors each (k, 3, 3), and the part's reach along them."""

    corners: Array
    reach: Array


def cone_wall(part: Part, other: Part, *, nested: bool) -> Gap:
    """Return the wall of two bodies as `InSpace` takes them."""
    pair = InSpace(part, other, nested)
    cones = _whole(part)
    best, direction = np.inf, np.array([0.0, 0.0, 1.0])
    least, looked = np.inf, 0
    while True:
        middles = cones.corners.sum(axis=1)
        middles /= np.linalg.norm(middles, axis=1, keepdims=True)
        p, q = pair.points(middles)
        cost = np.einsum("ij,ij->i", middles, q - p) * (1 if nested else -1)
        if cost.min() < best:
            best, direction = float(cost.min()), middles[np.argmin(cost)]
        bound = _bound(cones, p, q, nested=nested)
        looked += len(cones)
        open_ = bound < best - TOLERANCE
        if not open_.any():
            break
        if looked + 4 * int(open_.sum()) > WORK:
            least = float(bound[open_].min())
            break
        cones = _quartered(part, cones[open_])
    n, values = pair.polished(direction[None])
    return pair.gap(n[0])._replace(error=max(ERROR, TOLERANCE, float(values[0]) - least))


def _bound(cones: Cones, p: Array, q: Array, *, nested: bool) -> Array:
    """Return for each cone (k,) what the cost is no less than anywhere in it."""
    if nested:
        values = np.einsum("kij,kj->ki", cones.corners, q) - cones.reach
    else:
        values = np.einsum("kij,kj->ki", cones.corners, p - q)
    least = values.min(axis=1)
    return np.asarray(np.where(least < 0, least / _shortest(cones.corners), least))


def _shortest(corners: Array) -> Array:
    """Return how long Σ λᵢ nᵢ is at the least, Σ λᵢ = 1: the distance of the plane through them."""
    a, b, c = corners.transpose(1, 0, 2)
    n = np.cross(b - a, c - a)
    return np.asarray(np.abs(np.einsum("ij,ij->i", n, a)) / np.linalg.norm(n, axis=1))


def _reach(part: Part, n: Array) -> Array:
    return np.asarray(np.einsum("ij,ij->i", part.support_points(n), n))


def _whole(part: Part) -> Cones:
    """Return cones that cover all directions: an octahedron's, cut in four three times."""
    signs = np.array(np.meshgrid([-1, 1], [-1, 1], [-1, 1])).reshape(3, -1).T.astype(float)
    corners = np.stack([np.diag(sign) for sign in signs])
    cones = Cones(corners, _reach(part, corners.reshape(-1, 3)).reshape(-1, 3))
    for _ in range(3):
        cones = _quartered(part, cones)
    return cones


def _quartered(part: Part, cones: Cones) -> Cones:
    """Return each cone in four, parted at the middles of its sides."""
    halves = cones.corners + np.roll(cones.corners, -1, axis=1)
    halves /= np.linalg.norm(halves, axis=2, keepdims=True)
    reach = _reach(part, halves.reshape(-1, 3)).reshape(-1, 3)
    corners, values = [halves], [reach]
    for k in range(3):
        j = (k + 2) % 3
        corners.append(np.stack([cones.corners[:, k], halves[:, k], halves[:, j]], axis=1))
        values.append(np.stack([cones.reach[:, k], reach[:, k], reach[:, j]], axis=1))
    return Cones(np.concatenate(corners), np.concatenate(values))

"""The wall between convex bodies anywhere in space, from their support functions.

For bodies of few faces, the search samples the sphere of directions, then refines without
derivatives, since there are kinks. With thousands of faces a net of directions can miss a corner:
then every direction is covered, in cones between three directions each, and a cone is cut in four
as long as a smaller wall may be in it. For n = Σ λᵢ nᵢ in a cone, λᵢ ≥ 0, a support function obeys
h(n) ≥ n·q for any point q of its body, and h(n) ≤ Σ λᵢ h(nᵢ). With q the host's support point along
the middle of the cone, h_host(n) − h_part(n) ≥ Σ λᵢ (nᵢ·q − h_part(nᵢ)), no less than the least of
the three: a bound off by only the square of the cone's width. Between neighbours, with p and q
their support points along the middle, h(n) + h'(−n) ≥ n·(p − q).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np

from geometry.parts import Part
from geometry.rows import Aligned, apart
from geometry.walls.support_functions import ERROR, EVEN, Gap, Pair, ranked
from shared.arrays import Array, Index, frozen

MOST = 12
"""The most walls of one pair that are returned."""
ASIDE = 2 * np.sin(0.025)
"""The distance of two unit vectors that are 0.05 rad apart."""
TOLERANCE: Final = 1e-7
"""cm. The error at which the search stops."""
WORK: Final = 200_000
"""The most cones that are tested; the bounds of the others give the error."""


@dataclass(frozen=True)
class InSpace(Pair):
    """Convex neighbours, or a part nested in a convex host, in space; not checked here."""

    part: Part
    other: Part

    def starts(self) -> Array:
        """Return directions (k, 3) to start minimising the cost from, the best first."""
        net, near = _net(1500)
        values = self.cost(net)
        valleys = net[values <= values[near].min(axis=1)]
        between = self.other.matrix[:3, 3] - self.part.matrix[:3, 3]
        flats = np.vstack([self.part.flats, self.other.flats * (1 if self.nested else -1)])
        extra = np.vstack([flats, np.eye(3), -np.eye(3), between, -between])
        length = np.linalg.norm(extra, axis=1, keepdims=True)
        starts = np.vstack([valleys, (extra / np.maximum(length, EVEN))[length[:, 0] > EVEN]])
        return np.asarray(starts[ranked(self.cost(starts))])

    def gap(self, n: Array) -> Gap:
        """Return the wall along `n` (3,)."""
        return self.wall(n, _rays(n[None], np.array([1e-7]), 0.0)[0])

    def polished(self, n: Array, reach: float = 0.0) -> tuple[Array, Array]:
        """Return the directions (k, 3) reached from the starts `n` (k, 3), and their cost (k,).

        By pattern search. A step that fails is halved, one that succeeds is lengthened. Steps turn
        `n` about each body's own axes (its kinks lie along such circles), go outward in eight
        directions that change each time, and repeat the last step once and four times. A start that
        can't come within `reach` of the best in a hundred steps (20 cm a radian) is given up.
        """
        turned = _turns(self.part, self.other)
        value, step, last = self.cost(n), np.full(len(n), 0.04), np.zeros_like(n)
        for k in range(400):
            live = (step > 1e-11) & (value < value.min() + reach + 2000 * step)
            if not live.any():
                break
            base, size = n[live], step[live]
            onward = base[:, None] + np.array([1.0, 4.0])[None, :, None] * last[live][:, None]
            trial = np.hstack([turned(base, size), _rays(base, size, 2.4 * k), onward])
            trial /= np.linalg.norm(trial, axis=2, keepdims=True)
            values = self.cost(trial.reshape(-1, 3)).reshape(trial.shape[:2])
            pick = np.argmin(values, axis=1)
            rows = np.arange(len(pick))
            better = values[rows, pick] < value[live] - EVEN
            moved = np.where(better[:, None], trial[rows, pick], base)
            n[live], last[live] = moved, moved - base
            value[live] = np.where(better, values[rows, pick], value[live])
            step[live] = np.where(better, np.minimum(1.5 * size, 0.2), size / 2)
        return n, value


def space_wall(part: Part, other: Part, *, nested: bool) -> Gap:
    """Return the wall of two bodies: the best few of a net of directions and kinks, refined."""
    pair = InSpace(part, other, nested)
    starts = pair.starts()
    n, values = pair.polished(starts[apart(starts, ASIDE)[:8]])
    return pair.gap(n[ranked(values)[0]])


def space_walls(part: Part, other: Part, reach: float) -> tuple[Gap, ...]:
    """Return the local minima of the wall of a part in a convex host, as `space_wall` does.

    Those within `reach` (cm) of the least, at most MOST, the least first and then each as far from
    the others as possible: if they form a circle or cover the sphere, some on every side.
    """
    pair = InSpace(part, other, nested=True)
    starts = pair.starts()
    chosen = np.vstack([starts[apart(starts, ASIDE)[:8]], _spread(starts, 3 * MOST)])
    n, values = pair.polished(chosen, reach)
    n = n[ranked(values)[np.sort(values) <= np.min(values) + reach + EVEN]]
    return tuple(pair.gap(direction) for direction in _spread(n[apart(n, 1e-3)], MOST))


def _spread(n: Array, most: int) -> Array:
    """Return at most `most` of `n` (k, 3): the first, then the farthest from all before."""
    kept = [0]
    near = n @ n[0]
    while len(kept) < min(most, len(n)):
        kept.append(int(np.argmin(near)))
        near = np.maximum(near, n @ n[kept[-1]])
    return n[kept]


def _turns(*bodies: Part) -> Callable[[Array, Array], Array]:
    """Return a function for steps that turn n by ± an angle about the bodies' own axes.

    A body's local direction is m = Aᵀn; turning m by R turns n to A⁻ᵀRAᵀn.
    """
    K = np.cross(np.eye(3)[:, None], -np.eye(3))
    frames = [body.matrix[:3, :3].T for body in bodies]
    G = np.concatenate([np.linalg.inv(At) @ K @ At for At in frames])
    H = np.concatenate([np.linalg.inv(At) @ K @ K @ At for At in frames])

    def turned(n: Array, angle: Array) -> Array:
        sine, rest = np.sin(angle)[:, None, None], 2 * np.sin(angle / 2)[:, None, None] ** 2
        about, back = np.einsum("mij,kj->kmi", G, n), np.einsum("mij,kj->kmi", H, n)
        level = n[:, None] + rest * back
        return np.hstack([level + sine * about, level - sine * about])

    return turned


def _rays(n: Array, angle: Array, phase: float) -> Array:
    """Return (k, 8, 3): unit `n` (k, 3) moved by `angle` in eight directions along the sphere."""
    e = _cross(n, np.eye(3)[np.argmin(np.abs(n), axis=1)])
    e /= np.linalg.norm(e, axis=1, keepdims=True)
    bearing = phase + np.pi / 4 * np.arange(8)[None, :, None]
    out = np.cos(bearing) * e[:, None] + np.sin(bearing) * _cross(n, e)[:, None]
    return np.asarray(n[:, None] + np.tan(angle)[:, None, None] * out)


def _cross(a: Array, b: Array) -> Array:
    """Return a × b (k, 3): for a few vectors in half of numpy's time."""
    after, before = [1, 2, 0], [2, 0, 1]
    return np.asarray(a[:, after] * b[:, before] - a[:, before] * b[:, after])


@cache
def _net(count: int) -> tuple[Array, Index]:
    """Return `count` even directions, Fibonacci's golden-angle net, and the nearest of each."""
    z = 1 - (2 * np.arange(count) + 1) / count
    azimuth = np.pi * (3 - np.sqrt(5)) * np.arange(count)
    level = np.sqrt(1 - z * z)
    net = np.stack([level * np.cos(azimuth), level * np.sin(azimuth), z], axis=1)
    near = np.argpartition(-net @ net.T, 7, axis=1)[:, :7]
    return frozen(net), near


@dataclass(frozen=True, eq=False)
class Cones(Aligned):
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
    """Return a lower bound (k,) on the cost in each cone."""
    if nested:
        values = np.einsum("kij,kj->ki", cones.corners, q) - cones.reach
    else:
        values = np.einsum("kij,kj->ki", cones.corners, p - q)
    least = values.min(axis=1)
    return np.asarray(np.where(least < 0, least / _shortest(cones.corners), least))


def _shortest(corners: Array) -> Array:
    """Return the least length of Σ λᵢ nᵢ, Σ λᵢ = 1: the distance of the plane through them."""
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
    """Return each cone cut in four at the middles of its sides."""
    halves = cones.corners + np.roll(cones.corners, -1, axis=1)
    halves /= np.linalg.norm(halves, axis=2, keepdims=True)
    reach = _reach(part, halves.reshape(-1, 3)).reshape(-1, 3)
    corners, values = [halves], [reach]
    for k in range(3):
        j = (k + 2) % 3
        corners.append(np.stack([cones.corners[:, k], halves[:, k], halves[:, j]], axis=1))
        values.append(np.stack([cones.reach[:, k], reach[:, k], reach[:, j]], axis=1))
    return Cones(np.concatenate(corners), np.concatenate(values))

"""The wall between convex bodies, from their support functions h(n) = max of n·x over the body.

Nested in a convex host, a part of any shape has the wall min over unit n of h_host(n) − h_part(n).
Two convex neighbours are apart by max over n of −h_a(n) − h_b(−n); when negative, that is how far
one must be moved to be clear of the other. Both are values of n·(q − p), where p and q are support
points. (Schneider, Convex Bodies: The Brunn–Minkowski Theory, chapter 1; from memory.)

The least of them is looked for everywhere on the sphere, then polished: the function has kinks (at
the flat faces and straight sides of a body), so that no step relies on a derivative.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Protocol

import numpy as np
import numpy.typing as npt

from geometry.outline import Profile
from geometry.parts import Part
from shared.arrays import Array, frozen

ERROR = 1e-9
"""cm. The polish ends with steps of 1e-11 rad, and a wall changes by at most 20 cm a radian."""


EVEN = 1e-13
"""cm. What is no better than by this is as good: rounding."""
LEVEL = 1e-11
"""cm a radian. A slope this small is none: rounding."""
ASIDE = 1e-9
"""rad. So far aside of a kink its slope is taken."""


class Supporting(Protocol):
    """A body in space, or the section of one in its half-plane, as far as a wall asks."""

    def support_points(self, directions: Array) -> Array:
        """Return the points (k, m) farthest along unit `directions` (k, m)."""


@dataclass(frozen=True)
class Pair:
    """A part and its host (`nested`) or its neighbour."""

    part: Supporting
    other: Supporting
    nested: bool

    def points(self, n: Array) -> tuple[Array, Array]:
        """Return support points (k, m) of the part and of the other along `n` (k, m)."""
        return self.part.support_points(n), self.other.support_points(n if self.nested else -n)

    def cost(self, n: Array) -> Array:
        """Return what the wall's direction minimises, (k,): the wall if nested, else minus it."""
        p, q = self.points(n)
        gaps: Array = np.einsum("ij,ij->i", n, q - p)
        return gaps if self.nested else -gaps

    def wall(self, n: Array, ring: Callable[[], Array]) -> tuple[float, Array, Array]:
        """Return the wall along `n` (m,), the part's surface point at it (m,), and `n`.

        `ring` makes directions (k, m) close by, on all sides.
        """
        p, q = (points[0] for points in self.points(n[None]))
        wall = float(n @ (q - p))
        at = p if self.nested or wall <= 0 else _facing_point(*self.points(ring()))
        return wall, at, n


def section_wall(part: Profile, other: Profile, *, nested: bool) -> tuple[float, Array, Array]:
    """Return the wall of bodies turned about one line: the same as `space_wall`, as r and z."""
    pair = Pair(part, other, nested)
    directions = section_directions(part, other, nested=nested)
    n = directions[_ranked(pair.cost(directions))[0]] if len(directions) > 1 else directions[0]
    turn = np.arctan2(n[0], n[1])
    return pair.wall(n, lambda: _in_section(turn + np.array([0, -1e-7, 1e-7])))


def section_directions(part: Profile, other: Profile, *, nested: bool) -> Array:
    """Return the directions (k, 2), as r and z, of each local minimum of a wall's cost.

    From the line's direction round to its opposite. Where the cost is level for a stretch, those of
    its two ends and its middle.

    A problem in one angle. The slope n'·(q − p) of the cost turns from − to + at a minimum: in a
    jump at the normal of a straight side, else smoothly, where the root of it is sought.
    """
    pair = Pair(part, other, nested)

    def slope(angles: Array) -> Array:
        n = _in_section(angles)
        p, q = pair.points(n)
        across = n[:, 1] * (q - p)[:, 0] - n[:, 0] * (q - p)[:, 1]
        return across if nested else -across

    normals = np.vstack([part.normals(), other.normals() * (1 if nested else -1)])
    kinks = np.arctan2(np.abs(normals[:, 0]), normals[:, 1])
    aside = np.concatenate([kinks - ASIDE, kinks + ASIDE])
    angles = np.concatenate([np.linspace(0, np.pi, 181), aside[(aside > 0) & (aside < np.pi)]])
    angles.sort()
    slopes = slope(angles)
    signs = np.where(np.abs(slopes) > LEVEL, np.sign(slopes), 0.0)
    # at either end the section goes on as its mirror image: there a minimum needs one side only
    signs = np.array([-1.0, *np.where(np.abs(slopes) > LEVEL, np.sign(slopes), 0.0), 1.0])
    turns = np.flatnonzero(signs)
    valleys = (signs[turns[:-1]] < 0) & (signs[turns[1:]] > 0)
    low, high = turns[:-1][valleys] - 1, turns[1:][valleys] - 1
    sudden = (high == low + 1) & (low >= 0) & (high < len(angles))
    first, last = np.minimum(low[~sudden] + 1, len(angles) - 1), np.maximum(high[~sudden] - 1, 0)
    level = angles[np.concatenate([first, (first + last) // 2, last])]
    low, high = low[sudden], high[sudden]
    smooth = _roots(slope, angles[low], angles[high], slopes[low], slopes[high])
    found = np.unique(np.concatenate([level, smooth]))
    for kink in kinks:
        found[np.abs(found - kink) <= 2 * ASIDE] = kink
    return _in_section(np.unique(found))


def _roots(slope: Callable[[Array], Array], low: Array, high: Array, a: Array, b: Array) -> Array:
    """Return where `slope` goes through 0 between `low`, where it is a < 0, and `high`, b > 0: (k,).

    False position, with the value of an end halved that stays twice (Illinois' rule; Dowell &
    Jarratt, BIT 11 (1971) 168; from memory).
    """
    x, stayed = (low + high) / 2, np.zeros(len(low))
    for _ in range(100):
        if np.all(high - low < 1e-13):
            break
        x = np.clip(high - b * (high - low) / (b - a), low, high)
        value = slope(x)
        if np.all(np.abs(value) <= LEVEL):
            break
        below = value < 0
        a, b = np.where(below, value, a), np.where(below, b, value)
        a, b = np.where(~below & (stayed > 0), a / 2, a), np.where(below & (stayed < 0), b / 2, b)
        low, high = np.where(below, x, low), np.where(below, high, x)
        stayed = np.where(below, -1.0, 1.0)
    return x


def _in_section(angles: Array) -> Array:
    """Return the directions (k, 2), as r and z, at `angles` (k,) from the line."""
    return np.stack([np.sin(angles), np.cos(angles)], axis=1)


def space_wall(part: Part, other: Part, *, nested: bool) -> tuple[float, Array, Array]:
    """Return the wall (cm, signed), the part's surface point at it (3,), and its direction (3,).

    Both bodies convex, or nested in a convex host; not checked here. Found from a net of
    directions and those where kinks may lie; the best few are polished.
    """
    pair = Pair(part, other, nested)
    net, near = _net(1500)
    values = pair.cost(net)
    valleys = net[values <= values[near].min(axis=1)]
    between = other.matrix[:3, 3] - part.matrix[:3, 3]
    flats = np.vstack([part.flats, other.flats * (1 if nested else -1)])
    extra = np.vstack([flats, np.eye(3), -np.eye(3), between, -between])
    length = np.linalg.norm(extra, axis=1, keepdims=True)
    starts = np.vstack([valleys, (extra / np.maximum(length, EVEN))[length[:, 0] > EVEN]])
    values = pair.cost(starts)
    chosen: list[Array] = []
    for i in _ranked(values):
        if all(starts[i] @ other < np.cos(0.05) for other in chosen):
            chosen.append(starts[i])
        if len(chosen) == 8:
            break
    n = _polished(pair, np.array(chosen), _turns(part, other))
    return pair.wall(n, lambda: _rays(n[None], np.array([1e-7]), 0.0)[0])


def _polished(pair: Pair, n: Array, turns: Callable[[Array, Array], Array]) -> Array:
    """Return the best direction reached from the starts `n` (k, 3), by pattern search.

    A step that finds nothing better is halved, one that does is lengthened. The steps turn `n`
    about each body's own axes (its kinks lie along such circles), go outward in eight directions
    that change each time, and go on as the last step went. A start that is behind by more than a
    hundred steps could make good (20 cm a radian) is given up.
    """
    value, step, last = pair.cost(n), np.full(len(n), 0.04), np.zeros_like(n)
    for k in range(400):
        live = (step > 1e-11) & (value < value.min() + 2000 * step)
        if not live.any():
            break
        base, size = n[live], step[live]
        trial = np.concatenate(
            [turns(base, size), _rays(base, size, 2.4 * k), _onward(base, last[live])], axis=1
        )
        trial /= np.linalg.norm(trial, axis=2, keepdims=True)
        values = pair.cost(trial.reshape(-1, 3)).reshape(trial.shape[:2])
        pick = np.argmin(values, axis=1)
        rows = np.arange(len(pick))
        better = values[rows, pick] < value[live] - EVEN
        moved = np.where(better[:, None], trial[rows, pick], base)
        n[live], last[live] = moved, moved - base
        value[live] = np.where(better, values[rows, pick], value[live])
        step[live] = np.where(better, np.minimum(1.5 * size, 0.2), size / 2)
    return np.asarray(n[_ranked(value)[0]])


def _turns(*bodies: Part) -> Callable[[Array, Array], Array]:
    """Return the steps that turn n by ± an angle about the bodies' own axes.

    A body's local direction is m = Aᵀn; turning m by R turns n to A⁻ᵀRAᵀn.
    """
    K = np.zeros((3, 3, 3))
    K[[0, 1, 2], [1, 2, 0], [2, 0, 1]], K[[0, 1, 2], [2, 0, 1], [1, 2, 0]] = -1, 1
    first, second = [], []
    for body in bodies:
        At = body.matrix[:3, :3].T
        first.append(np.linalg.inv(At) @ K @ At)
        second.append(np.linalg.inv(At) @ K @ K @ At)
    G, H = np.concatenate(first), np.concatenate(second)

    def turned(n: Array, angle: Array) -> Array:
        sine, rest = np.sin(angle)[:, None, None], 2 * np.sin(angle / 2)[:, None, None] ** 2
        about, back = np.einsum("mij,kj->kmi", G, n), np.einsum("mij,kj->kmi", H, n)
        level = n[:, None] + rest * back
        return np.concatenate([level + sine * about, level - sine * about], axis=1)

    return turned


def _rays(n: Array, angle: Array, phase: float) -> Array:
    """Return (k, 8, 3): `n` moved by `angle` in eight directions along the sphere."""
    e, f = _tangents(n)
    bearing = phase + np.pi / 4 * np.arange(8)[None, :, None]
    out = np.cos(bearing) * e[:, None] + np.sin(bearing) * f[:, None]
    return np.asarray(n[:, None] + np.tan(angle)[:, None, None] * out)


def _onward(n: Array, last: Array) -> Array:
    """Return (k, 2, 3): `n` moved once and four times as the last step went."""
    return n[:, None] + np.array([1.0, 4.0])[None, :, None] * last[:, None]


def _tangents(n: Array) -> tuple[Array, Array]:
    """Return two unit vectors (k, 3) square to each other and to each of `n` (k, 3)."""
    e = np.cross(n, np.eye(3)[np.argmin(np.abs(n), axis=1)])
    e /= np.linalg.norm(e, axis=1, keepdims=True)
    return e, np.cross(n, e)


def _ranked(values: Array) -> npt.NDArray[np.intp]:
    """Return the order of `values` (k,), least first; those that are even stay as they stand."""
    return np.argsort(np.round(values, 11), kind="stable")


def _facing_point(p: Array, q: Array) -> Array:
    """Return the point (m,) of a part that faces its neighbour squarely.

    Where a wall's direction meets a flat face or a straight side, the support point is any end of
    it. `p` and `q` (k, m) are such ends; among the mixtures of each, the two nearest each other
    are found (Frank & Wolfe, Naval Research Logistics Quarterly 3 (1956) 95; from memory).
    """
    a, b = p.mean(axis=0), q.mean(axis=0)
    for _ in range(100):
        gap = a - b
        step_a, step_b = p[np.argmin(p @ gap)] - a, q[np.argmax(q @ gap)] - b
        step = step_a - step_b
        gain = -float(gap @ step)
        if gain <= 1e-13:
            break
        share = min(1.0, gain / float(step @ step))
        a, b = a + share * step_a, b + share * step_b
    return np.asarray(a)


@cache
def _net(count: int) -> tuple[Array, npt.NDArray[np.intp]]:
    """Return `count` directions spread evenly over the sphere, and the six nearest to each.

    Fibonacci's net: steps of equal height, turned by the golden angle each.
    """
    z = 1 - (2 * np.arange(count) + 1) / count
    azimuth = np.pi * (3 - np.sqrt(5)) * np.arange(count)
    level = np.sqrt(1 - z * z)
    net = np.stack([level * np.cos(azimuth), level * np.sin(azimuth), z], axis=1)
    near = np.argpartition(-net @ net.T, 7, axis=1)[:, :7]
    return frozen(net), near

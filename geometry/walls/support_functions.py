"""The wall between convex bodies, from their support functions h(n) = max of n·x over the body.

Nested in a convex host, a part of any shape has the wall min over unit n of h_host(n) − h_part(n).
The distance of two convex neighbours is max over n of −h_a(n) − h_b(−n); if negative, it is minus
the shift that separates them. Both are values of n·(q − p), where p and q are support points.
(Schneider, Convex Bodies: The Brunn–Minkowski Theory, chapter 1; from memory.)

The function has kinks, at the flat faces and straight sides of a body.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from geometry.outlines.profile import Profile
from geometry.parts import Part
from shared.arrays import Array, Index

ERROR = 1e-9
"""cm. The refinement ends with steps of 1e-11 rad, and a wall changes by at most 20 cm a radian."""
EVEN = 1e-13
"""cm. An improvement no larger than this is rounding."""
LEVEL = 1e-11
"""cm a radian. A slope this small is rounding."""
SETTLED = 1e-9
"""cm a radian. The slope at which the root is found: the wall is then exact to double precision."""
SHORT = 1e-5
"""cm. Sides that face each other along less than this do so at a point."""
ASIDE = 1e-9
"""rad. The distance from a kink at which its one-sided slopes are taken."""


class Gap(NamedTuple):
    """A wall in the axes of its search: in space, or as r and z.

    `thickness` (signed) and a bound on its `error`, cm; the part's surface point `at` the wall and
    the unit `direction` from there to the other surface, (m,) each.
    """

    thickness: float
    error: float
    at: Array
    direction: Array


@dataclass(frozen=True)
class Pair:
    """A part and its host (`nested`) or its neighbour: bodies in space, or their half-sections."""

    part: Part | Profile
    other: Part | Profile
    nested: bool

    def points(self, n: Array) -> tuple[Array, Array]:
        """Return support points (k, m) of the part and of the other along `n` (k, m)."""
        return self.part.support_points(n), self.other.support_points(n if self.nested else -n)

    def cost(self, n: Array) -> Array:
        """Return the cost (k,) that the wall's direction minimises: ± the wall, + if nested."""
        p, q = self.points(n)
        gaps: Array = np.einsum("ij,ij->i", n, q - p)
        return gaps if self.nested else -gaps

    def wall(self, n: Array, ring: Array) -> Gap:
        """Return the wall along `n` (m,); `ring` (k, m) are directions close to it, all round."""
        p, q = (points[0] for points in self.points(n[None]))
        at = p if self.nested else _facing_point(*self.points(ring))
        return Gap(float(n @ (q - p)), ERROR, at, n)


def section_wall(part: Profile, other: Profile, *, nested: bool) -> Gap:
    """Return the wall of bodies turned about one line, as in space but in r and z."""
    pair = Pair(part, other, nested)
    directions = section_directions(part, other, nested=nested)
    n = directions[ranked(pair.cost(directions))[0] if len(directions) > 1 else 0]
    return pair.wall(n, _ring(n))


def section_walls(part: Profile, other: Profile, *, nested: bool, reach: float) -> tuple[Gap, ...]:
    """Return the local minima of the wall within `reach` (cm) of the least, the least first.

    If straight sides face each other along a stretch, both ends of it count.
    """
    pair = Pair(part, other, nested)
    directions = section_directions(part, other, nested=nested)
    costs = pair.cost(directions)
    order = ranked(costs)
    return tuple(
        Gap(float(cost if nested else -cost), ERROR, at, n)
        for cost, n in zip(costs[order], directions[order], strict=True)
        if cost <= costs.min() + reach + EVEN
        for at in _stretch(*pair.points(_ring(n)[1:]), n)
    )


def _stretch(p: Array, q: Array, n: Array) -> Array:
    """Return the ends (2, 2) of the stretch of the part's side that the other's side faces.

    `p` and `q` (2, 2) are the ends of the sides, perpendicular to `n`; a short stretch has a single
    end (1, 2).
    """
    along = np.array([n[1], -n[0]])
    a, b = np.sort(p @ along), np.sort(q @ along)
    low, high = max(a[0], b[0]), min(a[1], b[1])
    places = np.array([low, high]) if high - low > SHORT else np.array([(low + high) / 2])
    foot = p[0] - (p[0] @ along) * along
    return np.asarray(foot + places[:, None] * along)


def section_directions(part: Profile, other: Profile, *, nested: bool) -> Array:
    """Return the directions (k, 2), as r and z, of each local minimum of a wall's cost.

    From the line's direction round to its opposite. The slope n'·(q − p) of the cost changes from −
    to + at a minimum: in a jump at the normal of a straight side, else at a root. If the cost is
    constant on a stretch, its two ends and its middle count.
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
    # at either end the section continues as its mirror image, so a minimum needs one side only
    signs = np.array([-1.0, *np.where(np.abs(slopes) > LEVEL, np.sign(slopes), 0.0), 1.0])
    turns = np.flatnonzero(signs)
    valleys = (signs[turns[:-1]] < 0) & (signs[turns[1:]] > 0)
    low, high = turns[:-1][valleys] - 1, turns[1:][valleys] - 1
    sudden = (high == low + 1) & (low >= 0) & (high < len(angles))
    first, last = np.minimum(low[~sudden] + 1, len(angles) - 1), np.maximum(high[~sudden] - 1, 0)
    level = angles[np.concatenate([first, (first + last) // 2, last])]
    low, high = low[sudden], high[sudden]
    jump = angles[high] - angles[low] < 2.5 * ASIDE
    level = np.concatenate([level, angles[low[jump]]])
    low, high = low[~jump], high[~jump]
    smooth = _roots(slope, angles[low], angles[high], slopes[low], slopes[high])
    turns_at = np.unique(np.concatenate([level, smooth]))
    for kink in kinks:
        turns_at[np.abs(turns_at - kink) <= 2 * ASIDE] = kink
    return _in_section(np.unique(turns_at))


def _roots(slope: Callable[[Array], Array], low: Array, high: Array, a: Array, b: Array) -> Array:
    """Return the roots (k,) of `slope` between `low`, where it is a < 0, and `high`, b > 0.

    By false position, halving the value of an end that stays twice (Illinois rule; Dowell &
    Jarratt, BIT 11 (1971) 168; from memory).
    """
    x, stayed = (low + high) / 2, np.zeros(len(low))
    for _ in range(100):
        if np.all(high - low < 1e-13):
            break
        x = np.clip(high - b * (high - low) / (b - a), low, high)
        value = slope(x)
        if np.all(np.abs(value) <= SETTLED):
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


def _ring(n: Array) -> Array:
    """Return the direction `n` (2,) and one close to it on either side, (3, 2)."""
    return _in_section(np.arctan2(n[0], n[1]) + np.array([0, -1e-7, 1e-7]))


def ranked(values: Array) -> Index:
    """Return the order of `values` (k,), least first; equal ones keep their order."""
    return np.argsort(np.round(values, 11), kind="stable")


def _facing_point(p: Array, q: Array) -> Array:
    """Return the point (m,) of a part that faces its neighbour squarely.

    Normal to a flat face or a straight side, the support point is any end of it. `p` and `q` (k, m)
    are such ends; the closest points of their convex hulls are found (Frank & Wolfe, Naval Research
    Logistics Quarterly 3 (1956) 95; from memory).
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

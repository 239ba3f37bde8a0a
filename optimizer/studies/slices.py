"""What a polytope of balls reaches, slice by slice of equal low RG, exactly.

With all parts on the pin axis, u = RG_low², c (the CG's height) and w = I⊥/m about the centre are
linear in the densities; RG_high² is w, or w − c² about the CG. On a slice the greatest w − c² is a
concave program in the plane (c, w), the least lies at an end of the slice, on an edge of the
polytope. Between the u of neighbouring corners both are concave in u, so a chord is off by at
most twice what it is off in the middle: the error of a chain of points is known, not guessed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise, product

import numpy as np
from scipy.optimize import brentq

from optimizer.studies.bands import Makers
from optimizer.studies.polytope import Polytope
from shared.arrays import Array

ERROR = 2e-6 * 2.54
"""cm (0.000002 in). How far a line may be from the true one: a corner where two lines meet at a
small angle is off by several times that."""
FLAT = 1e-9
"""cm². Low RGs² nearer than this are one slice."""
DEEPEST = 14
"""Times a stretch between corners is halved at the most."""


@dataclass(frozen=True, eq=False)
class Mix:
    """A point of a line: RG_high² (cm²), the densities (n,) of a ball that has it, its makers."""

    square: float
    densities: Array
    makers: Makers = ()


@dataclass(frozen=True, eq=False)
class Slices:
    """Corners (k, n) of a polytope, their u, c and w (k,), and its edges (e, 2).

    `c` is zero throughout where RGs are about the centre.
    """

    corners: Array
    u: Array
    c: Array
    w: Array
    edges: np.ndarray

    @classmethod
    def of(cls, some: Polytope, corners: Array, u: Array, c: Array, w: Array) -> Slices:
        """Return the slices of a polytope whose corners have these figures."""
        return cls(corners, u, c, w, some.edges)

    @property
    def knots(self) -> Array:
        """The u of the corners, without copies: between two, the same edges are cut."""
        u = np.sort(self.u)
        return np.asarray(u[np.concatenate([[True], np.diff(u) > FLAT])])

    def ends(self, u: float) -> tuple[Mix, Mix]:
        """Return the least and the greatest RG_high² at `u`."""
        a, b, part = self._cut(u)
        c = self.c[a] + part * (self.c[b] - self.c[a])
        w = self.w[a] + part * (self.w[b] - self.w[a])
        square = w - c * c

        def mix(i: int) -> Array:
            return np.asarray(
                self.corners[a[i]] + part[i] * (self.corners[b[i]] - self.corners[a[i]])
            )

        least = int(np.argmin(square))
        low = Mix(float(square[least]), mix(least))
        i, j, share = _highest(c, w)
        high = mix(i) + share * (mix(j) - mix(i))
        at = c[i] + share * (c[j] - c[i])
        return low, Mix(float(w[i] + share * (w[j] - w[i]) - at * at), high)

    def _cut(self, u: float) -> tuple[np.ndarray, np.ndarray, Array]:
        """Return where edges cross the slice: from corner a to corner b, by which part."""
        here = np.flatnonzero(np.abs(self.u - u) <= FLAT)
        a, b = self.edges[:, 0], self.edges[:, 1]
        ua, ub = self.u[a] - u, self.u[b] - u
        crosses = (ua * ub < 0.0) & (np.abs(ua - ub) > FLAT)
        a, b = a[crosses], b[crosses]
        part = ua[crosses] / (ua[crosses] - ub[crosses])
        zero = np.zeros(len(here))
        return np.r_[here, a], np.r_[here, b], np.r_[zero, part]


def _highest(c: Array, w: Array) -> tuple[int, int, float]:
    """Return between which two points (c, w), and where, w − c² is greatest on their hull."""
    best = int(np.argmax(w - c * c))
    found, value = (best, best, 0.0), float(w[best] - c[best] ** 2)
    hull = _upper_hull(c, w)
    for i, j in pairwise(hull):
        run = float(c[j] - c[i])
        if run <= 1e-12:
            continue
        share = (float(w[j] - w[i]) / run / 2 - float(c[i])) / run
        if 0.0 < share < 1.0:
            at = float(c[i]) + share * run
            here = float(w[i] + share * (w[j] - w[i])) - at * at
            if here > value:
                found, value = (i, j, share), here
    return found


def _upper_hull(x: Array, y: Array) -> list[int]:
    """Return the points of the upper hull, left to right (Andrew's monotone chain)."""
    chain: list[int] = []
    for k in np.lexsort((y, x)).tolist():
        while len(chain) > 1:
            i, j = chain[-2], chain[-1]
            if (x[j] - x[i]) * (y[k] - y[i]) < (y[j] - y[i]) * (x[k] - x[i]):
                break
            chain.pop()
        chain.append(k)
    return chain


@dataclass(frozen=True, eq=False)
class Chain:
    """Low RG² (m,) and the ends of each slice; `error` (cm) bounds what lies between."""

    u: Array
    low: tuple[Mix, ...]
    high: tuple[Mix, ...]
    error: float


def chain(
    knots: Array,
    ends: Callable[[float], tuple[Mix, Mix]],
    error: float = ERROR,
    deepest: int = DEEPEST,
    *,
    proven: bool = True,
) -> Chain:
    """Return the slices at the knots, and as many between as keep the chain within `error`.

    Right where, between two knots, the ends' RG_high² are concave in u. A stretch is halved
    `deepest` times at the most. Where they aren't known to be concave (not `proven`), the error is
    an estimate, and on a steep stretch it is taken along the RG.
    """
    us, pairs, worst = [float(knots[0])], [ends(float(knots[0]))], 0.0

    def between(u0: float, p0: tuple[Mix, Mix], u1: float, p1: tuple[Mix, Mix], depth: int) -> None:
        nonlocal worst
        middle = (u0 + u1) / 2
        here = ends(middle)
        off = max(
            _off((u0, middle, u1), (p0[side].square, here[side].square, p1[side].square))
            for side in (0, 1)
        )
        if not proven:
            off = min(off, float(np.sqrt(u1) - np.sqrt(u0)))
        if off > error and depth < deepest:
            between(u0, p0, middle, here, depth + 1)
            between(middle, here, u1, p1, depth + 1)
            return
        worst = max(worst, off)
        us.append(u1)
        pairs.append(p1)

    for u1 in knots[1:].tolist():
        between(us[-1], pairs[-1], u1, ends(u1), 0)
    low, high = zip(*pairs, strict=True)
    return Chain(np.array(us), low, high, worst)


def with_levels(
    found: Chain, ends: Callable[[float], tuple[Mix, Mix]], levels: Sequence[float]
) -> Chain:
    """Return the chain with slices more, where either line has one of these differentials (cm).

    There a window is cut off: so its corners are exact.
    """
    rows = list(zip(found.u.tolist(), found.low, found.high, strict=True))
    more = []
    for (u0, *first), (u1, *last) in pairwise(rows):
        for side, level in product((0, 1), levels):

            def over(u: float, side: int = side, level: float = level) -> float:
                return _differential(u, ends(u)[side]) - level

            before, after = (
                _differential(u, m[side]) - level for u, m in ((u0, first), (u1, last))
            )
            if before * after < 0.0:
                at = float(brentq(over, u0, u1, xtol=1e-12))
                more.append((at, *ends(at)))
    us, low, high = zip(*sorted([*rows, *more], key=lambda row: row[0]), strict=True)
    return Chain(np.array(us), low, high, found.error)


def _differential(u: float, mix: Mix) -> float:
    return float(np.sqrt(max(mix.square, 0.0)) - np.sqrt(u))


def _off(u: tuple[float, float, float], v: tuple[float, float, float]) -> float:
    """Return by how much a straight line from (√u₀, √v₀ − √u₀) to the other end can be off, cm.

    The chord in squares is off by at most twice the middle's error; and the straight line from that
    chord's image, a curve without an inflection, by at most twice as much as in its middle.
    """
    if min(*u, *v) <= 0.0:
        return 0.0  # no ball has it: cut off later
    squares = abs(v[1] - (v[0] + v[2]) / 2) / np.sqrt(min(v))
    r = np.sqrt(np.array([u[0], u[2]]))
    middle = float(np.mean(r)) ** 2
    chord = v[0] + (v[2] - v[0]) * (middle - u[0]) / (u[2] - u[0])
    straight = abs(np.sqrt(chord) - (np.sqrt(v[0]) + np.sqrt(v[2])) / 2)
    return float(squares + 2 * straight)

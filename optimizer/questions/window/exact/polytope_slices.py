"""What a polytope of balls reaches, slice by slice of equal low RG, exactly.

With all parts on the pin axis, the CG's height c and all I/m about the centre are linear in the
densities. About the CG an RG² across the pin is w − c², where w is its I/m about the centre. So a
linear *key* s is held: RG_low² with the pin axis low, RG_high² with it high, and the difference of
the two with it between. On a slice of equal s the greatest w − c² is a concave program in the plane
(c, w); the least lies at an end of the slice, on an edge of the polytope. Between the s of
neighbouring corners both are concave in s, so a chord's error is at most twice that in its middle:
the error of a chain of points is known, not guessed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise, product
from operator import itemgetter

import numpy as np

from optimizer.questions.window.exact.bands import Makers, apart
from shared.arrays import Array, frozen

ERROR = 2e-6 * 2.54
"""cm (0.000002 in). The largest error of a line. A corner where two lines meet at a small angle is
off by several times that."""
FLAT = 1e-9
"""cm². Keys closer than this are one slice."""
DEEPEST = 14
"""Times a stretch between corners is halved at most."""


@dataclass(frozen=True, eq=False)
class Mix:
    """A point of a line: w − c² (cm²), the densities (n,) of a ball that has it, its makers."""

    square: float
    densities: Array
    makers: Makers = ()


@dataclass(frozen=True, eq=False)
class Plane:
    """How the key s and the sought t = w − c² make (RG_low², RG_high²): `squares` @ (s, t)."""

    squares: Array

    @cached_property
    def _rows(self) -> tuple[tuple[float, float], ...]:
        return tuple((float(a), float(b)) for a, b in self.squares)

    def figures(self, s: float, t: float) -> tuple[float, float]:
        """Return low RG and differential, cm; impossible figures are cut off later."""
        low, high = (math.sqrt(max(a * s + b * t, 0.0)) for a, b in self._rows)
        return low, high - low

    def off(self, s: Sequence[float], t: Sequence[float]) -> float:
        """Return a bound on the error (cm) of a straight line from the first to the third point.

        In squares, the chord's error is at most twice that in its middle. The chord's
        image is part of a conic, without an inflection: its error is at most that in its middle, in
        proportion to the nearer end.
        """
        least = [min(a * x + b * y for x, y in zip(s, t, strict=True)) for a, b in self._rows]
        if min(least) <= 0.0:
            return 0.0  # impossible: cut off later
        chord = (t[0] + t[2]) / 2
        rows = zip(self._rows, least, strict=True)
        moved = max(abs(t[1] - chord) * b / math.sqrt(square) for (_, b), square in rows)
        first, middle, last = map(self.figures, s, (t[0], chord, t[2]))
        way = middle[0] - first[0], middle[1] - first[1]
        run = last[0] - first[0], last[1] - first[1]
        length = math.hypot(*run)
        if length == 0.0:
            return moved
        part = (way[0] * run[0] + way[1] * run[1]) / length**2
        beside = abs(way[0] * run[1] - way[1] * run[0]) / length
        return moved + beside / min(part, 1.0 - part)


PIN_LOW, PIN_BETWEEN, PIN_HIGH = (
    Plane(frozen(rows)) for rows in ([[1, 0], [0, 1]], [[0, 1], [1, 1]], [[0, 1], [1, 0]])
)


@dataclass(frozen=True, eq=False)
class Slices:
    """Corners (k, n) of a polytope, their key s, c and w (k,), and its edges (e, 2).

    `c` is zero throughout where RGs are about the centre.
    """

    corners: Array
    s: Array
    c: Array
    w: Array
    edges: np.ndarray

    @property
    def knots(self) -> Array:
        """The keys of the corners, without copies: between two, the same edges are cut."""
        return apart(self.s, FLAT)

    def ends(self, s: float) -> tuple[Mix, Mix]:
        """Return the least and the greatest w − c² at the key `s`."""
        a, b, part = self._cut(s)
        c = self.c[a] + part * (self.c[b] - self.c[a])
        w = self.w[a] + part * (self.w[b] - self.w[a])
        square = w - c * c

        def mix(i: int) -> Array:
            first, last = self.corners[[a[i], b[i]]]
            return np.asarray(first + part[i] * (last - first))

        least = int(np.argmin(square))
        low = Mix(float(square[least]), mix(least))
        i, j, share = _highest(c, w)
        high = mix(i) + share * (mix(j) - mix(i))
        at = c[i] + share * (c[j] - c[i])
        return low, Mix(float(w[i] + share * (w[j] - w[i]) - at * at), high)

    def _cut(self, s: float) -> tuple[np.ndarray, np.ndarray, Array]:
        """Return where edges cross the slice: from which corner to which, and how far along."""
        here = np.flatnonzero(np.abs(self.s - s) <= FLAT)
        a, b = self.edges[:, 0], self.edges[:, 1]
        sa, sb = self.s[a] - s, self.s[b] - s
        crosses = (sa * sb < 0.0) & (np.abs(sa - sb) > FLAT)
        a, b = a[crosses], b[crosses]
        part = sa[crosses] / (sa[crosses] - sb[crosses])
        zero = np.zeros(len(here))
        joined = np.concatenate
        return joined([here, a]), joined([here, b]), joined([zero, part])


def _highest(c: Array, w: Array) -> tuple[int, int, float]:
    """Return between which two points (c, w), and where, w − c² is greatest on their hull."""
    k = int(np.argmax(w - c * c))
    best, value = (k, k, 0.0), float(w[k] - c[k] ** 2)
    for i, j in pairwise(_upper_hull(c, w)):
        run = float(c[j] - c[i])
        if run <= 1e-12:
            continue
        share = (float(w[j] - w[i]) / run / 2 - float(c[i])) / run
        if 0.0 < share < 1.0:
            at = float(c[i]) + share * run
            here = float(w[i] + share * (w[j] - w[i])) - at * at
            if here > value:
                best, value = (i, j, share), here
    return best


def _upper_hull(x: Array, y: Array) -> list[int]:
    """Return the points of the upper hull, left to right (Andrew's monotone chain)."""
    chain: list[int] = []
    x, y = x.tolist(), y.tolist()  # plain numbers: quicker, one at a time
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
    """Keys (m,) and the ends of each slice; `error` (cm) bounds what lies between."""

    s: Array
    low: tuple[Mix, ...]
    high: tuple[Mix, ...]
    error: float
    plane: Plane

    @property
    def lines(self) -> tuple[Array, Array]:
        """Low RG and differential (m, 2), cm, along the least and along the greatest w − c²."""
        low, high = (
            frozen([self.plane.figures(s, m.square) for s, m in zip(self.s, side, strict=True)])
            for side in (self.low, self.high)
        )
        return low, high


def chain(
    knots: Array,
    ends: Callable[[float], tuple[Mix, Mix]],
    error: float = ERROR,
    deepest: int = DEEPEST,
    *,
    plane: Plane = PIN_LOW,
    proven: bool = True,
) -> Chain:
    """Return the slices at the knots, and as many between as keep the chain within `error`.

    The error is a bound where the ends' w − c² are concave in s between knots. A stretch is halved
    at most `deepest` times. Where concavity isn't known (not `proven`), the error is an estimate,
    and on a steep stretch it is taken along the RG.
    """
    keys, pairs, worst = [float(knots[0])], [ends(float(knots[0]))], 0.0

    def between(s0: float, p0: tuple[Mix, Mix], s1: float, p1: tuple[Mix, Mix], depth: int) -> None:
        nonlocal worst
        middle = (s0 + s1) / 2
        here = ends(middle)
        off = max(
            plane.off((s0, middle, s1), (p0[side].square, here[side].square, p1[side].square))
            for side in (0, 1)
        )
        if not proven:
            off = min(off, float(np.sqrt(s1) - np.sqrt(s0)))
        if off > error and depth < deepest:
            between(s0, p0, middle, here, depth + 1)
            between(middle, here, s1, p1, depth + 1)
            return
        worst = max(worst, off)
        keys.append(s1)
        pairs.append(p1)

    for s1 in knots[1:].tolist():
        between(keys[-1], pairs[-1], s1, ends(s1), 0)
    low, high = zip(*pairs, strict=True)
    return Chain(np.array(keys), low, high, worst, plane)


def with_levels(
    curve: Chain, ends: Callable[[float], tuple[Mix, Mix]], levels: Sequence[float]
) -> Chain:
    """Return the chain with more slices, where either line has one of these differentials (cm).

    The window is cut off there, so its corners become exact.
    """
    from scipy.optimize import brentq  # noqa: PLC0415 - heavy: only where windows are drawn

    rows = list(zip(curve.s.tolist(), curve.low, curve.high, strict=True))
    more = []
    for (s0, *first), (s1, *last) in pairwise(rows):
        for side, level in product((0, 1), levels):

            def over(s: float, mix: Mix, level: float = level) -> float:
                return curve.plane.figures(s, mix.square)[1] - level

            if over(s0, first[side]) * over(s1, last[side]) < 0.0:
                at = brentq(lambda s, n=side, f=over: f(s, ends(s)[n]), s0, s1, xtol=1e-12)
                more.append((float(at), *ends(float(at))))
    keys, low, high = zip(*sorted([*rows, *more], key=itemgetter(0)), strict=True)
    return replace(curve, s=np.array(keys), low=low, high=high)

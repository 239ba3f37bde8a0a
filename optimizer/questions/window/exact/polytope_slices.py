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

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from optimizer.questions.window.exact.bands import apart
from optimizer.questions.window.exact.makers import Makers
from shared.arrays import Array, frozen

FLAT = 1e-9
"""cm². Keys closer than this are one slice."""
AT_ONCE = 1 << 18
"""Edges that are cut at once, at most."""
FEW = 20
"""Places of a slice: of so many, comparing all pairs is quicker than to walk their hull."""


@dataclass(frozen=True, eq=False)
class Mix:
    """A point of a line: w − c² (cm²), the densities (n,) of a ball that has it, its makers."""

    square: float
    densities: Array
    makers: Makers = ()


Pair: TypeAlias = tuple[Mix, Mix]
"""The least and the greatest of a slice."""
Ends: TypeAlias = Callable[[Sequence[float]], Sequence[Pair]]
"""What the slices of some keys end with."""


@dataclass(frozen=True, eq=False)
class Plane:
    """How the key s and the sought t = w − c² make (RG_low², RG_high²): `squares` @ (s, t)."""

    squares: Array

    def figures(self, s: Array, t: Array) -> Array:
        """Return low RG and differential (2, …), cm; impossible figures are cut off later."""
        low, high = np.sqrt(np.maximum(self._squared(s, t), 0.0))
        return np.stack((low, high - low))

    def _squared(self, s: Array, t: Array) -> Array:
        """Return the squares (2, …) of low and high RG, cm²."""
        return np.stack([of_s * s + of_t * t for of_s, of_t in self.squares.tolist()])

    def off(self, s: Array, t: Array) -> Array:
        """Return bounds (k,) on the error (cm) of straight lines from first to third point (3, k).

        In squares, the chord's error is at most twice that in its middle. The chord's
        image is part of a conic, without an inflection: its error is at most that in its middle, in
        proportion to the nearer end.
        """
        least = np.min(self._squared(s, t), axis=1)
        possible = np.min(least, axis=0) > 0.0  # else cut off later
        bent = np.abs(t[1] - (t[0] + t[2]) / 2)
        root = np.sqrt(np.where(possible, least, 1.0))
        moved = np.max(bent * self.squares[:, 1:] / root, axis=0)
        first, middle, last = np.moveaxis(
            self.figures(s, np.stack((t[0], (t[0] + t[2]) / 2, t[2]))), 1, 0
        )
        (ax, ay), (bx, by) = middle - first, last - first
        square = bx * bx + by * by
        length = np.where(square > 0.0, square, 1.0)
        part = (ax * bx + ay * by) / length
        share = np.where(square > 0.0, np.minimum(part, 1.0 - part), 1.0)
        beside = np.abs(ax * by - ay * bx) / np.sqrt(length)
        return np.where(possible, moved + beside / share, 0.0)


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

    def ends(self, keys: Sequence[float]) -> list[Pair]:
        """Return the least and the greatest w − c² at each of the keys."""
        every = np.asarray(keys)
        most = max(1, AT_ONCE // (len(self.s) + len(self.edges)))
        parts = np.array_split(every, range(most, len(every), most))
        return [pair for part in parts for pair in self._ends(part)]

    def _ends(self, keys: Array) -> Iterator[Pair]:
        a, b, part, inside = self._cut(keys)
        c = self.c[a] + part * (self.c[b] - self.c[a])
        w = self.w[a] + part * (self.w[b] - self.w[a])
        square = np.where(inside, w - c * c, np.inf)
        row = np.arange(len(keys))

        def mix(k: Array) -> Array:
            first, last = self.corners[a[row, k]], self.corners[b[row, k]]
            return np.asarray(first + part[row, k, None] * (last - first))

        least = np.argmin(square, axis=1)
        low = mix(least)
        i, j, share, most = (_highest if c.shape[1] <= FEW else _walked)(c, w, inside)
        high = mix(i)
        high += share[:, None] * (mix(j) - high)
        for k, (near, far) in enumerate(
            zip(square[row, least].tolist(), most.tolist(), strict=True)
        ):
            yield Mix(near, low[k]), Mix(far, high[k])

    def _cut(self, keys: Array) -> tuple[np.ndarray, np.ndarray, Array, np.ndarray]:
        """Return where edges cross each slice: from which corner to which, and how far along.

        (slices, places) each, and whether it is a place: slices have more and fewer of them.
        """
        here = np.abs(self.s - keys[:, None]) <= FLAT
        a, b = self.edges[:, 0], self.edges[:, 1]
        sa, sb = self.s[a] - keys[:, None], self.s[b] - keys[:, None]
        crosses = (sa * sb < 0.0) & (np.abs(sa - sb) > FLAT)
        part = np.divide(sa, sa - sb, out=np.zeros_like(sa), where=crosses)
        inside = np.concatenate([here, crosses], axis=1)
        corners = np.arange(len(self.s))
        a, b = np.concatenate([corners, a]), np.concatenate([corners, b])
        part = np.concatenate([np.zeros(here.shape), part], axis=1)
        first = np.argsort(~inside, axis=1, kind="stable")[:, : int(inside.sum(axis=1).max())]
        row = np.arange(len(keys))[:, None]
        return a[first], b[first], part[row, first], inside[row, first]


def _walked(c: Array, w: Array, inside: np.ndarray) -> tuple[np.ndarray, np.ndarray, Array, Array]:
    """Return what `_highest` does, from the edges of each slice's hull alone."""
    found = []
    for c_here, w_here, held in zip(c, w, inside, strict=True):
        of = np.flatnonzero(held)
        x, y = c_here[of], w_here[of]
        hull = np.array(_upper_hull(x, y))
        i, j, share, most = _highest(x[None, hull], y[None, hull], np.ones((1, len(hull)), bool))
        found.append((of[hull[i[0]]], of[hull[j[0]]], share[0], most[0]))
    first, last, shares, values = map(np.array, zip(*found, strict=True))
    return first, last, shares, values


def _upper_hull(x: Array, y: Array) -> list[int]:
    """Return the points of the upper hull, left to right (Andrew's monotone chain)."""
    hull: list[int] = []
    xs, ys = x.tolist(), y.tolist()  # plain numbers: quicker, one at a time
    for k in np.lexsort((y, x)).tolist():
        while len(hull) > 1:
            i, j = hull[-2], hull[-1]
            if (xs[j] - xs[i]) * (ys[k] - ys[i]) < (ys[j] - ys[i]) * (xs[k] - xs[i]):
                break
            hull.pop()
        hull.append(k)
    return hull


def _highest(c: Array, w: Array, inside: np.ndarray) -> tuple[np.ndarray, np.ndarray, Array, Array]:
    """Return between which two places (c, w), and where, w − c² is greatest on their hull.

    Of each slice (k,): the two places, how far from the first to the second, and w − c² there. It
    is on an edge of the hull, so the best of all chords has it.
    """
    run = c[:, None, :] - c[:, :, None]
    rise = w[:, None, :] - w[:, :, None]
    chord = inside[:, None, :] & inside[:, :, None] & (run > 1e-12)
    slope = np.divide(rise, run, out=np.zeros_like(run), where=chord)
    share = np.divide(slope / 2 - c[:, :, None], run, out=np.zeros_like(run), where=chord)
    share = np.where((share > 0.0) & (share < 1.0), share, 0.0)
    at = c[:, :, None] + share * run
    value = np.where(inside[:, :, None], w[:, :, None] + share * rise - at * at, -np.inf)
    flat = value.reshape(len(c), -1)
    best, row = np.argmax(flat, axis=1), np.arange(len(c))
    i, j = np.divmod(best, c.shape[1])
    return i, j, share[row, i, j], flat[row, best]

"""Where lines along u on solids' patches cross other solids' patches, up to rounding.

Such a line is straight, or an arc after an affine map, so the function that is 0 on another patch
is a polynomial along it: in u, or in the tangent of a quarter of the angle. Its roots are the
crossings.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

import numpy as np
from numpy.polynomial.polynomial import polyder, polyval

from geometry.solids.patches import Lines, Patches
from geometry.surfaces.cells import Sought
from shared.arrays import Array, Index, Mask

ON: Final = 1e-11
"""Of the size: a line that stays closer to a patch than this lies on it."""
FEW: Final = 64
"""Up to this many patches of a solid are all tested."""
PIECES: Final = 128
"""The most pieces that a line is cut into for a search among many small patches."""
PAIRS: Final = 100_000
"""Pairs of a line and a patch that are tested at a time: 50 MB."""
STEPS: Final = 60
"""The most steps toward a root; Newton's method takes about six."""
FINE: Final = 1e-9
"""A step shorter than this is the last, since each doubles the number of digits."""


class _Pairs(NamedTuple):
    """Pieces of lines, from u = `low` to `high`, each with a patch that may cross it (n,)."""

    line: Index
    patch: Index
    low: Array
    high: Array


class Crossings:
    """The search for crossings with `patches`; `pairs` counts the lines and patches tested."""

    def __init__(self, patches: Patches) -> None:
        self.patches, self.pairs = patches, 0
        each = [np.flatnonzero(patches.owner == k) for k in range(len(patches.solids))]
        self._width = [float(np.median(patches.radii[of])) for of in each]
        self._sought = {
            k: Sought(patches.middles[of], patches.radii[of])
            for k, of in enumerate(each)
            if len(of) > FEW
        }

    def places(self, lines: Lines) -> tuple[Index, Array, Index]:
        """Return the crossings of lines with other solids' patches: the line, u, and the name."""
        none = np.empty(0, dtype=np.intp)
        places = [(none, np.empty(0), none)]
        places += [self._crossed(lines, pairs) for pairs in self._pairs(lines)]
        line, u, name = (np.concatenate(of) for of in zip(*places, strict=True))
        return line, u, name

    def alone(self) -> Mask:
        """Return which patches (k,) no other solid's surface is near, by balls around them."""
        points, radius = self.patches.middles, self.patches.radii
        near = np.zeros(len(self.patches.owner), dtype=bool)
        for k, solid in enumerate(self.patches.solids):
            others = np.flatnonzero(self.patches.owner != k)
            if k in self._sought:
                i, j = self._sought[k].within(points[others], radius[others])
                i, j = others[i], j + int(np.searchsorted(self.patches.owner, k))
                reached = np.abs(self.patches.height(points[i], j)) <= radius[i]
                reached &= np.abs(self.patches.height(points[j], i)) <= radius[j]
                near[i[reached]] = True
            else:
                near[others[solid.clearance(points[others]) <= radius[others]]] = True
        return ~near

    def _pairs(self, lines: Lines) -> Iterator[_Pairs]:
        """Yield pairs of pieces of lines and other solids' patches that may cross them."""
        own = self.patches.owner[lines.patch]
        for k in range(len(self.patches.solids)):
            patches, line = np.flatnonzero(self.patches.owner == k), np.flatnonzero(own != k)
            step = max(1, PAIRS // (len(patches) if len(patches) <= FEW else 8 * PIECES))
            for m in range(0, len(line), step):
                batch = line[m : m + step]
                if len(patches) <= FEW:
                    pair = np.repeat(batch, len(patches)), np.tile(patches, len(batch))
                    yield _Pairs(*pair, np.zeros(len(pair[0])), np.ones(len(pair[0])))
                else:
                    yield from self._near(lines[batch], batch, k)

    def _near(self, lines: Lines, number: Index, solid: int) -> Iterator[_Pairs]:
        """Yield the pieces of `lines`, which have these numbers, with a solid's patches near them.

        A piece of an arc is bounded by half its chord and the vector from the chord's middle to its
        own, even after an affine map.
        """
        first = int(np.searchsorted(self.patches.owner, solid))
        reach = float(np.ptp(self.patches.along(lines, np.array([0, 0.5, 1])), axis=1).max())
        count = int(np.clip(np.ceil(1.5 * reach / self._width[solid] / 2), 1, PIECES))
        points = self.patches.along(lines, np.linspace(0, 1, 2 * count + 1))
        chord = (points[:, 2::2] - points[:, :-1:2]) / 2
        aside = (points[:, 1::2] - points[:, :-1:2] - chord) / 2
        chord, aside, middle = (of.reshape(-1, 3) for of in (chord, aside, points[:, 1::2] - aside))
        rounding = ON * self.patches.size
        radius = np.linalg.norm(chord, axis=1) + np.linalg.norm(aside, axis=1) + rounding
        i, j = self._sought[solid].within(middle, radius)
        j = j + first
        off = np.abs(self.patches.height(middle[i], j))
        for way in (chord, aside):
            off -= np.abs(np.einsum("ni,ni->n", way[i], self.patches.planes[j, :3]))
        near = ~self.patches.flat[j] | (off <= rounding)
        line, piece = np.divmod(i[near], count)
        j = j[near]
        for k in range(0, len(j), PAIRS):
            batch = slice(k, k + PAIRS)
            low, high = piece[batch] / count, (piece[batch] + 1) / count
            yield _Pairs(number[line[batch]], j[batch], low, high)

    def _crossed(self, every: Lines, pairs: _Pairs) -> tuple[Index, Array, Index]:
        """Return the crossings of the pairs, as `places` does."""
        self.pairs += len(pairs.line)
        lines = every[pairs.line]
        degree, straight = self.patches.degree[pairs.patch], self.patches.straight[lines.patch]
        roots = []
        for d in (1, 2, 4):
            for bent in (False, True):
                ours = np.flatnonzero((degree == d) & (straight != bent))
                if len(ours):
                    which, u = self._roots(lines[ours], pairs.patch[ours], 2 * d if bent else d)
                    which = ours[which]
                    on = (u >= pairs.low[which]) & (u <= pairs.high[which])
                    roots.append((which[on], u[on]))
        which, u = (np.concatenate(of) for of in zip(*roots, strict=True))
        on = self.patches.on_triangle(lines[which], u, pairs.patch[which])
        return pairs.line[which[on]], u[on], self.patches.name[pairs.patch[which[on]]]

    def _roots(self, lines: Lines, patch: Index, degree: int) -> tuple[Index, Array]:
        """Return which lines cross their patches, and the u of each crossing."""
        w = np.cos(np.pi * (np.arange(degree + 1) + 0.5) / (degree + 1))
        angle = self.patches.surface.edges.angle[lines.patch]
        bent = ~self.patches.straight[lines.patch]
        k = np.where(bent, np.tan(angle / 4), 0.0)[:, None]
        turn = np.where(bent, angle, 1.0)[:, None]
        u = np.where(k == 0, w / 2, 2 * np.arctan(k * w) / turn) + 0.5
        points = self.patches.along(lines, u).reshape(-1, 3)
        F = self.patches.value(points, np.repeat(patch, degree + 1)).reshape(len(lines), -1)
        crosses = np.abs(F).max(axis=1) > ON * self.patches.scale[patch]
        F = F * (1 + (k * w) ** 2) ** (degree // 2)
        power = np.linalg.inv(np.vander(w, increasing=True))
        which, at = sign_changes((F @ power.T)[crosses])
        which = np.flatnonzero(crosses)[which]
        k, turn = k[which, 0], turn[which, 0]
        return which, np.where(k == 0, at / 2, 2 * np.arctan(k * at) / turn) + 0.5


def sign_changes(c: Array) -> tuple[Index, Array]:
    """Return the sign changes of polynomials between −1 and 1: which (k,), and where (k,).

    `c` (n, d + 1) are their coefficients, the constant first. Between two consecutive roots of its
    derivative a polynomial changes sign at most once, so the roots of each derivative, from the
    last one up, bracket those of the one before. A root without a sign change does not count.
    """
    count, degree = len(c), c.shape[1] - 1
    knots = np.tile([-1.0, 1.0], (count, 1))
    which, at = np.empty(0, dtype=np.intp), np.empty(0)
    for order in range(degree - 1, -1, -1):
        q = np.asarray(polyder(c, order, axis=1), dtype=np.float64)
        above = polyval(knots.T, q.T[:, None], tensor=False).T >= 0
        which, k = np.nonzero(above[:, 1:] != above[:, :-1])
        if q.shape[1] == 2:
            at = -q[which, 0] / q[which, 1]
        else:
            at = _between(q[which], knots[which, k], knots[which, k + 1], above[which, k])
        inner = knots[:, 1:].copy()  # without a root, the end of the interval does no harm
        inner[which, k] = at
        knots = np.column_stack([knots[:, :1], inner, np.ones(count)])
    return which, at


def _between(c: Array, low: Array, high: Array, above: Mask) -> Array:
    """Return the roots (n,) between `low` and `high`; `above`: the value at `low` is at least 0.

    By Newton's method, or bisection where that would leave the interval.
    """
    slope = polyder(c, axis=1)
    x = (low + high) / 2
    live = np.arange(len(x))
    for _ in range(STEPS):
        now = x[live]
        value = polyval(now, c[live].T, tensor=False)
        same = (value >= 0) == above[live]
        low[live], high[live] = np.where(same, now, low[live]), np.where(same, high[live], now)
        steep = polyval(now, slope[live].T, tensor=False)
        step = value / np.where(steep == 0, np.inf, steep)
        there = now - step
        lost = ~((there > low[live]) & (there < high[live])) | (steep == 0)
        middle = (low[live] + high[live]) / 2
        x[live] = np.where(lost, middle, there)
        live = live[np.abs(x[live] - now) > FINE]
        if not len(live):
            break
    return x

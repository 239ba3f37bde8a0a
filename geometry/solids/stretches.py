"""The stretches of lines on the surfaces of solids that are kept, and the flux through them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from geometry.outlines.edges import gauss
from geometry.outlines.merge import left_of
from geometry.parts import Part
from geometry.solids.crossings import Crossings
from geometry.solids.patches import Lines, Patches
from shared.arrays import Array, Index, Mask
from shared.errors import InputError, Problem

BESIDE: Final = 1e-11
"""Of the solids' size: the distance at which both sides of a surface are tested."""
APART: Final = 1e-10
"""Of a line: crossings closer to each other are the same."""
PLACES: Final = np.array([0.17, 0.46, 0.79])
"""Of the stretch between two crossings: the points that are tested. The majority counts, since
surfaces that touch run closely beside each other for a little."""
GAUSS: Final = 24
"""Points between two changes on an arc, as in `flux_moments`..."""
FEW: Final = 4
"""...and on a straight line, along which the integrand is a polynomial of degree 4 at most."""
ASKED: Final = 1_000_000
"""Pairs of a point and a patch that are tested at a time for the point's side: 50 MB."""
LEAST: Final = 20
"""The fewest halvings of v between two lines with different crossings..."""
HALVINGS: Final = 45
"""...and the most..."""
NOTHING: Final = 1e-13
"""...until the difference of what is kept of both, times their distance, is less than this."""
PAIRS: Final = 40
"""A line that is tested against so many patches counts twice."""
MOST: Final = 130_000
"""The most lines for one part: about ten seconds."""
BEYOND: Final = Problem(
    "solids that cross in so many places that they would take too long to measure",
    instead="draw them as one revolved or extruded outline, or export the result as one mesh, or "
    "leave out the smallest",
)
SUMS: Final = 22
"""The number of sums: ∮ n dA, ∮ x nᵀ dA, and the distinct entries of ∮ p pᵀ x·n dA."""

Change = npt.NDArray[np.int64]


class Stretches(NamedTuple):
    """Stretches of lines, in order: the line (n,), the begin and end in u, and the way.

    The way is 1 if ∂u × ∂v points out of the result, −1 if into it, 0 if nothing is kept. `change`
    (lines,) is a hash of a line's crossings; `kept` (lines, 2) are ∫ way du and ∫ way u du. `plain`
    (lines,) are those of flat patches that only planes cross.
    """

    line: Index
    begin: Array
    end: Array
    way: Array
    change: Change
    kept: Array
    plain: Mask


class Keeping:
    """The parts of the solids' surfaces that bound the union of `plus` minus `minus`."""

    def __init__(self, plus: Sequence[Part], minus: Sequence[Part]) -> None:
        self.patches = Patches([*plus, *minus])
        self.joined, self._lines = len(plus), 0
        self.crossings = Crossings(self.patches)
        self.size = self.patches.size
        self.middle = self.patches.cells.points.mean(axis=0)

    def stretches(self, lines: Lines) -> Stretches:
        """Return the stretches of lines. Raises InputError once there are too many."""
        self.afford(len(lines))
        self._lines += len(lines)
        row, u, name = self.crossings.places(lines)
        on, every = (u > APART) & (u < 1 - APART), np.arange(len(lines))
        row, begin = np.concatenate([every, row[on]]), np.concatenate([0.0 * every, u[on]])
        name = np.concatenate([0 * every - 1, name[on]])
        order = np.lexsort((begin, row))
        row, begin, name = row[order], begin[order], name[order]
        first = np.flatnonzero((np.diff(row, prepend=-1) > 0) | (np.diff(begin, prepend=0) > APART))
        name = np.minimum.reduceat(name, first)
        row, begin = row[first], begin[first]
        end = np.where(np.diff(row, append=len(lines)) > 0, 1.0, np.roll(begin, -1))

        way = self.way(lines[row], begin, end)
        fresh = (np.diff(row, prepend=-1) > 0) | (np.diff(way, prepend=0) != 0)
        row, begin, name, way = row[fresh], begin[fresh], name[fresh], way[fresh]
        end = np.where(np.diff(row, append=len(lines)) > 0, 1.0, np.roll(begin, -1))
        length = way * (end - begin)
        kept = [np.bincount(row, of, len(lines)) for of in (length, length * (begin + end) / 2)]
        plain = self.patches.plain[lines.patch]
        plain[row[(name >= 0) & ~self.patches.flat_names[name]]] = False
        change = _changes(row, name, way)
        return Stretches(row, begin, end, way, change, np.stack(kept, axis=1), plain)

    @property
    def lines(self) -> int:
        """The number of lines used, plus one for every PAIRS patches tested."""
        return self._lines + self.crossings.pairs // PAIRS

    def afford(self, lines: int) -> None:
        """Raise InputError if this many more lines are too many."""
        if self.lines + lines > MOST:
            raise InputError([BEYOND])

    def between(self, patch: Index, low: Array, high: Array) -> Array:
        """Return the v (n,), between lines at `low` and `high`, where their crossings change."""
        low, high = low.copy(), high.copy()
        ends = [self.stretches(Lines(patch, v)) for v in (low, high)]
        before, kept = ends[0].change, np.stack([of.kept for of in ends])
        live = np.arange(len(low))
        for step in range(HALVINGS):
            if not len(live):
                break
            middle = (low[live] + high[live]) / 2
            there = self.stretches(Lines(patch[live], middle))
            same = there.change == before[live]
            low[live[same]], high[live[~same]] = middle[same], middle[~same]
            kept[(~same).astype(np.intp), live] = there.kept
            if step >= LEAST:
                apart = np.abs(kept[0, live] - kept[1, live]).sum(axis=1)
                live = live[apart * (high - low)[live] > NOTHING]
        return np.asarray((low + high) / 2)

    def sums(self, lines: Lines, stretches: Stretches, weight: Array, panel: Index) -> Array:
        """Return the sums of each panel; `weight` and `panel` (lines,) are those of each line."""
        total = np.zeros((int(panel[-1]) + 1 if len(panel) else 0, SUMS))
        straight = self.patches.straight[lines.patch[stretches.line]]
        live = (stretches.way != 0) & (weight[stretches.line] != 0)
        for ours, count in ((live & straight, FEW), (live & ~straight, GAUSS)):
            t, over = gauss(count)
            begin, length = stretches.begin[ours], (stretches.end - stretches.begin)[ours]
            row = stretches.line[ours]
            share = (stretches.way[ours] * length * weight[row])[:, None] * over
            u = begin[:, None] + length[:, None] * t
            row = np.repeat(row, count)
            each = self.flow(lines[row], u.ravel(), share.ravel())
            for k, column in enumerate(each.T):
                total[:, k] += np.bincount(panel[row], column, len(total))
        return total

    def flow(self, lines: Lines, u: Array, share: Array) -> Array:
        """Return the terms of the sums, (n, SUMS), at `u` on lines, `share` (n,) of ∂u × ∂v."""
        points, across = self.patches.at(lines, u)
        x = (points - self.middle) / self.size
        n = across * (share / self.size**2)[:, None]
        p = np.column_stack([x, np.ones(len(x))])
        through = np.einsum("ij,ij->i", x, n)
        i, j = np.triu_indices(4)
        stretch = (x[:, :, None] * n[:, None]).reshape(-1, 9)
        return np.column_stack([n, stretch, p[:, i] * p[:, j] * through[:, None]])

    def way(self, lines: Lines, begin: Array, end: Array) -> Array:
        """Return the way (n,) of each line between two consecutive crossings, by majority."""
        u = begin[:, None] + (end - begin)[:, None] * PLACES
        ways = self._way(lines[np.repeat(np.arange(len(lines)), len(PLACES))], u.ravel())
        return np.asarray(np.median(ways.reshape(u.shape), axis=1))

    def _way(self, lines: Lines, u: Array) -> Array:
        """Return 1 where ∂u × ∂v points out of the result (n,), −1 into it, 0 for neither.

        If surfaces coincide, the first one counts.
        """
        way = np.empty(len(u))
        step = max(5_000, ASKED // len(self.patches.owner))
        for k in range(0, len(u), step):
            batch = lines[k : k + step]
            points, across = self.patches.at(batch, u[k : k + step])
            length = np.linalg.norm(across, axis=1, keepdims=True)
            beside = BESIDE * self.size * across / np.where(length > 0, length, 1.0)
            below, above = (
                np.stack([solid.surface.inside(points + side) for solid in self.patches.solids])
                for side in (-beside, beside)
            )
            out = left_of(below, self.joined).astype(float) - left_of(above, self.joined)
            before = np.arange(len(below))[:, None] < self.patches.owner[batch.patch]
            out[np.any((below != above) & before, axis=0)] = 0.0
            way[k : k + step] = out
        return way


def _changes(row: Index, name: Index, way: Array) -> Change:
    """Return a hash for each line of its ways and the names of the patches between them."""
    first = np.flatnonzero(np.diff(row, prepend=-1) > 0)
    place = np.arange(len(row)) - np.repeat(first, np.diff(np.append(first, len(row))))
    mixed = (name * 4 + way.astype(np.int64) + 2) * 1_000_003 + place
    mixed = (mixed ^ (mixed >> 15)) * 0x2545F4914F6CDD1D
    mixed = (mixed ^ (mixed >> 29)) * 0x369DEA0F31A53F85
    return np.asarray(np.add.reduceat(mixed ^ (mixed >> 32), first))

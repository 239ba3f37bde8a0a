"""Moments of unions and differences of solids, from the remaining surfaces, with a stated error.

A point of a solid's surface is kept if one side of it is in the result and the other isn't. Along a
line on a patch this changes only where it crosses another solid's patches, which is known up to
rounding. Across lines, Gauss quadrature runs on panels of v that end where crossings appear, vanish
or pass from one patch to another, and that are halved until two halves agree with the whole. Two
such ends between two lines would be missed; but a closed surface has ∮ n dA = 0 and
∮ x nᵀ dA = volume × E, which is checked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

import numpy as np

from geometry.moments import Moments
from geometry.outlines.edges import gauss
from geometry.parts import Part
from geometry.rows import Aligned
from geometry.solids.patches import Lines
from geometry.solids.stretches import FEW, GAUSS, SUMS, Keeping
from geometry.surfaces.surface import SHARES
from shared.arrays import Array, Index, Mask
from shared.errors import InputError
from shared.remembered import remembered

TRIES: Final = (8, 32, 128)
"""Panels of a patch as large as all solids: at first, and again if the surface isn't closed."""
CLOSED: Final = 1e-9
"""The largest error of ∮ n dA and ∮ x nᵀ dA, relative to the volume, of a closed surface."""
ROUNDING: Final = 1e-11
"""Of the volume: its least error."""
LINES: Final = 8
"""Lines of a panel, at Gauss points. One more at either end shows whether something begins."""
EDGE: Final = 1e-6
"""Of a panel: the distance of those from its ends, to lie beside what ends there."""
HALVINGS: Final = 16
"""The most times that a panel is halved..."""
ENOUGH: Final = 1e-11
"""...until its halves differ from it by less, in the fluxes through a body of size one."""
CUTS: Final = 8
"""The most times that a panel is cut where the crossings of its lines change..."""
THIN: Final = 1e-8
"""...if it is wider than this."""
AT_ONCE: Final = 256
"""Panels that are measured at a time: about 50 MB."""


class Kept(NamedTuple):
    """The moments of the result, cm, and the number of `lines` used.

    `error` is relative to volume × size to the moment's degree.
    """

    moments: Moments
    error: float
    lines: int


@remembered(Kept, Moments)
def kept(plus: Sequence[Part], minus: Sequence[Part]) -> Kept:
    """Return the moments of the union of `plus` minus `minus`.

    If surfaces coincide, the first one counts. Raises InputError if it would take too long; if only
    a finer attempt would, the earlier result is returned with its error.
    """
    keeping = Keeping(plus, minus)
    alone = keeping.crossings.alone()
    whole = _whole(keeping, alone)
    results = list[Kept]()
    for each in TRIES:
        try:
            total, off = _search(keeping, _first(keeping, ~alone, each))
        except InputError:
            if not results:
                raise
            break
        results.append(_kept(keeping, whole + total, off))
        if results[-1].error <= CLOSED:
            break
    return min(results, key=lambda result: result.error)


@dataclass(frozen=True, eq=False)
class _Panels(Aligned):
    """Intervals of v on patches (n,), from `low` to `high`.

    `part_of` is the panel that each was cut from; those that are `exact` need no halving: their
    integrands are polynomials.
    """

    patch: Index
    low: Array
    high: Array
    part_of: Index
    exact: Mask

    def cut(self, which: Index, at: Array) -> _Panels:
        """Return the panels in `which` (m,), in order, cut at each of `at` (m,)."""
        own, many = np.unique(which, return_counts=True)
        origin = np.repeat(own, many + 1)
        first = np.diff(origin, prepend=-1) > 0
        low, high = self.low[origin], self.high[origin]
        low[~first], high[~np.roll(first, -1)] = at, at
        return replace(self[origin], low=low, high=high)

    def lines(self) -> tuple[Lines, Array]:
        """Return the lines of each panel in order, and their weights.

        They are denser toward the ends, at t² (3 − 2t) for Gauss points t, so that a stretch that
        begins there like a square root is smooth in t.
        """
        t, over = gauss(LINES)
        at = np.concatenate([[EDGE], t * t * (3 - 2 * t), [1 - EDGE]])
        over = np.concatenate([[0.0], over * 6 * t * (1 - t), [0.0]])
        wide = (self.high - self.low)[:, None]
        lines = Lines(np.repeat(self.patch, len(at)), (self.low[:, None] + wide * at).ravel())
        return lines, (wide * over).ravel()


def _first(keeping: Keeping, which: Mask, each: int) -> _Panels:
    """Return the first panels: `each` for a patch as large as all solids."""
    patch = np.flatnonzero(which)
    wide = 2 * keeping.patches.cells.radius[patch] / keeping.size
    many = np.clip(np.ceil(each * wide), 1, each).astype(np.intp)
    origin = np.repeat(patch, many)
    many = np.repeat(many, many)
    step = np.arange(len(origin)) - np.searchsorted(origin, origin)
    none = np.zeros(len(origin), dtype=bool)
    return _Panels(origin, step / many, (step + 1) / many, np.arange(len(origin)), none)


def _whole(keeping: Keeping, which: Mask) -> Array:
    """Return the sums over patches that are kept entirely or not at all."""
    total = np.zeros(SUMS)
    for ours, count in ((keeping.patches.plain, FEW), (~keeping.patches.plain, GAUSS)):
        t, over = gauss(count)
        u, v = np.meshgrid(t, t)
        patch = np.flatnonzero(which & ours)
        for k in range(0, len(patch), AT_ONCE):
            batch = patch[k : k + AT_ONCE]
            none = np.zeros(len(batch))
            way = keeping.way(Lines(batch, none + 0.5), none, none + 1.0)
            lines = Lines(np.repeat(batch, u.size), np.tile(v.ravel(), len(batch)))
            share = np.outer(way, np.outer(over, over)).ravel()
            total += keeping.flow(lines, np.tile(u.ravel(), len(batch)), share).sum(axis=0)
    return total


def _search(keeping: Keeping, first: _Panels) -> tuple[Array, float]:
    """Return the sums over all panels, and their error."""
    total, off = np.zeros(SUMS), 0.0
    panels, sums = _summed(keeping, first)
    for level in range(HALVINGS + 1):
        total += sums[panels.exact].sum(axis=0)
        panels, sums = panels[~panels.exact], sums[~panels.exact]
        every = np.arange(len(panels))
        middle = (panels.low + panels.high) / 2
        halves, parts = _summed(keeping, replace(panels, part_of=every).cut(every, middle))
        both = np.zeros_like(sums)
        np.add.at(both, halves.part_of, parts)
        apart = np.abs(sums - both).max(axis=1)
        done = (apart <= ENOUGH) | (level == HALVINGS)
        off += float(apart[done].sum())
        total += both[done].sum(axis=0)
        if np.all(done):
            break
        left = ~done[halves.part_of]
        panels, sums = halves[left], parts[left]
    return total, off


def _summed(keeping: Keeping, panels: _Panels) -> tuple[_Panels, Array]:
    """Return panels, cut where the crossings of their lines change, and the sums of each."""
    uncut, sums = [panels[:0]], [np.empty((0, SUMS))]
    for cuts in range(CUTS + 1):
        keeping.afford(len(panels) * (LINES + 2))
        crossed = [np.empty((0, 3))]
        for k in range(0, len(panels), AT_ONCE):
            batch = panels[k : k + AT_ONCE]
            lines, weight = batch.lines()
            stretches = keeping.stretches(lines)
            change, v = (of.reshape(len(batch), -1) for of in (stretches.change, lines.v))
            wide = (batch.high - batch.low > THIN) & (cuts < CUTS)
            which, after = np.nonzero((change[:, 1:] != change[:, :-1]) & wide[:, None])
            crossed.append(np.column_stack([k + which, v[which, after], v[which, after + 1]]))
            whole = np.bincount(which, minlength=len(batch)) == 0
            panel = np.repeat(np.arange(len(batch)), change.shape[1])
            sums.append(keeping.sums(lines, stretches, weight, panel)[whole])
            exact: Mask = np.all(stretches.plain.reshape(change.shape), axis=1)
            uncut.append(replace(batch, exact=exact)[whole])
        every, low, high = np.concatenate(crossed).T
        which = every.astype(np.intp)
        panels = panels.cut(which, keeping.between(panels.patch[which], low, high))
        if not len(panels):
            break
    return _Panels.joined(uncut), np.concatenate(sums)


def _kept(keeping: Keeping, total: Array, off: float) -> Kept:
    """Return the moments and their error: by halving, or by how far the surface is from closed."""
    stretch = total[3:12].reshape(3, 3)
    volume = float(np.trace(stretch)) / 3
    opening = np.abs(np.vstack([total[:3], stretch - volume * np.eye(3)])).max()
    error = ROUNDING + max(off, float(opening)) / max(volume, 1e-300) if np.any(total) else 0.0
    J = np.empty((4, 4))
    i, j = np.triu_indices(4)
    J[i, j] = J[j, i] = total[12:]
    T = np.diag([keeping.size, keeping.size, keeping.size, 1.0])
    T[:3, 3] = keeping.middle
    return Kept(Moments(J / SHARES).moved(T), error, keeping.lines)

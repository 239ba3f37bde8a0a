"""Bands: what is reachable in the plane of low RG and differential, edge by edge.

At a given low RG the reachable differentials of one convex set of balls are an interval, so a
window is a band between a lower and an upper line. Lines are chains of points, each piece with the
limits that make it. All in cm.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TypeAlias

import numpy as np

from optimizer.lineup.claims import Claim
from optimizer.questions.window.exact.makers import Makers
from shared.arrays import Array, frozen

Pick: TypeAlias = Callable[[Array, Array], Array]

TIE = 1e-5
"""cm. Where two lines are this close, the first one's limits are named."""
SAME = 1e-9
"""cm. Figures nearer than this are the same."""


@dataclass(frozen=True, eq=False)
class Line:
    """Differentials (m,) at the band's RGs, and what makes each of the m − 1 pieces between."""

    value: Array
    makers: tuple[Makers, ...]


@dataclass(frozen=True, eq=False)
class Band:
    """Differentials from `low` to `high` at the low RGs `rg` (m,), rising.

    `ends` is what makes the straight ends at the least and at the greatest RG, if there are any.
    """

    rg: Array
    low: Line
    high: Line
    ends: tuple[Makers, Makers] = ((), ())

    @property
    def outline(self) -> Array:
        """The outline (k, 2) of (RG, differential), counter-clockwise, not closed; no point twice.

        A segment is its chain of points, a point is one point.
        """
        out = np.column_stack([self.rg, self.low.value])
        back = np.column_stack([self.rg, self.high.value])[::-1]
        points = list(out)
        points += [p for p, q in zip(back, out[::-1], strict=True) if p[1] - q[1] > SAME]
        return frozen(points)

    @property
    def edges(self) -> Iterator[tuple[Array, Makers]]:
        """Yield each stretch of the outline with what makes it: a chain of points (k, 2)."""
        open_ = self.high.value - self.low.value > SAME
        yield from _stretches(self.rg, self.low)
        if open_[-1]:
            yield self._end(-1), self.ends[1]
        if np.any(open_):
            yield from ((chain[::-1], by) for chain, by in _stretches(self.rg, self.high))
        if open_[0] and len(self.rg) > 1:
            yield self._end(0), self.ends[0]

    def _end(self, k: int) -> Array:
        return np.array([[self.rg[k], self.low.value[k]], [self.rg[k], self.high.value[k]]])

    def at(self, rg: Array) -> Band:
        """Return the band at other RGs."""
        pieces = np.searchsorted(self.rg, (rg[1:] + rg[:-1]) / 2, side="right") - 1

        def line(own: Line) -> Line:
            own_makers = own.makers or ((),)
            makers = (own_makers[k] for k in np.clip(pieces, 0, len(own_makers) - 1).tolist())
            return Line(frozen(np.interp(rg, self.rg, own.value)), tuple(makers))

        return Band(frozen(rg), line(self.low), line(self.high), self.ends)

    @property
    def area(self) -> float:
        """Area, cm²; 0 for a segment or a point."""
        open_ = self.high.value - self.low.value
        return float(np.sum(np.diff(self.rg) * (open_[1:] + open_[:-1]) / 2))

    def holds(self, rg: float, differential: float, room: float = SAME) -> bool:
        """Whether a point lies in the band, or within `room` of it in either figure."""
        if not self.rg[0] - room <= rg <= self.rg[-1] + room:
            return False
        inside = self.rg[np.abs(self.rg - rg) <= room]
        near = np.clip(np.r_[rg - room, rg, inside, rg + room], self.rg[0], self.rg[-1])
        low, high = (np.interp(near, self.rg, line.value) for line in (self.low, self.high))
        return bool(np.min(low) - room <= differential <= np.max(high) + room)


def box(rg: tuple[float, float], differential: tuple[float, float], by: Sequence[Claim]) -> Band:
    """Return the band between fixed figures; `by` names left, right, bottom and top."""
    left, right, bottom, top = ((claim,) for claim in by)
    low, high = ((value, value) for value in differential)
    return Band(
        frozen(rg), Line(frozen(low), (bottom,)), Line(frozen(high), (top,)), ends=(left, right)
    )


def shared(a: Band, b: Band) -> tuple[Band, ...]:
    """Return what lies in both bands: none, one or several pieces."""
    left, right = max(a.rg[0], b.rg[0]), min(a.rg[-1], b.rg[-1])
    if left > right + SAME:
        return ()
    x = _grid(a, b, left, max(left, right))
    low, high = _outer(a.at(x), b.at(x), np.maximum, np.minimum)
    first = a.ends[0] if a.rg[0] >= b.rg[0] else b.ends[0]
    last = a.ends[1] if a.rg[-1] <= b.rg[-1] else b.ends[1]
    inside = high.value - low.value >= -SAME
    middle = (high.value[1:] + high.value[:-1] - low.value[1:] - low.value[:-1]) >= -SAME
    low = Line(np.minimum(low.value, high.value), low.makers)
    whole, pieces, start = Band(x, low, high, (first, last)), [], None
    for k, held in enumerate(inside):
        if held and start is None:
            start = k
        if start is not None and (k == len(x) - 1 or not middle[k] or not inside[k + 1]):
            pieces.append(_cut(whole, start, k if held else k - 1))
            start = None
    return tuple(pieces)


def shared_all(sets: Sequence[Sequence[Band]]) -> tuple[Band, ...]:
    """Return what lies in a band of every set."""
    bands = tuple(sets[0])
    for more in sets[1:]:
        bands = tuple(piece for a in bands for b in more for piece in shared(a, b))
    return bands


def joined(bands: Sequence[Band], room: float) -> tuple[Band, ...]:
    """Return the bands, those that meet all along (within `room`, cm) made into one."""
    done: list[Band] = []
    for band in bands:
        unions = ((k, _union(earlier, band, room)) for k, earlier in enumerate(done))
        k, union = next(((k, union) for k, union in unions if union), (len(done), band))
        done[k:] = [*done[k + 1 :], union]
    return tuple(done)


def _union(a: Band, b: Band, room: float) -> Band | None:
    left, right = max(a.rg[0], b.rg[0]), min(a.rg[-1], b.rg[-1])
    if left > right + room:
        return None
    x = _grid(a, b, left, max(left, right))
    here, there = a.at(x), b.at(x)
    low, high = _outer(here, there, np.minimum, np.maximum)
    inner_low = np.maximum(here.low.value, there.low.value)
    if np.any(inner_low > np.minimum(here.high.value, there.high.value) + room):
        return None
    before = _knotted(a if a.rg[0] < b.rg[0] else b, left - 2 * SAME)
    after = _knotted(a if a.rg[-1] > b.rg[-1] else b, right + 2 * SAME)
    head, tail = before.rg < left - SAME, after.rg > right + SAME

    def chain(start: Line, middle: Line, stop: Line) -> Line:
        value = np.concatenate([start.value[head], middle.value, stop.value[tail]])
        last = stop.makers[len(stop.makers) - np.sum(tail) :]
        return Line(frozen(value), (*start.makers[: np.sum(head)], *middle.makers, *last))

    rg = np.concatenate([before.rg[head], x, after.rg[tail]])
    lines = chain(before.low, low, after.low), chain(before.high, high, after.high)
    return Band(frozen(rg), *lines, (before.ends[0], after.ends[1]))


def _knotted(band: Band, x: float) -> Band:
    """Return the band with one more point, at `x`: beside it, another band may begin by a leap."""
    k = int(np.searchsorted(band.rg, x))
    if not 0 < k < len(band.rg):
        return band
    return band.at(np.insert(band.rg, k, x))


def _grid(a: Band, b: Band, left: float, right: float) -> Array:
    """Return the RGs of both bands from `left` to `right`, and where any two lines cross."""
    x = np.concatenate([[left, right], a.rg, b.rg])
    x = apart(x[(x >= left) & (x <= right)])
    knots = [x]
    values = [
        np.interp(x, band.rg, line.value) for band in (a, b) for line in (band.low, band.high)
    ]
    for i, j in ((0, 2), (1, 3), (0, 3), (1, 2)):
        gap = values[i] - values[j]
        crosses = np.flatnonzero(gap[:-1] * gap[1:] < 0.0)
        part = gap[crosses] / (gap[crosses] - gap[crosses + 1])
        knots.append(x[crosses] + part * (x[crosses + 1] - x[crosses]))
    return apart(np.concatenate(knots))


def apart(x: Array, least: float = 1e-13) -> Array:
    """Return `x` sorted, without those that are no more than `least` above the one before."""
    x = np.sort(x)
    return np.asarray(x[np.concatenate([[True], np.diff(x) > least])])


def _outer(a: Band, b: Band, low: Pick, high: Pick) -> tuple[Line, Line]:
    """Return the greater (or the lesser) of the low and of the high lines of two bands."""
    return _picked(a.low, b.low, low), _picked(a.high, b.high, high)


def _picked(a: Line, b: Line, pick: Pick) -> Line:
    """Return the greater (or the lesser) of two lines at the same RGs, with its makers."""
    value = pick(a.value, b.value)
    off_a, off_b = (
        np.abs(line.value[:-1] + line.value[1:] - value[:-1] - value[1:]) for line in (a, b)
    )
    near = zip((off_a <= off_b + TIE).tolist(), a.makers, b.makers, strict=True)
    return Line(value, tuple(makers_a if is_a else makers_b for is_a, makers_a, makers_b in near))


def _cut(band: Band, start: int, stop: int) -> Band:
    """Return the band of the points from the one numbered `start` to `stop`."""
    here, last = slice(start, stop + 1), len(band.rg) - 1
    low, high = (
        Line(frozen(line.value[here]), line.makers[start:stop]) for line in (band.low, band.high)
    )
    ends = band.ends[0] if start == 0 else (), band.ends[1] if stop == last else ()
    return Band(frozen(band.rg[here]), low, high, ends)


def _stretches(rg: Array, line: Line) -> Iterator[tuple[Array, Makers]]:
    """Yield the pieces of a line that the same limits make, each as one chain."""
    start, points = 0, np.column_stack([rg, line.value])
    for _, run in groupby(line.makers, key=set):
        makers = list(run)
        yield points[start : start + len(makers) + 1], makers[0]
        start += len(makers)

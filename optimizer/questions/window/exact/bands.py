"""Bands: what is reachable in the plane of low RG and differential, edge by edge.

At a given low RG the reachable differentials of one convex set of balls are an interval, so a
window is a band between a lower and an upper line. Lines are chains of points; the limit that makes
each piece is kept with it. All in cm.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from optimizer.lineup.claims import Claim
from shared.arrays import Array, frozen

Makers: TypeAlias = tuple[Claim, ...]
"""The limits that make an edge, the most telling first."""

Side: TypeAlias = Literal["low", "high"]

TIE = 1e-5
"""cm. Where two lines are this near, the first one's limits are told."""
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

    `ends` is what makes the straight ends at the least and at the greatest RG, where there are any.
    """

    rg: Array
    low: Line
    high: Line
    ends: tuple[Makers, Makers] = ((), ())

    @property
    def outline(self) -> Array:
        """The outline (k, 2) of (RG, differential), counter-clockwise, not closed; no point twice.

        A segment is its two ends (or its chain there), a point is one point.
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
    low, high = _outer(x, a, b, "low", np.maximum), _outer(x, a, b, "high", np.minimum)
    first = a.ends[0] if a.rg[0] >= b.rg[0] else b.ends[0]
    last = a.ends[1] if a.rg[-1] <= b.rg[-1] else b.ends[1]
    inside = high.value - low.value >= -SAME
    pieces, start = [], None
    middle = (high.value[1:] + high.value[:-1] - low.value[1:] - low.value[:-1]) >= -SAME
    for k, held in enumerate(inside):
        if held and start is None:
            start = k
        if start is not None and (k == len(x) - 1 or not middle[k] or not inside[k + 1]):
            stop = k if held else k - 1
            pieces.append(_cut(x, (low, high), (start, stop), (first, last)))
            start = None
    return tuple(pieces)


def shared_all(sets: Sequence[Sequence[Band]]) -> tuple[Band, ...]:
    """Return what lies in a band of every set."""
    bands = tuple(sets[0])
    for other in sets[1:]:
        bands = tuple(piece for a in bands for b in other for piece in shared(a, b))
    return bands


def joined(bands: Sequence[Band], room: float) -> tuple[Band, ...]:
    """Return the bands, those that meet all along (within `room`, cm) made into one."""
    done: list[Band] = []
    for band in bands:
        one = band
        for k, other in enumerate(done):
            both = _union(other, one, room)
            if both is not None:
                one = both
                del done[k]
                break
        done.append(one)
    return tuple(done)


def _union(a: Band, b: Band, room: float) -> Band | None:
    left, right = max(a.rg[0], b.rg[0]), min(a.rg[-1], b.rg[-1])
    if left > right + room:
        return None
    x = _grid(a, b, left, max(left, right))
    low, high = _outer(x, a, b, "low", np.minimum), _outer(x, a, b, "high", np.maximum)
    inner_low, inner_high = _outer(x, a, b, "low", np.maximum), _outer(x, a, b, "high", np.minimum)
    if np.any(inner_low.value > inner_high.value + room):
        return None
    before = _knotted(a if a.rg[0] < b.rg[0] else b, left - 2 * SAME)
    after = _knotted(a if a.rg[-1] > b.rg[-1] else b, right + 2 * SAME)
    head, tail = before.rg < left - SAME, after.rg > right + SAME

    def chain(name: str, middle: Line) -> Line:
        start: Line = getattr(before, name)
        stop: Line = getattr(after, name)
        h, t = int(np.sum(head)), int(np.sum(tail))
        first = start.makers[:h]
        last = stop.makers[len(stop.makers) - t :] if t else ()
        value = np.concatenate([start.value[head], middle.value, stop.value[tail]])
        return Line(frozen(value), (*first, *middle.makers, *last))

    rg = np.concatenate([before.rg[head], x, after.rg[tail]])
    return Band(frozen(rg), chain("low", low), chain("high", high), (before.ends[0], after.ends[1]))


def _knotted(band: Band, x: float) -> Band:
    """Return the band with a point more, at `x`: beside it, another band may begin by a leap."""
    k = int(np.searchsorted(band.rg, x))
    if not 0 < k < len(band.rg):
        return band

    def line(one: Line) -> Line:
        value = np.insert(one.value, k, np.interp(x, band.rg, one.value))
        return Line(frozen(value), (*one.makers[:k], *one.makers[k - 1 :]))

    return Band(frozen(np.insert(band.rg, k, x)), line(band.low), line(band.high), band.ends)


def _grid(a: Band, b: Band, left: float, right: float) -> Array:
    """Return the RGs of both bands from `left` to `right`, and where any two lines cross."""
    x = np.concatenate([[left, right], a.rg, b.rg])
    x = apart(x[(x >= left) & (x <= right)])
    found = [x]
    values = [
        np.interp(x, band.rg, line.value) for band in (a, b) for line in (band.low, band.high)
    ]
    for i, j in ((0, 2), (1, 3), (0, 3), (1, 2)):
        gap = values[i] - values[j]
        crosses = np.flatnonzero(gap[:-1] * gap[1:] < 0.0)
        part = gap[crosses] / (gap[crosses] - gap[crosses + 1])
        found.append(x[crosses] + part * (x[crosses + 1] - x[crosses]))
    return apart(np.concatenate(found))


def apart(x: Array, least: float = 1e-13) -> Array:
    """Return `x` sorted, without those that are no more than `least` above the one before."""
    x = np.sort(x)
    return np.asarray(x[np.concatenate([[True], np.diff(x) > least])])


def _outer(x: Array, a: Band, b: Band, side: Side, pick: Callable[[Array, Array], Array]) -> Line:
    """Return the greater (or the lesser) of one side of two bands at `x`, and its makers."""
    lines = [(band.rg, band.low if side == "low" else band.high) for band in (a, b)]
    values = [np.interp(x, rg, line.value) for rg, line in lines]
    value = pick(values[0], values[1])
    makers = []
    for k in range(len(x) - 1):
        off = [abs(float(v[k] + v[k + 1] - value[k] - value[k + 1])) for v in values]
        which = 0 if off[0] <= off[1] + TIE else 1
        rg, line = lines[which]
        piece = int(np.searchsorted(rg, (x[k] + x[k + 1]) / 2, side="right")) - 1
        makers.append(line.makers[min(max(piece, 0), len(line.makers) - 1)] if line.makers else ())
    return Line(value, tuple(makers))


def _cut(
    x: Array, lines: tuple[Line, Line], piece: tuple[int, int], ends: tuple[Makers, Makers]
) -> Band:
    """Return the band of the points from the first to the last one of a piece."""
    (low, high), (start, stop) = lines, piece
    here, makers = slice(start, stop + 1), slice(start, stop)
    least = np.minimum(low.value[here], high.value[here])
    return Band(
        frozen(x[here]),
        Line(frozen(least), low.makers[makers]),
        Line(frozen(high.value[here]), high.makers[makers]),
        (ends[0] if start == 0 else (), ends[1] if stop == len(x) - 1 else ()),
    )


def _stretches(rg: Array, line: Line) -> Iterator[tuple[Array, Makers]]:
    """Yield the pieces of a line that one and the same limits make, each as one chain."""
    start = 0
    for k in range(1, len(rg)):
        if k == len(rg) - 1 or set(line.makers[k]) != set(line.makers[start]):
            yield (
                np.column_stack([rg[start : k + 1], line.value[start : k + 1]]),
                line.makers[start],
            )
            start = k

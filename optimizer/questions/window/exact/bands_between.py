"""The bands of a region between two lines that may turn back in low RG.

A region sliced at equal high RG, for instance, is not a band. Its outline is cut into slabs at the
RG of each of its points, and slabs that continue each other are joined into bands.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from optimizer.questions.window.exact.bands import Band, Line, apart
from optimizer.questions.window.exact.makers import Makers
from shared.arrays import Array, frozen

MEETS = 1e-12
"""cm. Slabs whose differentials agree to this continue each other."""


@dataclass(frozen=True, eq=False)
class _Strip:
    """A band as it grows to the right: low and high differential at each RG, makers between."""

    first: Makers
    rg: list[float]
    ends: list[tuple[float, float]]
    makers: list[tuple[Makers, Makers]] = field(default_factory=list)

    def band(self, last: Makers) -> Band:
        low, high = zip(*self.ends, strict=True)
        by = list(zip(*self.makers, strict=True)) or [(), ()]
        return Band(
            frozen(self.rg),
            Line(frozen(low), tuple(by[0])),
            Line(frozen(high), tuple(by[1])),
            (self.first, last),
        )


def bands_between(
    lines: tuple[Array, Array],
    makers: tuple[Sequence[Makers], Sequence[Makers]],
    ends: tuple[Makers, Makers],
) -> list[Band]:
    """Return the bands between two `lines` (m, 2) of low RG and differential, cm.

    `makers` make the m − 1 pieces of each line, `ends` what joins their first and their last
    points. The lines may touch, but not cross.
    """
    low, high = lines
    if np.array_equal(low[:, 0], high[:, 0]) and np.all(np.diff(low[:, 0]) > MEETS):
        least, most = (Line(line[:, 1], tuple(by)) for line, by in zip(lines, makers, strict=True))
        return [Band(frozen(low[:, 0]), least, most, ends)]
    points = np.vstack([low, high[::-1]])
    by = [*makers[0], ends[1], *makers[1][::-1], ends[0]]
    x = apart(points[:, 0])
    place = np.clip(np.searchsorted(x, points[:, 0] - MEETS), 0, len(x) - 1)
    walls = _Walls(x, place, points[:, 1], by)
    if len(x) == 1:
        span = float(np.min(points[:, 1])), float(np.max(points[:, 1]))
        return [_Strip(ends[0], [float(x[0])], [span]).band(ends[1])]
    done, growing = list[Band](), list[_Strip]()
    for k in range(len(x) - 1):
        grown = []
        for first, last, made in walls.slab(k):
            strip = next((s for s in growing if _meet(s.ends[-1], first)), None)
            if strip is None:
                strip = _Strip(walls.upright(k, first), [float(x[k])], [first])
            else:
                growing.remove(strip)
            strip.rg.append(float(x[k + 1]))
            strip.ends.append(last)
            strip.makers.append(made)
            grown.append(strip)
        done += [strip.band(walls.upright(k, strip.ends[-1])) for strip in growing]
        growing = grown
    return [*done, *(strip.band(walls.upright(len(x) - 1, strip.ends[-1])) for strip in growing)]


def _meet(a: tuple[float, float], b: tuple[float, float]) -> bool:
    return abs(a[0] - b[0]) <= MEETS and abs(a[1] - b[1]) <= MEETS


@dataclass(frozen=True, eq=False)
class _Walls:
    """A closed outline of p points: the place (p,) of each one's RG among `x`, its differential."""

    x: Array
    place: np.ndarray
    y: Array
    by: Sequence[Makers]

    def slab(
        self, k: int
    ) -> list[tuple[tuple[float, float], tuple[float, float], tuple[Makers, Makers]]]:
        """Return what lies inside from the k-th RG to the next: its two ends and its makers."""
        a, b = self.place, np.roll(self.place, -1)
        over = np.flatnonzero((np.minimum(a, b) <= k) & (np.maximum(a, b) > k))
        run = self.x[b[over]] - self.x[a[over]]
        rise = np.roll(self.y, -1)[over] - self.y[over]
        left, right = (
            self.y[over] + (x - self.x[a[over]]) / run * rise for x in self.x[[k, k + 1]]
        )
        order = np.argsort(left + right, kind="stable")
        inside = zip(order[::2].tolist(), order[1::2].tolist(), strict=True)
        left, right = left.tolist(), right.tolist()
        return [
            ((left[i], left[j]), (right[i], right[j]), (self.by[over[i]], self.by[over[j]]))
            for i, j in inside
        ]

    def upright(self, k: int, ends: tuple[float, float]) -> Makers:
        """Return what makes the upright wall at the k-th RG between two differentials, if any."""
        a, b = self.place, np.roll(self.place, -1)
        y = np.column_stack([self.y, np.roll(self.y, -1)])
        for i in np.flatnonzero((a == k) & (b == k)).tolist():
            low, high = sorted(y[i].tolist())
            if high - low > MEETS and min(high, ends[1]) > max(low, ends[0]):
                return self.by[i]
        return ()

"""A curve of smallest margins, sampled: refined where it bends, its kinks located.

Each sample starts from its neighbours' answers. A stretch is halved until the same limits hold at
its ends and in its middle, and the middle lies on the chord; where limits change or the curve meets
zero, until that place is located.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, groupby, pairwise
from operator import attrgetter

import numpy as np

from optimizer.lineup.engine.climbing import WORTH
from optimizer.questions.trade.held_figure import Best, HeldFigure, Sample
from shared import activity

STRETCHES = 12
"""Equal parts of the range at first."""
FRESH = 3
"""One in so many of them is also solved from the usual starts."""
FINEST = 5e-5
"""cm (0.00002 in). The accuracy of kinks and ends: finer than any printed digit."""
ERROR = 0.005
"""Tolerances between the curve and its chord above which a stretch is halved."""
BETTER = 1e-4
"""Tolerances: if a fresh start finds this much more, the neighbours led astray."""

Kinked = tuple[Sample, Best, Best]


@dataclass(eq=False)
class CurveSearch:
    """The search for the samples of a curve.

    `error` is the largest distance of a stretch's middle from its chord (tolerances). `fresh`
    values were also solved from the usual starts; `astray` if that found more.
    """

    line: HeldFigure
    error: float = 0.0
    fresh: int = 0
    astray: bool = False

    def curve(self) -> list[Sample]:
        """Return samples in order of value, kinks located, the highest among them."""
        span = self.line.span
        grid = np.linspace(span.low, span.high, STRETCHES + 1).tolist()
        first = self._first(grid)
        if self.line.known is not None:
            first.append(self.line.afresh(self.line.known.figures[self.line.place]))
        best = max(first, key=attrgetter("level"))
        if best.least is not None:
            first.append(self.line.at(self.line.top(best), [best]))
        by_value = {sample.value: sample for sample in first}
        first = [by_value[value] for value in sorted(by_value)]
        samples = [first[0]]
        for a, b in pairwise(first):
            samples += [*self._between(a, b), b]
        return samples

    def _first(self, grid: Sequence[float]) -> list[Sample]:
        """Return the samples of the grid, solved to and fro, then checked by fresh starts."""
        samples = [self.line.afresh(grid[0])]
        for value in grid[1:]:
            samples.append(self.line.at(value, samples[-1:]))
            self._report(samples)
        samples = self._passed_on(samples[::-1])[::-1]
        checked = samples[::FRESH]
        self.fresh = len(checked)
        afresh = [self.line.afresh(sample.value) for sample in checked]
        pairs = zip(checked, afresh, strict=True)
        self.astray = any(fresh.level > warm.level + BETTER for warm, fresh in pairs)
        if self.astray:
            self.fresh = len(grid)
            samples = [_higher(sample, self.line.afresh(sample.value)) for sample in samples]
            samples = self._passed_on(self._passed_on(samples)[::-1])[::-1]
        return samples

    def _passed_on(self, samples: Sequence[Sample]) -> list[Sample]:
        """Return the samples, each improved from the answer before it where that leads to more."""
        return list(accumulate(samples, lambda before, sample: self._better(sample, before)))

    def _better(self, sample: Sample, neighbour: Sample) -> Sample:
        """Return a sample, or the better one that its neighbour's answer leads to."""
        if neighbour.least is None or sample.limits == neighbour.limits:
            return sample
        return _higher(sample, self.line.at(sample.value, [neighbour]))

    def _between(self, a: Sample, b: Sample) -> list[Sample]:
        """Return the samples needed between two."""
        if b.value - a.value <= FINEST:
            return []
        same = a.limits == b.limits and inside(a) == inside(b)
        middle = (a.value + b.value) / 2
        values = [middle] if same else _round_corner(a, b) or [middle]
        new = [self.line.at(value, [a, b]) for value in values]
        self._report(new)
        if same and new[0].limits == a.limits and inside(new[0]) == inside(a):
            off = 0.0 if a.least is None else abs(new[0].level - (a.level + b.level) / 2)
            if off <= ERROR:
                self.error = max(self.error, off)
                return new
        samples: list[Sample] = []
        for left, right in pairwise([a, *new, b]):
            samples += [*self._between(left, right), right]
        return samples[:-1]

    def _report(self, samples: Sequence[Sample]) -> None:
        activity.at("along the curve", max(sample.level for sample in samples))


def kinks(samples: Sequence[Sample], width: float) -> Iterator[Kinked]:
    """Yield the samples on both sides of each kink, and the highest there.

    Where the limits change but the slope doesn't (visibly, over the whole `width`), there is a
    choice between limits and no kink.
    """
    close = [
        b.value - a.value <= FINEST and None not in (a.least, b.least) for a, b in pairwise(samples)
    ]
    at = 0
    for near, run in groupby(close):
        count = len(list(run))
        chain = samples[at : at + count + 1]
        at += count
        a, b = chain[0].least, chain[-1].least
        if near and a and b and a.limits != b.limits and abs(a.slope - b.slope) * width > ERROR:
            yield max(chain, key=attrgetter("level")), a, b


def inside(sample: Sample) -> bool:
    """Whether a sample is inside all limits that depend on density."""
    return sample.level >= -WORTH


def _higher(a: Sample, b: Sample) -> Sample:
    return b if b.level > a.level else a


def _round_corner(a: Sample, b: Sample) -> list[float]:
    """Return values to either side of where the tangents at two samples meet, or the chord zero.

    Empty where there is no such place between them.
    """
    if a.least is None or b.least is None:
        return []
    if a.limits != b.limits:
        turn = a.least.slope - b.least.slope
        rise = b.level - a.level - b.least.slope * (b.value - a.value)
    else:
        run = b.value - a.value
        turn, rise = (b.level - a.level) / run, -a.level
    near = 0.45 * FINEST
    corner = a.value + rise / turn if turn else np.inf
    if not a.value - near < corner < b.value + near:
        return []
    corner = min(max(corner, a.value), b.value)
    return [
        v for v in (corner - near, corner + near) if a.value + near / 2 < v < b.value - near / 2
    ]

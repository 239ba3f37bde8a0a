"""A curve of smallest margins, sampled: refined where it bends, its kinks located.

It is sought from its neighbours' answers, until each stretch between two samples has the same
limits at both ends and in its middle, and its middle lies on the chord; where limits change or the
curve meets zero, until the place is located.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

import numpy as np

from optimizer.lineup.engine.climbing import WORTH
from optimizer.questions.trade.held_figure import Along, Best, Sample
from shared import activity

STRETCHES = 12
"""Equal parts of the range to begin with."""
FRESH = 3
"""Every so many of them, the usual starts are tried beside the neighbours' answers."""
FINEST = 5e-5
"""cm (0.00002 in). A kink, an end is located to this: finer than any printed digit."""
ERROR = 0.005
"""Tolerances between the curve and a chord of it; more, and the stretch is halved."""
BETTER = 1e-4
"""Tolerances: a fresh start that finds more than this says that the neighbours led astray."""

Kinked = tuple[Sample, Best, Best]


@dataclass(eq=False)
class CurveSearch:
    """The samples of a curve, and what was learned on the way.

    `error` is how far the middle of a stretch lies off its chord at most (tolerances); at `fresh`
    values the usual starts were tried, and found more than the neighbours' answers: `astray`.
    """

    along: Along
    error: float = 0.0
    fresh: int = 0
    astray: bool = False

    def curve(self) -> list[Sample]:
        """Return samples in order of value, kinks located, the highest among them."""
        span = self.along.span
        grid = np.linspace(span.low, span.high, STRETCHES + 1).tolist()
        first = self._first(grid)
        if self.along.known is not None:
            first.append(self.along.afresh(self.along.known.figures[self.along.figure]))
        best = max(first, key=lambda sample: sample.level)
        if best.least is not None:
            top = self.along.at(self.along.top(best), [best])
            first.append(top)
        first = sorted(
            {sample.value: sample for sample in first}.values(), key=lambda sample: sample.value
        )
        samples = [first[0]]
        for a, b in pairwise(first):
            samples += [*self._between(a, b), b]
        return samples

    def _first(self, grid: Sequence[float]) -> list[Sample]:
        """Return the samples of the grid, from end to end and back, and checked by fresh starts."""
        samples = [self.along.afresh(grid[0])]
        for value in grid[1:]:
            samples.append(self.along.at(value, samples[-1:]))
            self._hears(samples)
        samples = self._passed_on(samples[::-1])[::-1]
        checked = samples[::FRESH]
        self.fresh = len(checked)
        afresh = [self.along.afresh(sample.value) for sample in checked]
        pairs = zip(checked, afresh, strict=True)
        self.astray = any(fresh.level > warm.level + BETTER for warm, fresh in pairs)
        if self.astray:
            self.fresh = len(grid)
            samples = [_higher(one, self.along.afresh(one.value)) for one in samples]
            samples = self._passed_on(self._passed_on(samples)[::-1])[::-1]
        return samples

    def _passed_on(self, samples: Sequence[Sample]) -> list[Sample]:
        """Return the samples, each as good as what the answer before it leads to."""
        passed = list(samples[:1])
        for sample in samples[1:]:
            passed.append(self._better(sample, passed[-1]))
        return passed

    def _better(self, sample: Sample, neighbour: Sample) -> Sample:
        """Return a sample, or what its neighbour's answer leads to there if that is more."""
        if neighbour.least is None or sample.limits == neighbour.limits:
            return sample
        return _higher(sample, self.along.at(sample.value, [neighbour]))

    def _between(self, a: Sample, b: Sample) -> list[Sample]:
        """Return the samples that it takes between two."""
        if b.value - a.value <= FINEST:
            return []
        same = a.limits == b.limits and inside(a) == inside(b)
        middle = (a.value + b.value) / 2
        values = [middle] if same else _round_corner(a, b) or [middle]
        found = [self.along.at(value, [a, b]) for value in values]
        self._hears(found)
        if same and found[0].limits == a.limits and inside(found[0]) == inside(a):
            off = 0.0 if a.least is None else abs(found[0].level - (a.level + b.level) / 2)
            if off <= ERROR:
                self.error = max(self.error, off)
                return found
        samples: list[Sample] = []
        for sample, other in pairwise([a, *found, b]):
            samples += [*self._between(sample, other), other]
        return samples[:-1]

    def _hears(self, samples: Sequence[Sample]) -> None:
        activity.at("along the curve", max(sample.level for sample in samples))


def kinks(samples: Sequence[Sample], width: float) -> Iterator[Kinked]:
    """Yield the samples on both sides of each kink, and the highest there.

    Where the limits change and the slope doesn't, by what could be drawn over the whole `width`,
    there is a choice between limits and no kink.
    """
    close = [
        b.value - a.value <= FINEST and None not in (a.least, b.least) for a, b in pairwise(samples)
    ]
    at = 0
    for near, some in groupby(close):
        count = len(list(some))
        chain = samples[at : at + count + 1]
        at += count
        a, b = chain[0].least, chain[-1].least
        if near and a and b and a.limits != b.limits and abs(a.slope - b.slope) * width > ERROR:
            yield max(chain, key=lambda sample: sample.level), a, b


def inside(sample: Sample) -> bool:
    """Whether a sample's margins are inside all limits that a density moves."""
    return sample.level >= -WORTH


def _higher(sample: Sample, other: Sample) -> Sample:
    return other if other.level > sample.level else sample


def _round_corner(a: Sample, b: Sample) -> list[float]:
    """Return values close on both sides of where the tangents at two samples meet, or meet zero.

    None where there is no such place between them.
    """
    if a.least is None or b.least is None:
        return []
    if a.limits != b.limits:
        turn = a.least.slope - b.least.slope
        rise = b.level - a.level - b.least.slope * (b.value - a.value)
    else:
        turn, rise = b.level - a.level, -a.level * (b.value - a.value)
        turn, rise = turn / (b.value - a.value), rise / (b.value - a.value)
    near = 0.45 * FINEST
    corner = a.value + rise / turn if turn else np.inf
    if not a.value - near < corner < b.value + near:
        return []
    corner = min(max(corner, a.value), b.value)
    return [
        v for v in (corner - near, corner + near) if a.value + near / 2 < v < b.value - near / 2
    ]

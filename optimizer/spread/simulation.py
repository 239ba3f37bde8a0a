"""What samples tell: shares with their intervals, means, standard deviations and quantiles.

Memory is flat: quantiles come from histograms. An interval is that of the simulation alone: 95 %,
by Student over the scramblings of the samples, and never narrower than Clopper and Pearson's
(1934), which would hold for independent samples.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from shared.arrays import Array

BINS = 4096
"""Cells of a histogram."""
CONFIDENCE = 0.95


@dataclass(frozen=True)
class Share:
    """How many of the samples have a property, and the interval of their share."""

    count: int
    of: int
    low: float
    high: float

    @property
    def value(self) -> float:
        """The share itself."""
        return self.count / self.of


class Tally:
    """Counts a property of samples, scrambling after scrambling."""

    def __init__(self) -> None:
        self._counts = list[int]()
        self._of = list[int]()

    def add(self, repeat: int, holds: np.ndarray) -> None:
        """Count the samples (k,) for which it holds."""
        if repeat == len(self._counts):
            self._counts.append(0)
            self._of.append(0)
        self._counts[repeat] += int(np.count_nonzero(holds))
        self._of[repeat] += len(holds)

    @property
    def share(self) -> Share:
        """The share so far."""
        return share(self._counts, self._of)


def share(counts: Sequence[int], of: Sequence[int]) -> Share:
    """Return the share of scramblings with these counts, with its interval."""
    from scipy.stats import beta, t  # noqa: PLC0415 - heavy: only where spread is asked

    count, total = sum(counts), sum(of)
    tail = (1.0 - CONFIDENCE) / 2
    low = float(beta.ppf(tail, count, total - count + 1)) if count else 0.0
    high = float(beta.ppf(1.0 - tail, count + 1, total - count)) if count < total else 1.0
    if len(counts) > 1:
        each = np.array(counts) / np.array(of)
        reach = float(t.ppf(1.0 - tail, len(each) - 1) * each.std(ddof=1) / np.sqrt(len(each)))
        low, high = min(low, count / total - reach), max(high, count / total + reach)
    return Share(count, total, max(low, 0.0), min(high, 1.0))


@dataclass
class Moments:
    """The mean, standard deviation and quantiles of one figure of the samples; NaN without any.

    The histogram covers the range of the first samples, and half as much to either side; what lies
    beyond counts at its ends.
    """

    count: int = 0
    mean: float = np.nan
    square: float = 0.0
    low: float = np.nan
    high: float = np.nan
    cells: np.ndarray = field(default_factory=lambda: np.zeros(BINS, dtype=np.int64))

    def add(self, values: Array) -> None:
        """Add samples (k,), if any."""
        if not len(values):
            return
        mean, count = float(values.mean()), self.count + len(values)
        if not self.count:
            self.mean, low, high = mean, float(values.min()), float(values.max())
            self.low, self.high = low - (high - low) / 2.0, high + (high - low) / 2.0
        more = mean - self.mean
        self.square += float(np.sum((values - mean) ** 2))
        self.square += more**2 * self.count * len(values) / count
        self.mean += more * len(values) / count
        self.count = count
        width = (self.high - self.low) / BINS
        if width > 0.0:
            places = np.clip((values - self.low) / width, 0, BINS - 1).astype(np.intp)
            self.cells += np.bincount(places, minlength=BINS)

    @property
    def sd(self) -> float:
        """The standard deviation."""
        return float(np.sqrt(self.square / (self.count - 1))) if self.count > 1 else np.nan

    def quantile(self, part: float) -> float:
        """Return the value below which this part of the samples lies, to a histogram's cell."""
        if not self.cells.any():
            return self.mean
        edges = np.linspace(self.low, self.high, BINS + 1)
        below = np.concatenate([[0], np.cumsum(self.cells)]) / self.count
        return float(np.interp(part, below, edges))

"""A line to first order: the cheapest tolerances that hold its figures, and quick shares."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from optimizer.scatter.line import Line
from optimizer.spread.allocation import ToleranceProgram
from shared.arrays import Array

WIDE: Final = 6.0
"""Standard deviations: a figure with more room than that leaves its band once in a billion."""
POINTS: Final = 1 << 13
"""Balls of each weight."""
LEAST_ROOM: Final = 0.01
"""A figure's least room, in its present standard deviations: a nominal ball may have none."""


@dataclass(frozen=True, eq=False)
class Held:
    """A figure of a weight that can leave its band: from `low` to `high` about its nominal value.

    `slope` are its derivatives in the inputs of the weight's `columns`.
    """

    columns: tuple[int, ...]
    figure: str
    slope: Array
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class LinearLine:
    """A line to first order; the `price` of its inputs (d,), and their `least` widths.

    A width is told over the present one. A figure with no slope in anything isn't held: at a kink,
    such as that of an axis along the pin.
    """

    line: Line
    price: Array
    least: Array

    @cached_property
    def inputs_of_columns(self) -> np.ndarray:
        """The number of each source's input."""
        groups = [len(input_.groups) for input_ in self.line.inputs.each]
        return np.repeat(np.arange(len(groups)), groups)

    @cached_property
    def names(self) -> list[str]:
        """The figures that can leave their bands."""
        return list(dict.fromkeys(held.figure for held in self._held))

    @cached_property
    def _held(self) -> list[Held]:
        held, sources = [], self.line.inputs.sources
        for model, bands in zip(self.line.models, self.line.bands, strict=True):
            covariance = sources.covariance[np.ix_(model.columns, model.columns)]
            for name in dict.fromkeys(band.figure for band in bands):
                slope, nominal = model.slopes[name], model.nominal[name]
                own = [band for band in bands if band.figure == name]
                low = max(band.low for band in own) - nominal
                high = min(band.high for band in own) - nominal
                sd = float(np.sqrt(max(float(slope @ covariance @ slope), 0.0)))
                if min(-low, high) < WIDE * sd:
                    held.append(Held(model.columns, name, slope, low, high))
        return held

    @cached_property
    def _program(self) -> ToleranceProgram:
        sources, of = self.line.inputs.sources, self.inputs_of_columns
        most, correlation = np.zeros(len(self.least)), np.eye(len(self.least))
        most[of] = sources.sd
        for i, j in sources.correlations:
            r = sources.covariance[i, j] / (sources.sd[i] * sources.sd[j])
            correlation[of[i], of[j]] = correlation[of[j], of[i]] = r
        slopes = np.array(
            [np.bincount(of[list(held.columns)], held.slope, len(most)) for held in self._held]
        )
        return ToleranceProgram(slopes, correlation, self.price * most, self.least * most, most)

    @cached_property
    def _rooms(self) -> Array:
        """How far each held figure may go: to the nearer end of its band."""
        sds = self._program.sd(self._program.most)
        rooms = np.array([min(-held.low, held.high) for held in self._held])
        return np.asarray(np.maximum(rooms, LEAST_ROOM * sds))

    def widths(self, split: Array, tightness: float) -> Array:
        """Return the cheapest widths (d,) that hold each figure's sd to a part of its room.

        That is exp(−split − tightness), with the `split` of the figure's name.
        """
        if not self._held:
            return np.ones(len(self.least))
        own = np.array([split[self.names.index(held.figure)] for held in self._held])
        allowed = self._rooms * np.exp(-own - tightness)
        return np.asarray(self._program.cheapest(allowed) / self._program.most)

    @cached_property
    def _parts(self) -> list[Array]:
        """What each input of its weight makes of each held figure (k, own inputs)."""
        samples = [deviations for _, deviations in self.line.inputs.sources.samples(1, POINTS)]
        deviations = np.vstack(samples)
        return [deviations[:, held.columns] * held.slope for held in self._held]

    def share(self, widths: Array) -> float:
        """Return the share of good balls in the weight with the fewest, at widths (d,)."""
        by_column, good = widths[self.inputs_of_columns], dict[tuple[int, ...], np.ndarray]()
        for held, parts in zip(self._held, self._parts, strict=True):
            off = parts @ by_column[list(held.columns)]
            inside = (off >= held.low) & (off <= held.high)
            good[held.columns] = inside & good.get(held.columns, True)
        return min((float(np.mean(inside)) for inside in good.values()), default=1.0)

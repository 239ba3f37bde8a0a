"""What is counted of the samples of a line, and what follows for each weight."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations

import numpy as np

from optimizer.scatter.good import Band
from optimizer.scatter.line import Line
from optimizer.scatter.model import FIGURES, Model
from optimizer.scatter.worst import missed, worst
from optimizer.spread.linear import joint_share, variance_shares
from optimizer.spread.simulation import Moments, Share, Tally
from shared.arrays import Array

FELT = ("low RG", "differential", "CG offset")
"""What two balls of one line should have in common."""


@dataclass(frozen=True, eq=False)
class WeightSpread:
    """What the spread does to one weight, in the units of FIGURES (g, cm, rad).

    `good` is the share of good balls, `inside` that inside each band by itself, `rules` that which
    keeps the rulebook. `simulated` are the figures' moments. To first order: `sd` of each figure,
    `shares[figure]` of each input in its variance, and the good share `linear`, as if all figures
    were normal. `worst` are the figures' ends at the worst of all inputs together, None where an
    input has no end. `missed` is how far the model was off on balls that were built exactly.
    """

    model: Model
    bands: tuple[Band, ...]
    good: Share
    inside: Mapping[Band, Share]
    rules: Share
    simulated: Mapping[str, Moments]
    sd: Mapping[str, float]
    shares: Mapping[str, Array]
    linear: float
    worst: Mapping[str, tuple[float, float]] | None
    missed: Mapping[str, float]

    @property
    def label(self) -> str:
        """The label of the weight."""
        return self.model.label


@dataclass(eq=False)
class Gathered:
    """What is counted of the samples of a line."""

    line: Line
    whole: Tally = field(default_factory=Tally)

    def __post_init__(self) -> None:
        models, every = self.line.models, self.line.bands
        self.good = [Tally() for _ in models]
        self.rules = [Tally() for _ in models]
        self.inside = [{band: Tally() for band in its} for its in every]
        self.simulated = [{name: Moments() for name in FIGURES} for _ in models]
        self.between = {
            (a.label, b.label): {name: Moments() for name in FELT}
            for a, b in combinations(models, 2)
        }

    @cached_property
    def _covariances(self) -> list[Array]:
        """The covariance of each weight's own inputs."""
        whole = self.line.inputs.sources.covariance
        return [whole[np.ix_(model.columns, model.columns)] for model in self.line.models]

    def sd(self, k: int) -> dict[str, float]:
        """Return the standard deviation of each figure of the k-th weight, to first order."""
        model, covariance = self.line.models[k], self._covariances[k]
        return {
            name: float(np.sqrt(np.maximum(slope @ covariance @ slope, 0.0)))
            for name, slope in model.slopes.items()
        }

    def add(self, repeat: int, deviations: Array) -> None:
        """Count samples of the sources (k, d)."""
        whole, felt = np.ones(len(deviations), dtype=bool), dict[str, dict[str, Array]]()
        for k, (model, figures, good) in enumerate(self.line.outcomes(deviations)):
            whole &= good
            self.good[k].add(repeat, good)
            rules = self.line.ruled(model, deviations)
            for band, tally in self.inside[k].items():
                holds = band.holds(figures[band.figure])
                tally.add(repeat, holds)
                rules &= holds | (band.rule is None)
            self.rules[k].add(repeat, rules)
            for name, moments in self.simulated[k].items():
                values = figures[name]
                moments.add(values[~np.isnan(values)] if name == "axis tilt" else values)
            felt[model.label] = figures
        self.whole.add(repeat, whole)
        for (a, b), moments_of in self.between.items():
            for name, moments in moments_of.items():
                moments.add(felt[b][name] - felt[a][name])

    def weight(self, k: int, deviations: Array) -> WeightSpread:
        """Return what is known of the k-th weight; some of `deviations` are built exactly."""
        model, covariance = self.line.models[k], self._covariances[k]
        shares = {name: variance_shares(slope, covariance) for name, slope in model.slopes.items()}
        return WeightSpread(
            model,
            self.line.bands[k],
            self.good[k].share,
            {band: tally.share for band, tally in self.inside[k].items()},
            self.rules[k].share,
            self.simulated[k],
            self.sd(k),
            shares,
            self._linear(k),
            worst(model),
            missed(model, deviations),
        )

    def _linear(self, k: int) -> float:
        """Return the share of good balls as if the figures were linear and normal."""
        model, its = self.line.models[k], self.line.bands[k]
        names = list(dict.fromkeys(band.figure for band in its))
        low = np.array([max(b.low for b in its if b.figure == name) for name in names])
        high = np.array([min(b.high for b in its if b.figure == name) for name in names])
        slopes = np.array([model.slopes[name] for name in names]).reshape(len(names), -1)
        mean = np.array([model.nominal[name] for name in names])
        return joint_share(mean, slopes @ self._covariances[k] @ slopes.T, low, high)

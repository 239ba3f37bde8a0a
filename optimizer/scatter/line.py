"""A line of balls as a function of what varies, and the share of them that are good."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from optimizer.ball.weight_class import Ball
from optimizer.lineup.result import LineupResult
from optimizer.scatter.good import Band, bands, density_rules, diameter_rules
from optimizer.scatter.inputs import Input, Inputs
from optimizer.scatter.model import Model
from optimizer.spread.simulation import Share, Tally
from shared.arrays import Array

QUICK = 2
"""Scramblings for what is only compared: 2¹⁷ balls."""


@dataclass(frozen=True, eq=False)
class Line:
    """The models of a line, what makes its balls good, and the sources that move them."""

    inputs: Inputs
    models: tuple[Model, ...]
    bands: tuple[tuple[Band, ...], ...]

    @classmethod
    def of(cls, result: LineupResult, each: Sequence[Input], *, correlated: bool = True) -> Line:
        """Return the line of a result, its balls as stated, with these inputs.

        Unless `correlated`, the scenario's correlations are left out.
        """
        inputs = Inputs.of(result.scenario, each, correlated=correlated)
        models = tuple(
            Model(
                result.scenario, weight.ball, inputs.own[weight.label], inputs.columns[weight.label]
            )
            for weight in result.weights
        )
        return cls(inputs, models, tuple(bands(m.ball.map, result.figures) for m in models))

    def with_balls(self, balls: Sequence[Ball]) -> Line:
        """Return the line with other nominal balls."""
        pairs = zip(self.models, balls, strict=True)
        return replace(self, models=tuple(replace(model, ball=ball) for model, ball in pairs))

    def outcomes(self, deviations: Array) -> Iterator[tuple[Model, dict[str, Array], np.ndarray]]:
        """Yield each weight's figures at deviations (k, d), and which balls (k,) are good."""
        for model, its in zip(self.models, self.bands, strict=True):
            figures = model.figures(deviations, model.balls(deviations))
            good = self.ruled(model, deviations)
            for band in its:
                good &= band.holds(figures[band.figure])
            yield model, figures, good

    @staticmethod
    def ruled(model: Model, deviations: Array) -> np.ndarray:
        """Whether each ball keeps the rules on densities and on the diameter."""
        kept, linear_map = np.ones(len(deviations), dtype=bool), model.ball.map
        if rules := density_rules(linear_map):
            densities = model.densities(deviations)
            for place, bound in rules:
                kept &= ~((densities[:, place] < bound.low) | (densities[:, place] > bound.high))
        for bound in diameter_rules(linear_map):
            diameter = np.full(len(deviations), 2.0 * linear_map.radius)
            for input_, column in zip(model.inputs, model.columns, strict=True):
                if input_.kind == "diameter":
                    diameter += deviations[:, column]
            kept &= ~((diameter < bound.low) | (diameter > bound.high))
        return kept

    def good(
        self, repeats: int = QUICK, half: Input | None = None
    ) -> tuple[dict[str, Share], Share]:
        """Return the share of good balls of each weight, and of good lines.

        With `half`, that input is half as wide.
        """
        each, all_ = {model.label: Tally() for model in self.models}, Tally()
        columns = sorted({
            column
            for model in self.models
            for input_, column in zip(model.inputs, model.columns, strict=True)
            if input_ is half
        })  # fmt: skip
        for repeat, deviations in self.inputs.sources.samples(repeats):
            deviations[:, columns] *= 0.5
            whole = np.ones(len(deviations), dtype=bool)
            for model, _, good in self.outcomes(deviations):
                each[model.label].add(repeat, good)
                whole &= good
            all_.add(repeat, whole)
        return {label: tally.share for label, tally in each.items()}, all_.share

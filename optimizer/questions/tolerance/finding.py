"""What the spread does to a line: simulated, and to first order."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import combinations

import numpy as np

from optimizer.ball.weight_class import Ball
from optimizer.lineup.result import LineupResult
from optimizer.questions.schedule.steps.steps import on_steps
from optimizer.questions.tolerance.good import Band, bands, density_rules, diameter_rules
from optimizer.questions.tolerance.inputs import (
    Input,
    Inputs,
    stated_inputs,
    usual_inputs,
    without_density,
)
from optimizer.questions.tolerance.model import FIGURES, Model
from optimizer.questions.tolerance.worst import worst
from optimizer.scenario import Scenario
from optimizer.scenario.text.spread_text import Declared, SpreadText
from optimizer.spread.linear import joint_share, variance_shares
from optimizer.spread.simulation import Moments, Share, Tally
from optimizer.spread.sources import REPEATS
from shared import activity
from shared.arrays import Array

QUICK = 2
"""Scramblings for what is only compared: 2¹⁷ balls."""
HELD = (0.5, 0.9, 0.99)
"""Shares of the balls that a cloud's ellipses hold."""
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


@dataclass(frozen=True, eq=False)
class Cloud:
    """Where the balls of one weight lie in the plane of low RG and differential, cm.

    Ellipses about `middle` (2,) with axes `axes` (2, 2), columns of one standard deviation each;
    the one `radii[share]` times as large holds that share of the simulated balls.
    """

    label: str
    middle: Array
    axes: Array
    radii: Mapping[float, float]

    def outline(self, share: float, points: int = 72) -> Array:
        """Return the ellipse of a share as a closed chain (points, 2), cm."""
        turn = np.linspace(0.0, 2.0 * np.pi, points, endpoint=False)
        circle = np.array([np.cos(turn), np.sin(turn)])
        return np.asarray((self.middle[:, None] + self.radii[share] * self.axes @ circle).T)


@dataclass(frozen=True, eq=False)
class Between:
    """How two weights of a line differ: the moments of each of FELT, second less first."""

    labels: tuple[str, str]
    moments: Mapping[str, Moments]


@dataclass(frozen=True, eq=False)
class Tighter:
    """The share of good balls of each weight, and of the line, with one input half as wide."""

    input: Input
    good: Mapping[str, Share]
    line: Share


@dataclass(frozen=True, eq=False)
class Usual:
    """What isn't counted, and the share of good balls of each weight if it were as usual."""

    kind: str
    inputs: tuple[Input, ...]
    good: Mapping[str, Share]


@dataclass(frozen=True, eq=False)
class LineSpread:
    """What the spread does to a line of balls.

    `line` is the share of lines, one ball of each weight, of which all are good. `base` is the
    share of good balls in a short simulation, against which `tighter` and `usual` are compared, and
    `stepped` that at the schedule's densities; None where the shop has no steps.
    """

    result: LineupResult
    inputs: Inputs
    weights: tuple[WeightSpread, ...]
    line: Share
    clouds: tuple[Cloud, ...]
    between: tuple[Between, ...]
    base: Mapping[str, Share]
    base_line: Share
    stepped: Mapping[str, Share] | None
    tighter: tuple[Tighter, ...]
    usual: tuple[Usual, ...]
    held: tuple[str, ...]
    balls: int

    @property
    def scenario(self) -> Scenario:
        """The scenario of the line."""
        return self.result.scenario

    @property
    def declared(self) -> Declared:
        """How a declared ± is read."""
        return (self.scenario.text.spread or SpreadText()).declared


@dataclass(frozen=True, eq=False)
class Line:
    """The models of a line, what makes its balls good, and the sources that move them."""

    inputs: Inputs
    models: tuple[Model, ...]
    bands: tuple[tuple[Band, ...], ...]

    @classmethod
    def of(cls, result: LineupResult, each: Sequence[Input]) -> Line:
        """Return the line of a result, its balls as stated, with these inputs."""
        inputs = Inputs.of(result.scenario, each)
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


@activity.within()
def line_spread(result: LineupResult) -> LineSpread:
    """Return what the spread of its scenario does to a line-up, as stated."""
    scenario = result.scenario
    known = stated_inputs(scenario)
    line = Line.of(result, known)
    activity.at("simulating the line")
    gathered = _Gathered(line)
    deviations = np.zeros((0, 0))
    for repeat, deviations in line.inputs.sources.samples():
        activity.at(f"simulating, {repeat + 1} of {REPEATS} times 65,536 balls of each weight")
        gathered.add(repeat, deviations)
    base, base_line = line.good()
    tighter = []
    for input_ in line.inputs.each:
        activity.at(f"{input_.name}, half as wide")
        tighter.append(Tighter(input_, *line.good(half=input_)))
    usual = []
    for kind, more in usual_inputs(scenario, known).items():
        activity.at(f"{kind}, as usual")
        usual.append(Usual(kind, tuple(more), Line.of(result, [*known, *more]).good()[0]))
    return LineSpread(
        result,
        line.inputs,
        tuple(gathered.weight(k, deviations) for k in range(len(line.models))),
        gathered.whole.share,
        tuple(_clouds(line)),
        tuple(Between(labels, moments) for labels, moments in gathered.between.items()),
        base,
        base_line,
        _stepped(line, result),
        tuple(sorted(tighter, key=lambda one: -one.line.count)),
        tuple(usual),
        tuple(without_density(scenario, known)),
        gathered.whole.share.of,
    )


@dataclass(eq=False)
class _Gathered:
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
            model.missed(deviations),
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


def _stepped(line: Line, result: LineupResult) -> Mapping[str, Share] | None:
    """Return the share of good balls of each weight at the schedule's densities."""
    if not any(pour.step for pour in result.scenario.pours):
        return None
    activity.at("the densities of the schedule's steps")
    there = on_steps(result).lineup
    return line.with_balls([weight.ball for weight in there.weights]).good()[0]


def _clouds(line: Line) -> Iterator[Cloud]:
    """Yield the cloud of each weight."""
    places: dict[str, list[Array]] = {model.label: [] for model in line.models}
    for _, deviations in line.inputs.sources.samples(1):
        for model in line.models:
            low, _, high = model.balls(deviations).radii
            places[model.label].append(np.array([low, high - low]))
    for label, each in places.items():
        points = np.concatenate(each, axis=1)
        middle = points.mean(axis=1)
        values, vectors = np.linalg.eigh(np.cov(points))
        axes = vectors * np.sqrt(np.maximum(values, 1e-18))
        far = np.linalg.norm(np.linalg.solve(axes, points - middle[:, None]), axis=0)
        radii = dict(zip(HELD, np.quantile(far, HELD).tolist(), strict=True))
        yield Cloud(label, middle, axes, radii)

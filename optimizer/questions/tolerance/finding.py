"""What the spread does to a line: simulated, and to first order."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from optimizer.lineup.result import LineupResult
from optimizer.questions.schedule.steps.steps import on_steps
from optimizer.questions.tolerance.gathered import Gathered, WeightSpread
from optimizer.questions.tolerance.misfits import Misfit, misfits
from optimizer.questions.tolerance.usual import usual_inputs, without_density
from optimizer.scatter.inputs import Input, Inputs, stated_inputs
from optimizer.scatter.line import Line
from optimizer.scenario import Scenario
from optimizer.scenario.text.spread_text import Declared, SpreadText
from optimizer.spread.simulation import Moments, Share
from optimizer.spread.sources import REPEATS
from shared import activity
from shared.arrays import Array

HELD = (0.5, 0.9, 0.99)
"""Shares of the balls that a cloud's ellipses hold."""


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
    """What isn't counted, and the share of good balls of each weight if it were as usual.

    `moved` is how far the largest usual deviation of a single input moves each figure of the first
    weight; empty where there are several.
    """

    kind: str
    inputs: tuple[Input, ...]
    good: Mapping[str, Share]
    moved: Mapping[str, float]


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
    misfits: tuple[Misfit, ...]
    balls: int

    @property
    def scenario(self) -> Scenario:
        """The scenario of the line."""
        return self.result.scenario

    @property
    def declared(self) -> Declared:
        """How a declared ± is read."""
        return (self.scenario.text.spread or SpreadText()).declared


@activity.within()
def line_spread(result: LineupResult) -> LineSpread:
    """Return what the spread of its scenario does to a line-up, as stated."""
    scenario = result.scenario
    known = stated_inputs(scenario)
    line = Line.of(result, known)
    activity.at("simulating the line")
    gathered = Gathered(line)
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
        wider = Line.of(result, [*known, *more])
        usual.append(Usual(kind, tuple(more), wider.good()[0], _moved(wider, more)))
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
        misfits(line),
        gathered.whole.share.of,
    )


def _stepped(line: Line, result: LineupResult) -> Mapping[str, Share] | None:
    """Return the share of good balls of each weight at the schedule's densities."""
    if not any(pour.step for pour in result.scenario.pours):
        return None
    activity.at("the densities of the schedule's steps")
    there = on_steps(result).lineup
    return line.with_balls([weight.ball for weight in there.weights]).good()[0]


def _moved(line: Line, inputs: Sequence[Input]) -> dict[str, float]:
    """Return how far a single input at its end moves each figure of the first weight."""
    if len(inputs) != 1 or not np.isfinite(inputs[0].law.most):
        return {}
    (model, *_), (input_,) = line.models, inputs
    k = model.inputs.index(input_)
    return {name: input_.law.most * float(slope[k]) for name, slope in model.slopes.items()}


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

"""One ball of which some parts are cast: what may still be poured, moved as little as possible.

Whether the ball can be made is decided by the engine: the line-up of this weight alone, with what
is cast given. Of all pours that can, those are told that the shop's rule for weighed castings asks
for (`tolerance --weighed`, of which this is the exact form): the target's figures back where the
schedule has them, as nearly as can be in tolerances, by the least move in standard deviations.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import numpy as np

from optimizer.ball.bounds import Margin
from optimizer.ball.figures import DENSITY
from optimizer.ball.sought import Pour
from optimizer.ball.weight_class import Ball
from optimizer.lineup.margins import outside
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.result import LineupResult, Status, WeightResult
from optimizer.lineup.stating import as_stated, measured, shortfalls
from optimizer.questions.reconcile.aimed import scheduled
from optimizer.questions.reconcile.half_cast.least_moved import least_moved
from optimizer.scatter.inputs import stated_inputs
from optimizer.scatter.line import Line
from optimizer.scatter.set_points import set_points
from optimizer.scenario import Scenario, linear_maps
from shared.arrays import Array

STIFF: Final = 0.01
"""Of the least standard deviation: that of a density without any, which isn't moved needlessly."""
ALIKE: Final = 0.01
"""g/cm³: the standard deviation where no density has any."""


@dataclass(frozen=True, eq=False)
class Scheduled:
    """A line as the schedule has it; where it has none, as the line-up has it: `stepped` says."""

    lineup: LineupResult
    stepped: bool

    @classmethod
    def of(cls, result: LineupResult) -> Scheduled:
        """Return the schedule of a line-up. Raises ValueError where it isn't accepted."""
        return cls(*scheduled(result))

    @property
    def scenario(self) -> Scenario:
        """The scenario."""
        return self.lineup.scenario

    def weight(self, label: str) -> WeightResult:
        """Return one of its weights."""
        return self.lineup.weights[self.scenario.labels.index(label)]

    def pour(self, part: str) -> Pour:
        """Return the pour of a part."""
        return next(pour for pour in self.scenario.pours if pour.part == part)

    @cached_property
    def _line(self) -> Line:
        return Line.of(self.lineup, stated_inputs(self.scenario))

    @cached_property
    def _together(self) -> Mapping[tuple[str, str], tuple[str, ...]]:
        """The weights that pour a part at one density, by part and each of their labels."""
        groups = [(part, group) for part, its in self.scenario.sharing.items() for group in its]
        groups += [(point.part, point.labels) for point in set_points(self._line)]
        return {(part, label): tuple(group) for part, group in groups for label in group}

    def with_others(self, part: str, label: str) -> tuple[str, ...]:
        """Return the weights that share a part's density with this one, which is among them."""
        group = self._together.get((part, label), (label,))
        return group if len(group) > 1 else ()

    def deviations(self, label: str) -> Array:
        """Return the unit (n,) in which each density of a weight is moved."""
        (model,) = (model for model in self._line.models if model.label == label)
        sd = np.zeros(len(model.ball.map.places))
        for input_ in model.inputs:
            if input_.kind == "density":
                sd[model.ball.map.places[input_.of]] = input_.law.sd
        least = float(np.min(sd, where=sd > 0.0, initial=np.inf))
        return np.where(sd > 0.0, sd, STIFF * least if np.isfinite(least) else ALIKE)


@dataclass(frozen=True, eq=False)
class OneBall:
    """A ball of one weight of a schedule, some of whose densities are `known`, g/cm³, by part."""

    schedule: Scheduled
    label: str
    known: Mapping[str, float]

    @property
    def aimed(self) -> Ball:
        """The ball as scheduled."""
        return self.schedule.weight(self.label).ball

    @property
    def as_scheduled(self) -> Ball:
        """The ball with what is known, the rest left as scheduled."""
        pairs = zip(self.aimed.map.parts, self.aimed.densities.tolist(), strict=True)
        return self.aimed.map.ball(np.array([self.known.get(p.name, rho) for p, rho in pairs]))

    @cached_property
    def held(self) -> Mapping[str, tuple[str, ...]]:
        """The parts still to be poured whose density stays as scheduled.

        With the weights that share it; none where the scenario gives it.
        """
        held = dict[str, tuple[str, ...]]()
        for pour in self.aimed.map.pours:
            if pour.part not in self.known:
                shared = self.schedule.with_others(pour.part, self.label)
                if shared or pour.fixed:
                    held[pour.part] = shared
        return held

    @cached_property
    def scenario(self) -> Scenario:
        """The scenario of this weight alone, with what is known and held given."""
        whole, figures = self.schedule.scenario, self.schedule.lineup.figures
        given = {part: float(self.aimed.density(part) or 0.0) for part in self.held}
        given |= self.known
        return replace(
            whole,
            classes=tuple(each for each in whole.classes if each.label == self.label),
            pours=tuple(_given(pour, given.get(pour.part)) for pour in whole.pours),
            sharing=dict.fromkeys(whole.sharing, ()),
            target={
                of: span.at(value)
                for (of, span), value in zip(whole.target.items(), figures, strict=True)
            },
            warnings=(),
        )

    @cached_property
    def engine(self) -> LineupResult:
        """What the engine finds for this weight alone."""
        return solve_lineup(self.scenario, exact=self.schedule.lineup.exact)

    @cached_property
    def against(self) -> tuple[Margin, ...]:
        """The rules on a density that a casting breaks."""
        return tuple(
            margin
            for weight in self.engine.weights
            for margin in weight.margins
            if margin.bound.figure == DENSITY and margin.bound.of in self.known
            if margin.rule_only and margin.note is None and outside(margin)
        )

    @property
    def status(self) -> Status:
        """Whether it can be made; infeasible only where that is proven."""
        return "infeasible" if self.against else self.engine.status

    @property
    def possible(self) -> bool:
        """Whether it can be made, on target or within its tolerances."""
        return self.status in ("feasible", "within_tolerance")

    @cached_property
    def least(self) -> LineupResult | None:
        """This weight with the pours moved least, as stated; None where none keeps every limit.

        Its figures come back to the schedule's, else to the target, as near as they can.
        """
        (linear_map,) = linear_maps(self.scenario)
        figures = np.array(self.engine.figures)
        aimed = measured(self.aimed, figures)
        by_figure = {off.figure: off.measured for off in aimed.deviations}
        scheduled = np.array([by_figure[figure] for figure in linear_map.target])
        back = replace(linear_map, mass=self.aimed.properties.mass), scheduled
        for asked, aim in (back, (linear_map, figures)):
            ball = least_moved(asked, self.aimed.densities, self._sd, aim)
            weight = measured(as_stated(linear_map.ball(ball.densities)), figures)
            if not shortfalls(weight) or not shortfalls(weight := weight.roomed()):
                return replace(self.engine, weights=(weight,))
        return None

    @cached_property
    def _sd(self) -> Array:
        return self.schedule.deviations(self.label)

    @cached_property
    def poured(self) -> LineupResult:
        """This weight at the pours that are told: those moved least, else the engine's."""
        return (self.least if self.possible else None) or self.engine

    def on_step(self, part: str) -> OneBall | None:
        """Return this ball with one more part known, on the step nearest to what it is set to.

        The farther of the two steps around it where only that one can do; None where neither can.
        """
        pour = self.schedule.pour(part)
        if pour.step is None or part in self.held:
            return None
        exact = float(self.ball.density(part) or 0.0)
        counts = {np.floor(exact / pour.step), np.ceil(exact / pour.step)}
        steps = [float(f"{count * pour.step:.12g}") for count in counts]
        for density in sorted(steps, key=lambda step: abs(step - exact)):
            stepped = replace(self, known={**self.known, part: density})
            if pour.low <= density <= pour.high and stepped.possible:
                return stepped
        return None

    @property
    def ball(self) -> Ball:
        """The ball at these pours."""
        return self.poured.weights[0].ball

    @property
    def moved(self) -> float:
        """How far the pours are from the schedule: the root of the sum of squares, in deviations.

        Of the parts that are still to be poured.
        """
        still = [pour.part not in self.known for pour in self.ball.map.pours]
        off = (self.ball.densities - self.aimed.densities) / self._sd
        return float(np.linalg.norm(off[still]))


def _given(pour: Pour, density: float | None) -> Pour:
    if density is None:
        return pour
    return replace(pour, low=density, high=density, recipe=None, stops=None)

"""What the balls were to be: each weight's ball as aimed at, with what may be off in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from optimizer.ball.sought import Pour
from optimizer.lineup.result import LineupResult
from optimizer.questions.schedule.steps.steps import on_steps
from optimizer.scatter.good import Band
from optimizer.scatter.inputs import Input, Inputs, alone, stated_inputs
from optimizer.scatter.line import Line
from optimizer.scatter.model import Model
from optimizer.scenario import Scenario, linear_maps
from optimizer.spread.distribution import Normal
from optimizer.spread.sources import Sources


@dataclass(frozen=True, eq=False)
class Aimed:
    """The models of all weights, at the densities that were aimed at, and their sources.

    `lineup` is the line-up at these densities, None where nothing is known of them but what each
    material allows; `scheduled`: they are the schedule's. `bands` are the target's, by label.
    """

    scenario: Scenario
    lineup: LineupResult | None
    models: Mapping[str, Model]
    sources: Sources
    bands: Mapping[str, tuple[Band, ...]]
    scheduled: bool = False


def scheduled(result: LineupResult) -> tuple[LineupResult, bool]:
    """Return a line-up at the densities of its schedule, and whether it has one.

    At its own where none on the shop's steps hold the target. Raises ValueError where it is none.
    """
    stepped = on_steps(result).lineup
    return (stepped, True) if stepped.accepted else (result, False)


def aimed(result: LineupResult) -> Aimed:
    """Return the balls of a line-up as scheduled, with the shop's spread."""
    lineup, has_schedule = scheduled(result)
    line = Line.of(lineup, stated_inputs(result.scenario))
    models = {model.label: model for model in line.models}
    target = dict(zip(models, line.bands, strict=True))
    return Aimed(result.scenario, lineup, models, line.inputs.sources, target, has_schedule)


def unknown(scenario: Scenario) -> Aimed:
    """Return the balls of a drawing whose densities nobody knows any more.

    Each is as likely about the middle of what its material allows, half of that range being one
    standard deviation; a density that is given varies by its tolerance.
    """
    rest = [i for i in stated_inputs(scenario) if i.kind not in ("density", "batch")]
    given = [i for i in stated_inputs(scenario) if i.kind == "density" and _given(scenario, i)]
    inputs = Inputs.of(scenario, [*_wide(scenario), *given, *rest])
    models = {}
    for linear_map in linear_maps(scenario):
        middle = np.array([(pour.low + pour.high) / 2.0 for pour in linear_map.pours])
        own = inputs.own[linear_map.label], inputs.columns[linear_map.label]
        models[linear_map.label] = Model(scenario, linear_map.ball(middle), *own)
    return Aimed(scenario, None, models, inputs.sources, {})


def _given(scenario: Scenario, input_: Input) -> bool:
    return any(pour.fixed for pour in scenario.pours if pour.part == input_.of)


def _wide(scenario: Scenario) -> list[Input]:
    def law(pour: Pour) -> Normal:
        return Normal(deviation=(pour.high - pour.low) / 2.0)

    return [
        Input("density", law(pour), alone(scenario.standing(pour.part)), pour.part)
        for pour in scenario.pours
        if not pour.fixed
    ]

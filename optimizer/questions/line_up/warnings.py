"""What a person should know that is no error: the scenario's warnings, and rules not kept."""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.ball.limits.rulebook import rules_asked
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.margins import outside
from optimizer.lineup.result import LineupResult, WeightResult
from optimizer.paper.quantities import Units
from optimizer.paper.words import margin_lines
from optimizer.scenario import Scenario


def all_warnings(
    scenario: Scenario, weights: Sequence[WeightResult], asked: Sequence[LinearMap] = ()
) -> tuple[str, ...]:
    """Return the scenario's warnings and the rules broken, measured in `weights` or as `asked`."""
    units = Units.of(scenario)
    maps = (*(weight.ball.map for weight in weights), *asked)
    names = {linear_map.label: linear_map.name for linear_map in maps}
    broken = [
        margin
        for weight in weights
        for margin in weight.margins
        if margin.rule_only and outside(margin)
    ]
    broken += [
        margin
        for margin in (m for linear_map in asked for m in rules_asked(linear_map))
        if outside(margin)
    ]
    return (*scenario.warnings, *margin_lines(broken, names, units))


def result_warnings(result: LineupResult) -> tuple[str, ...]:
    """Return the warnings of a line-up; of one that nobody pours, as it is asked for."""
    if result.accepted:
        return all_warnings(result.scenario, result.weights)
    return all_warnings(result.scenario, (), [weight.ball.map for weight in result.weights])

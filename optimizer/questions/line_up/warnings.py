"""Warnings, which are no errors: the scenario's own, and broken rules."""

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
    """Return the scenario's warnings and broken rules, as measured in `weights` or as `asked`."""
    units = Units.of(scenario)
    maps = (*(weight.ball.map for weight in weights), *asked)
    names = {linear_map.label: linear_map.name for linear_map in maps}
    margins = [margin for weight in weights for margin in weight.margins if margin.rule_only]
    margins += [margin for linear_map in asked for margin in rules_asked(linear_map)]
    return (*scenario.warnings, *margin_lines(filter(outside, margins), names, units))


def result_warnings(result: LineupResult) -> tuple[str, ...]:
    """Return the warnings of a line-up; without one, of what the scenario asks for."""
    if result.accepted:
        return all_warnings(result.scenario, result.weights)
    return all_warnings(result.scenario, (), [weight.ball.map for weight in result.weights])

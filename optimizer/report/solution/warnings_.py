"""What a person should know that is no error: the scenario's warnings, and rules not kept."""

from __future__ import annotations

from collections.abc import Sequence

from optimizer.lineup.margins import outside
from optimizer.lineup.result import LineupResult, WeightResult
from optimizer.report.quantities import Units
from optimizer.report.words import margin_lines
from optimizer.scenario import Scenario


def all_warnings(scenario: Scenario, weights: Sequence[WeightResult]) -> tuple[str, ...]:
    """Return the scenario's warnings, then each rule that a given figure is outside of."""
    units = Units.of(scenario)
    names = {weight.label: weight.ball.map.name for weight in weights}
    broken = [
        margin
        for weight in weights
        for margin in weight.margins
        if margin.rule_only and outside(margin)
    ]
    return (*scenario.warnings, *margin_lines(broken, names, units))


def result_warnings(result: LineupResult) -> tuple[str, ...]:
    """Return the warnings of a line-up; of one that nobody pours, only the scenario's."""
    return all_warnings(result.scenario, result.weights if result.accepted else ())

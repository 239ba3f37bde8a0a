"""A check as data: the object that `check --json` prints, "samespin/check@1"."""

from __future__ import annotations

from typing import Any, Final

from optimizer.paper.axes import psa_data
from optimizer.questions.check.checking import Check
from optimizer.questions.check.recipes import recipe_data
from optimizer.questions.line_up.counting import free_densities, free_parts, targets
from optimizer.questions.line_up.data import (
    ball_data,
    deviation_data,
    margin_data,
    number,
    scenario_data,
)
from optimizer.questions.line_up.warnings import all_warnings
from optimizer.scenario.source.writing import part_text
from shared.units import INCH, POUND

FORMAT: Final = "samespin/check@1"


def check_data(check: Check) -> dict[str, Any]:
    """Return a check as JSON types, units fixed by each key's name."""
    scenario = check.scenario
    psa = psa_data([weight.ball for weight in check.measured])
    return {
        "format": FORMAT,
        "scenario": scenario_data(scenario),
        "status": "infeasible" if check.broken or check.out_of_reach else "in order",
        "about": scenario.about,
        "targets": list(targets(scenario)),
        "free": {"parts": list(free_parts(scenario)), "densities": free_densities(scenario)},
        "pours": [
            {
                "part": pour.part,
                "material": pour.material,
                "density_g_cm3": [pour.low, pour.high],
                "tolerance_g_cm3": pour.tolerance,
                "step_g_cm3": pour.step,
            }
            for pour in scenario.pours
        ],
        "recipes": recipe_data(check),
        "weights": [
            {
                "label": linear_map.label,
                "class_weight_lb": number(linear_map.mass / POUND),
                "lightest_lb": number(reach.least / POUND),
                "heaviest_lb": number(reach.most / POUND),
                "volumes_cm3": {
                    part.name: number(volume)
                    for part, volume in zip(
                        linear_map.parts, linear_map.volumes.tolist(), strict=True
                    )
                },
                "parts": [part_text(part, scenario) for part in linear_map.parts],
                "walls": [
                    {
                        "between": list(wall.between),
                        "nested": wall.nested,
                        "thickness_in": number(wall.thickness / INCH),
                        "error_in": number(wall.error / INCH),
                        "at_in": [number(float(c) / INCH) for c in wall.at],
                    }
                    for wall in linear_map.walls
                ],
                "margins": [margin_data(m) for m in check.walls if m.weight == linear_map.label],
            }
            for linear_map, reach in zip(check.maps, check.reach, strict=True)
        ],
        "measured": [
            {
                "label": weight.label,
                **ball_data(weight.ball),
                "psa_from_mean_in": psa[weight.label],
                "deviations": deviation_data(weight),
                "margins": [margin_data(margin) for margin in weight.margins],
            }
            for weight in check.measured
        ],
        "broken": [margin_data(margin) for margin in check.broken],
        "warnings": list(all_warnings(scenario, check.measured, check.sought)),
    }

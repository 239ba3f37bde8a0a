"""A result as data: the object that `solve --json` prints, "samespin/solution@1".

Units are fixed by each key's name, whatever the scenario's units are.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable, Mapping
from types import MappingProxyType
from typing import Any, Final

from optimizer import version
from optimizer.ball.bounds import Margin
from optimizer.ball.figures import DIFFERENTIAL, LOW_RG, Figure
from optimizer.ball.weight_class import Ball
from optimizer.lineup.margins import Deviation
from optimizer.lineup.result import Infeasible, LineupResult, WeightResult
from optimizer.paper.axes import axis_data, psa_data
from optimizer.paper.quantities import FIXED_UNITS
from optimizer.questions.line_up.meshes import mesh_data
from optimizer.questions.line_up.warnings import result_warnings
from optimizer.scenario import Scenario
from optimizer.scenario.source.attachments import packed
from optimizer.scenario.source.writing import fingerprint, part_text
from shared.units import INCH, OUNCE, POUND

FORMAT: Final = "samespin/solution@1"
NAME: Final = "solution"
"""The name under which a page carries a solution."""


def number(value: float) -> float:
    """Return `value` to nine significant digits; below 1e-12 it is 0."""
    return float(f"{value:.9g}") if abs(value) >= 1e-12 else 0.0


def given(value: float) -> float:
    """Return an input of the measurement to fifteen significant digits: as it was typed."""
    return float(f"{value:.15g}")


def solution(
    result: LineupResult, diagnosis: Mapping[str, Any] = MappingProxyType({})
) -> dict[str, Any]:
    """Return the whole result as JSON types, with the data of its `diagnosis`."""
    why = result.infeasible
    return {
        "format": FORMAT,
        "scenario": scenario_data(result.scenario),
        "made_by": {"samespin": version(), "solver": result.search.solver},
        "search": {
            "complete": result.search.complete,
            "exact": result.exact,
            "starts": result.search.starts,
            "programs": result.search.programs,
            "moulds": result.search.moulds,
            "agreed": result.search.agreed,
        },
        **measured_data(result),
        "infeasible": None if why is None else _infeasible(why, result) | {**diagnosis},
        "warnings": list(result_warnings(result)),
    }


def measured_data(result: LineupResult) -> dict[str, Any]:
    """Return what follows from the densities, the dimensions and the target's figures.

    A saved solution must agree with all of it.
    """
    scenario, smallest = result.scenario, result.smallest
    psa = psa_data([weight.ball for weight in result.weights])
    return {
        "status": result.status,
        "target": target_data(scenario, result.figures, given),
        "weights": [_weight(weight, scenario, psa) for weight in result.weights],
        "smallest_margin": None if smallest is None else margin_data(smallest),
        "largest_deviation": _largest(result),
    }


def scenario_data(scenario: Scenario) -> dict[str, Any]:
    """Return a scenario as data: its identity, its text and its files."""
    return identity(scenario) | {"text": scenario.source, "files": packed(scenario.files)}


def identity(scenario: Scenario) -> dict[str, Any]:
    """Return what identifies a scenario: name, revision, changes, and a hash of its content."""
    return {
        "name": scenario.name,
        "revision": scenario.revision,
        "what_if": scenario.what_if.data,
        "sha256": fingerprint(tomllib.loads(scenario.source), scenario.files),
    }


def target_data(
    scenario: Scenario, figures: Iterable[float], as_number: Callable[[float], float] = number
) -> dict[str, Any]:
    """Return the target's figures as met, inches."""
    return _figures(scenario, figures, as_number) | {"about": scenario.about}


def figure_key(figure: Figure) -> str:
    """Return the key of a target's figure, told in inches."""
    return f"{figure.key}_in"


def _figures(
    scenario: Scenario, figures: Iterable[float], as_number: Callable[[float], float]
) -> dict[str, Any]:
    pairs = zip(scenario.target, figures, strict=True)
    return {figure_key(figure): as_number(value / INCH) for figure, value in pairs}


def _weight(
    weight: WeightResult, scenario: Scenario, psa: Mapping[str, float | None]
) -> dict[str, Any]:
    ball = weight.ball
    return {
        "label": weight.label,
        **ball_data(ball),
        "psa_from_mean_in": psa[weight.label],
        "within_tolerance": weight.within,
        "dimensions": scenario.named(weight.label),
        "parts": [part_text(part, scenario) for part in ball.map.parts],
        "deviations": deviation_data(weight),
        "margins": [margin_data(margin) for margin in weight.margins],
    }


def ball_data(ball: Ball) -> dict[str, Any]:
    """Return the densities and measured figures of one ball."""
    properties, names = ball.properties, [part.name for part in ball.map.parts]
    other = "centre" if ball.map.about == "cg" else "cg"
    along_pin = properties.top_weight_along_pin(ball.map.arm)
    volumes = zip(names, map(number, ball.map.volumes.tolist()), strict=True)
    return {
        "weight_lb": number(properties.mass / POUND),
        "mass_g": number(properties.mass),
        **_radii(ball, ball.map.about, ""),
        **_radii(ball, other, f"_about_{other}"),
        "cg_in": [number(float(c) / INCH) for c in properties.cg],
        "cg_offset_in": number(properties.cg_offset / INCH),
        "top_weight_oz": number(ball.top_weight / OUNCE),
        "top_weight_along_pin_oz": number(along_pin / OUNCE),
        "balance_arm_in": number(ball.map.arm / INCH),
        "pin_distance_in": number(ball.pin_distance / INCH),
        "axes": axis_data(ball),
        "densities_g_cm3": dict(zip(names, ball.densities.tolist(), strict=True)),
        "volumes_cm3": dict(volumes),
        **mesh_data(ball),
    }


def _radii(ball: Ball, point: str, suffix: str) -> dict[str, float]:
    radii = ball.properties.about(point)
    return {
        f"rg_low{suffix}_in": number(radii.low / INCH),
        f"rg_intermediate{suffix}_in": number(radii.intermediate / INCH),
        f"rg_high{suffix}_in": number(radii.high / INCH),
        f"differential{suffix}_in": number(radii.differential / INCH),
        f"intermediate_differential{suffix}_in": number(radii.intermediate_differential / INCH),
    }


def deviation_data(weight: WeightResult) -> list[dict[str, Any]]:
    """Return how far one ball is off each target."""
    return [_deviation(deviation) for deviation in weight.deviations]


def _deviation(deviation: Deviation) -> dict[str, Any]:
    unit, factor = FIXED_UNITS[deviation.figure.quantity]
    off = deviation.tolerances
    return {
        "target": deviation.figure.key.replace("_", " "),
        "asked": number(deviation.asked / factor),
        "measured": number(deviation.measured / factor),
        "off": number(deviation.off / factor),
        "unit": unit,
        "tolerances": None if off is None else number(off),
    }


def _largest(result: LineupResult) -> dict[str, Any] | None:
    """Return the largest deviation of a line-up within tolerance."""
    if result.largest_deviation is None:
        return None
    label, deviation = result.largest_deviation
    data = _deviation(deviation)
    return {"weight": label} | {key: data[key] for key in ("target", "off", "unit", "tolerances")}


def margin_data(margin: Margin) -> dict[str, Any]:
    """Return one margin; `of` is a part, a pair of parts, or None for the whole ball."""
    (unit, factor), part = FIXED_UNITS[margin.quantity], margin.part
    pair = part if isinstance(part, tuple) else None
    return {
        "weight": margin.weight,
        "limit": margin.words,
        "part": pair[0] if pair else part,
        "of": list(pair) if pair else part,
        "value": number(margin.value / factor),
        "bound": number(margin.edge / factor),
        "slack": number(margin.slack / factor),
        "asked": None if margin.middle is None else number(margin.middle / factor),
        "unit": unit,
        "tolerances": None if margin.tolerances is None else number(margin.tolerances),
        "rule_only": margin.rule_only,
        "note": margin.note,
    }


def _infeasible(why: Infeasible, nearest: LineupResult) -> dict[str, Any]:
    return {
        "conflict": None,
        "remedies": None,
        "nearest": {
            "shared": why.shared is not None,
            **dict.fromkeys(map(figure_key, (LOW_RG, DIFFERENTIAL))),
            **({} if why.shared is None else _figures(nearest.scenario, why.shared, number)),
            "weights": [
                {
                    "label": weight.label,
                    "weight_lb": number(weight.ball.properties.mass / POUND),
                    "rg_in": number(weight.ball.radii.low / INCH),
                    "differential_in": number(weight.ball.radii.differential / INCH),
                }
                for weight in nearest.weights
            ],
        },
        "proof": why.proof,
        "broken": [margin_data(margin) for margin in why.broken],
        "stops": [margin_data(margin) for margin in why.stops],
    }

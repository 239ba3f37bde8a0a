"""A comparison as data: the object that `compare --json` prints, "samespin/comparison@1"."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from optimizer import version
from optimizer.ball.bounds import Margin
from optimizer.paper.quantities import Units
from optimizer.questions.compare.better import better_lines, caution_lines
from optimizer.questions.compare.compare import Candidate, Comparison
from optimizer.questions.compare.differences import differences
from optimizer.questions.compare.input_words import difference_line
from optimizer.questions.line_up.data import (
    ball_data,
    margin_data,
    number,
    scenario_data,
    target_data,
)
from optimizer.questions.sharing.fillers import Material, material

FORMAT: Final = "samespin/comparison@1"


def comparison_data(found: Comparison) -> dict[str, Any]:
    """Return the comparison as JSON types, candidates in the order in which they were named."""
    return {
        "format": FORMAT,
        "made_by": {"samespin": version()},
        "weights": list(found.labels),
        "shared_weights": list(found.shared),
        "same_target": found.same_target,
        "candidates": [_candidate(one, found) for one in found.candidates],
        "better": list(better_lines(found)),
        "notes": list(caution_lines(found)),
    }


def _candidate(one: Candidate, found: Comparison) -> dict[str, Any]:
    result, first = one.result, found.first.result.scenario
    units = Units.of(first)
    return {
        "name": one.name,
        "file": one.source,
        "scenario": scenario_data(result.scenario),
        "status": result.status,
        "off_target_tolerances": number(float(one.off)) if one.found else None,
        "target": target_data(result.scenario, result.figures),
        "smallest_margin": _margin(one.smallest),
        "smallest_margin_by_density": _margin(one.movable),
        "pours": one.pours,
        "moulds": one.moulds,
        "dominated_by": [other.name for other in found.above(one)],
        "one_ball_of_each_shared_weight": _material(one.material(found.shared)),
        "weights": [
            {"label": w.label, **ball_data(w.ball), **_material(material([w.ball]))}
            for w in result.weights
        ],
        "differs": [difference_line(each, units) for each in differences(first, result.scenario)],
    }


def _margin(margin: Margin | None) -> dict[str, Any] | None:
    return None if margin is None else margin_data(margin)


def _material(held: Material) -> dict[str, Any]:
    """Return what finished balls hold; no sum of fillers where a part's mix isn't known."""

    def grams(of: Mapping[str, float]) -> dict[str, float]:
        return {name: number(mass) for name, mass in of.items()}

    return {
        "fillers_g": grams(held.fillers),
        "resins_g": grams(held.resins),
        "filler_g": None if held.unknown else number(held.filler),
        "cost": None if held.cost is None else number(held.cost),
        "parts_without_mix": list(held.unknown),
    }

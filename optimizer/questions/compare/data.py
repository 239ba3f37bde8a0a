"""A comparison as data: the object that `compare --json` prints, "samespin/comparison@1"."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from optimizer import version
from optimizer.ball.bounds import Margin
from optimizer.questions.compare.better import better_lines, caution_lines
from optimizer.questions.compare.compare import Candidate, Comparison
from optimizer.questions.compare.input_words import difference_lines
from optimizer.questions.line_up.data import (
    ball_data,
    margin_data,
    number,
    scenario_data,
    target_data,
)
from optimizer.questions.sharing.fillers import Material, material

FORMAT: Final = "samespin/comparison@1"


def comparison_data(comparison: Comparison) -> dict[str, Any]:
    """Return the comparison as JSON types, candidates in the order in which they were named."""
    return {
        "format": FORMAT,
        "made_by": {"samespin": version()},
        "weights": list(comparison.labels),
        "shared_weights": list(comparison.shared),
        "same_target": comparison.same_target,
        "candidates": [_candidate(candidate, comparison) for candidate in comparison.candidates],
        "better": list(better_lines(comparison)),
        "notes": list(caution_lines(comparison)),
    }


def _candidate(candidate: Candidate, comparison: Comparison) -> dict[str, Any]:
    result = candidate.result
    return {
        "name": candidate.name,
        "file": candidate.source,
        "scenario": scenario_data(result.scenario),
        "status": result.status,
        "off_target_tolerances": number(float(candidate.off)) if candidate.found else None,
        "target": target_data(result.scenario, result.figures),
        "smallest_margin": _margin(candidate.smallest),
        "smallest_margin_by_density": _margin(candidate.movable),
        "pours": candidate.pours,
        "moulds": candidate.moulds,
        "dominated_by": [above.name for above in comparison.above(candidate)],
        "one_ball_of_each_shared_weight": _material(candidate.material(comparison.shared)),
        "weights": [
            {"label": w.label, **ball_data(w.ball), **_material(material([w.ball]))}
            for w in result.weights
        ],
        "differs": difference_lines(comparison.first.result.scenario, result.scenario),
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

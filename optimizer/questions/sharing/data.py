"""A frontier as data: the object that `sharing --json` prints, "samespin/sharing@1"."""

from __future__ import annotations

from typing import Any, Final

from optimizer import version
from optimizer.questions.line_up.data import margin_data, number, scenario_data
from optimizer.questions.line_up.warnings import result_warnings
from optimizer.questions.sharing.fewest import Fewest
from optimizer.questions.sharing.pours import Point
from optimizer.questions.sharing.sharing import Frontier
from optimizer.scenario.source.writing import same_density

FORMAT: Final = "samespin/sharing@1"


def sharing_data(frontier: Frontier) -> dict[str, Any]:
    """Return the frontier as JSON types: most pours first, each with less margin than the last."""
    own = frontier.own.result
    return {
        "format": FORMAT,
        "scenario": scenario_data(own.scenario),
        "made_by": {"samespin": version(), "solver": own.search.solver},
        "status": own.status,
        "proof": None if own.infeasible is None else own.infeasible.proof,
        "as_it_stands": _point(frontier.own) if frontier.own.found else None,
        "fewest": _fewest(frontier.fewest),
        "frontier": [_point(point) for point in frontier.points],
        "one_density_in_every_weight": {
            part: None if point is None else _point(point) for part, point in frontier.alone.items()
        },
        "warnings": list(result_warnings(own)),
    }


def _fewest(fewest: Fewest | None) -> dict[str, Any] | None:
    """Return what is known of the fewest pours; None where nothing is proven."""
    if fewest is None:
        return None
    across = fewest.point if fewest.across else None
    return {
        "found": fewest.found,
        "at_least": fewest.at_least,
        "proven": True,
        "across_parts": None if across is None else _point(across),
    }


def _point(point: Point) -> dict[str, Any]:
    """Return one line-up: `tolerances` is its smallest margin that depends on density."""
    result, smallest = point.result, point.smallest
    return {
        "pours": point.pours,
        "tolerances": None if smallest is None else number(point.level),
        "smallest_margin": None if smallest is None else margin_data(smallest),
        "same_density": {
            part: same_density(groups, result.scenario.standing(part))
            for part, groups in point.sharing.items()
        },
        "recipes": [
            {
                "material": recipe.material,
                "density_g_cm3": float(f"{recipe.density:.12g}"),
                "poured": [{"part": part, "weight": label} for part, label in recipe.poured],
            }
            for recipe in point.recipes
        ],
    }

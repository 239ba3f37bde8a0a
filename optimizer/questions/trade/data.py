"""A curve as data: the object that `solve --trade … --json` prints, "samespin/trade@1"."""

from __future__ import annotations

from typing import Any, Final

from optimizer import version
from optimizer.questions.line_up.data import margin_data, number, scenario_data, target_data
from optimizer.questions.line_up.warnings import all_warnings
from optimizer.questions.trade.held_figure import Limits
from optimizer.questions.trade.trade import Spot, Trade
from optimizer.questions.window.edges import claim_data
from shared.units import INCH

FORMAT: Final = "samespin/trade@1"


def trade_data(trade: Trade) -> dict[str, Any]:
    """Return the curve as JSON types, from the lowest value to the highest.

    "value_in" is the figure, "tolerances" the smallest margin that densities move, of the balls as
    stated; null where no line-up was found that meets the targets. "feasible_in" are the first and
    the last value of each feasible stretch.
    """
    best, verdict = trade.best, trade.verdict
    proof = verdict.infeasible.proof if verdict and verdict.infeasible else None
    return {
        "format": FORMAT,
        "scenario": scenario_data(trade.scenario),
        "made_by": {"samespin": version(), "solver": trade.solver},
        "status": trade.status,
        "proof": proof,
        "figure": trade.of.key,
        "about": trade.scenario.about,
        "range_in": [_inches(trade.spots[0]), _inches(trade.spots[-1])],
        "curve": [_spot(trade, spot) for spot in trade.spots],
        "kinks": [
            _spot(trade, kink.spot)
            | {"takes_over": _limits(kink.enters), "in_place_of": _limits(kink.leaves)}
            for kink in trade.kinks
        ],
        "best": None if best is None else _spot(trade, best),
        "feasible_in": [[_inches(a), _inches(b)] for a, b in trade.ranges],
        "gaps_in": [[_inches(a), _inches(b)] for a, b in trade.gaps],
        "error_tolerances": number(trade.error),
        "checked": {"values": trade.fresh, "found_more": trade.astray, "proven": False},
        "given_margins": [margin_data(margin) for margin in trade.given],
        "warnings": list(all_warnings(trade.scenario, trade.pourable)),
    }


def _spot(trade: Trade, spot: Spot) -> dict[str, Any]:
    return {
        "value_in": _inches(spot),
        "tolerances": None if spot.tolerances is None else number(spot.tolerances),
        "target": target_data(trade.scenario, spot.figures) if spot.found else None,
        "smallest_margin": None if spot.smallest is None else margin_data(spot.smallest),
        "limits": _limits(spot.limits),
    }


def _inches(spot: Spot) -> float:
    return number(spot.value / INCH)


def _limits(limits: Limits) -> list[dict[str, Any]]:
    return sorted(map(claim_data, limits), key=lambda limit: (str(limit["weight"]), limit["words"]))

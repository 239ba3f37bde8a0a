"""What became of a number that was sought: in words, and as data."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING, Any

from optimizer.lineup.goals import Reached
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import counted, listed
from optimizer.scenario import linear_maps
from optimizer.scenario.goals import COST, Goal
from optimizer.scenario.scenario import Scenario

if TYPE_CHECKING:
    from optimizer.lineup.proof.farthest import Farthest

STOPS = 6
"""Limits named that stop a goal."""


def unit_of(asked: Scenario, goal: Goal) -> Unit:
    """Return the unit in which the text states the number."""
    units = Units.of(asked)
    if goal.path == COST:
        return Unit("", 1.0, 2)
    by_table = {"weights": units.mass, "materials": units.density, "dimensions": units.length}
    if goal.path[0] in by_table:
        return by_table[str(goal.path[0])]
    if goal.path[0] == "target":
        return units.length if goal.name == "cg_offset" else units.rg
    bounds = (bound for one in linear_maps(asked) for bound in one.bounds)
    return units.by(next(bound.figure for bound in bounds if bound.path == goal.of).quantity)


def _number(goal: Goal) -> str:
    """Return the number in words: "differential", "class weight of 13", "density of dense"."""
    kind, name = str(goal.path[0]), str(goal.path[1]).replace("_", " ")
    by_table = {"weights": "class weight of", "materials": "density of", "dimensions": "dimension"}
    return f"{by_table[kind]} {name}" if kind in by_table else name


def _sought(goal: Goal) -> str:
    """Return what is sought: "most differential", "lowest maximum of the density of dense"."""
    if goal.side in ("min", "max"):
        end, other = ("maximum", "lowest") if goal.side == "max" else ("minimum", "highest")
        return f"{other} {end} of the {_number(goal)}"
    return f"{goal.sense} {_number(goal)}"


def sought_words(goal: Goal, unit: Unit) -> str:
    """Return what a scenario seeks."""
    room = f"with {counted(goal.keep)} of room to" if goal.keep else "within"
    if goal.path == COST:
        return f"Sought: the least cost, {room} every limit that densities move."
    return (
        f"Sought: the {_sought(goal)} between {goal.low:g} and {goal.high:g} {unit.name}, {room} "
        f"every limit that densities move."
    )


def goal_words(reached: Reached, *, accepted: bool) -> str:
    """Return what was sought, what was found, and what keeps it from going further.

    Where nothing was found, the line-up is `accepted` if it keeps the limits with less room.
    """
    asked, goal = reached.asked, reached.goal
    unit = unit_of(asked, goal)
    sought = sought_words(goal, unit)
    if reached.value is None:
        instead = "; this is the line-up with the most room" if accepted else ""
        return f"{sought} None was found{instead}."
    if goal.path == COST:
        return (
            f"{sought} Found: {reached.value:.4f} for one ball of each weight as drawn, each pour "
            "by its cheapest mix, without losses; the best of several starts, not proven."
        )
    found = f"{sought} Found: {reached.value:.12g} {unit.name}"
    if reached.reach is None:
        return f"{found}."
    before = f"{reached.reach.value:.{reached.reach.decimals + 2}f}"
    stops = sorted({str(bound) for bound in reached.reach.stops if bound.side != "both"})
    more = f" and {len(stops) - STOPS} more" if len(stops) > STOPS else ""
    stopped = f" It is stopped by {listed(stops[:STOPS])}{more}." if stops else ""
    return f"{found} ({before} before it is rounded to what is written).{stopped}"


def farthest_words(reached: Reached, known: Farthest) -> tuple[str, ...]:
    """Return what is proven of how far a line-up can go."""
    goal, reach, unit = reached.goal, reached.reach, unit_of(reached.asked, reached.goal).name
    if reach is None or known.relaxation is None:
        at_end = reach is not None and known.value in (goal.low, goal.high)
        at_end = at_end and reached.value == known.value
        return ("the goal is at the end of its own range",) if at_end else ()
    more = "more" if goal.sense == "most" else "less"
    room = f" with {counted(goal.keep)} of room" if goal.keep else ""
    most = _outward(known.value, reach.decimals + 2, goal.way)
    what = f"{_number(goal)} of {more} than {most} {unit}"
    if goal.side in ("min", "max"):
        end = "maximum" if goal.side == "max" else "minimum"
        what = f"{end} of {more} than {most} {unit} for the {_number(goal)}"
        return (f"proven: with this mould no line-up{room} keeps a {what}",)
    return (f"proven: with this mould no line-up{room} has a {what}",)


def goal_data(reached: Reached, known: Farthest | None = None) -> dict[str, Any]:
    """Return the same as JSON types, in the scenario's own units."""
    goal, reach = reached.goal, reached.reach
    proven = known is not None and known.relaxation is not None
    unit = unit_of(reached.asked, goal).name
    return {
        "sought": ".".join(map(str, goal.path)),
        "goal": goal.sense,
        "min": goal.low,
        "max": goal.high if isfinite(goal.high) else None,
        "keep_tolerances": goal.keep,
        "value": reached.value,
        "unit": unit,
        "before_rounding": None if reach is None else float(f"{reach.value:.9g}"),
        "stops": [] if reach is None else sorted(map(str, reach.stops)),
        "proven_beyond": known.value if proven and known is not None else None,
    }


def _outward(value: float, decimals: int, way: float) -> str:
    """Return a number rounded up for the most, down for the least."""
    step = 10.0**-decimals
    whole = -(-value // step) if way > 0 else value // step
    return f"{whole * step:.{decimals}f}"

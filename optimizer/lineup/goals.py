"""The line-up that reaches a goal: the number is found, written into the scenario, and solved.

The number is rounded to what a designer would write, on the side that keeps the room, so the answer
is the line-up of an ordinary scenario.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain, islice
from typing import TYPE_CHECKING, Any, Final

from optimizer.ball.bounds import Bound
from optimizer.lineup.cheapest import Cheapest, cost
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.engine.search import (
    DELIBERATE,
    Round,
    best_found,
    binding,
    first_rounds,
    leaning,
    search_rounds,
)
from optimizer.lineup.group import Solution
from optimizer.lineup.rows import Lineup
from optimizer.scenario import Scenario, linear_maps, read_again
from optimizer.scenario.goals import Goal
from optimizer.scenario.source.editing import REMOVED, edited
from optimizer.scenario.source.positions import value_at
from shared import activity
from shared.arrays import Array
from shared.models import Path
from shared.units import LENGTHS

if TYPE_CHECKING:
    from optimizer.lineup.result import LineupResult

FINE: Final = 20.0
"""A number is written with so many decimals that a step is this part of its tolerance, or less."""
BACK: Final = 4
"""Steps back from the goal that are tried: rounding takes room."""
SLIGHT: Final = 1e-6
"""Tolerances of room by which rounding the densities may fall short of what is to be kept."""


@dataclass(frozen=True, eq=False)
class Reach:
    """How far the group of weights that stops first can go: the columns there, and the number.

    `value` is in the text's unit, `decimals` are those it is written with; `stops` keep it from
    going further.
    """

    lineup: Lineup
    x: Array
    value: float
    decimals: int
    stops: frozenset[Bound]


@dataclass(frozen=True, eq=False)
class Reached:
    """What became of a goal: its `value` as written, in the text's unit; None if there is none.

    `asked` is the scenario with the goal; `reach` the end of the search, before rounding.
    """

    asked: Scenario
    goal: Goal
    value: float | None = None
    reach: Reach | None = None


def to_goal(asked: Scenario, solve: Callable[[Scenario], LineupResult]) -> LineupResult:
    """Return the line-up that reaches the goal of a scenario whose mould is given.

    `solve` finds the line-up of a scenario. Where no number keeps the room that is asked for, it
    is that of the scenario with the goal's own start, or with the figure free.
    """
    if asked.goal is None:
        raise ValueError("a scenario without a goal has no number to seek")
    goal, reach = asked.goal, None
    candidates: Iterable[float] = ()
    if goal.path[0] == "dimensions":  # the search for a mould has picked it
        value = asked.chosen[goal.name][asked.labels[0]]
        digits = LENGTHS[asked.text.units.length].digits
        candidates = _back(goal, value, digits)
    elif (reach := _reach(asked, goal)) is not None:
        candidates = _back(goal, _rounded(goal, reach), reach.decimals)
    for value in candidates:
        activity.at(f"{goal.words} = {value:.12g}")
        result = solve(with_value(asked, goal.path, value))
        if result.status == "feasible" and result.room >= goal.keep - SLIGHT:
            return replace(result, goal=Reached(asked, goal, value, reach))
    return replace(solve(_roomiest(asked, goal)), goal=Reached(asked, goal))


def to_least_cost(
    asked: Scenario,
    goal: Goal,
    as_result: Callable[[Sequence[Solution], LinearSolver], LineupResult],
) -> LineupResult | None:
    """Return the line-up that costs least, of a given mould; None where none keeps the room.

    `as_result` states and measures solutions.
    """
    solver, solutions = LinearSolver(), list[Solution]()
    for lineup in Lineup.groups(linear_maps(asked), asked.sharing):
        starts = chain(*islice(_rounds(lineup), DELIBERATE))
        best, count = Cheapest(lineup, goal.keep).found(solver, starts)
        if best is None:
            return None
        x = best.x[: lineup.columns.count]
        solutions.append(Solution(lineup, x, x, "feasible", count))
    result = as_result(solutions, solver)
    spent = cost(weight.ball for weight in result.weights)
    return replace(result, goal=Reached(asked, goal, spent))


def with_value(asked: Scenario, path: Path, value: float) -> Scenario:
    """Return the scenario with a value written in place of the goal, its mould as it is."""
    changes: dict[Path, Any] = {path: value}
    if value_at(tomllib.loads(asked.source), ("goal", "keep"))[0]:
        changes["goal", "keep"] = REMOVED
    chosen = {name: by for name, by in asked.chosen.items() if path != ("dimensions", name)}
    text = edited(asked.source, changes, file=asked.file)
    return read_again(replace(asked.written, source=text), chosen)


def _reach(asked: Scenario, goal: Goal) -> Reach | None:
    """Return how far the weights that stop first can go; None where some have no line-up."""
    solver, every = LinearSolver(), list[Reach]()
    for lineup in Lineup.groups(linear_maps(asked), asked.sharing, goal):
        best = best_found(lineup, solver, _rounds(lineup))
        if not best.good:
            return None
        stops = binding(lineup, solver, lineup.margin_rows(best.x))
        every.append(_reach_of(lineup, best.x, stops))
    return min(every, key=lambda reach: goal.way * reach.value)


def _rounds(lineup: Lineup) -> Iterator[Round]:
    """Yield the starts: every choice of axes with the CG on either side, then random densities.

    A goal may be farthest where the axes are others, or the CG is on the other side, than at first.
    """
    deliberate = list(chain(*first_rounds(lineup)))
    random = search_rounds(lineup, deliberate[0][0])
    sides = [leaning(lineup, way) for way in (1.0, -1.0)]
    yield [*deliberate, *((x, orders) for x in sides for _, orders in deliberate)]
    yield from islice(random, DELIBERATE, None)


def _roomiest(asked: Scenario, goal: Goal) -> Scenario:
    """Return the scenario with the class weight that leaves most room; others leave most anyway."""
    if goal.side != "both":
        return asked
    for lineup in Lineup.groups(linear_maps(asked), asked.sharing, goal):
        if lineup.sought is not None and lineup.sought.bounds:
            free = replace(lineup, sought=replace(lineup.sought, raised=False))
            best = best_found(free, LinearSolver(), _rounds(free))
            reach = _reach_of(free, best.x)
            return with_value(asked, goal.path, _rounded(goal, reach))
    return asked


def _reach_of(lineup: Lineup, x: Array, stops: frozenset[Bound] = frozenset()) -> Reach:
    """Return how far a group goes that has these columns."""
    if lineup.sought is None:
        raise ValueError("no number is sought")
    step = lineup.sought.unit / lineup.sought.size / FINE
    decimals = max(0, math.ceil(-math.log10(step)))
    return Reach(lineup, x, float(x[lineup.goal_column]) / lineup.sought.size, decimals, stops)


def _rounded(goal: Goal, reach: Reach) -> float:
    """Return the number as written: rounded away from the goal, but for a hair."""
    places, way = 10.0**reach.decimals, goal.way
    steps = way * reach.value * places
    near = round(steps)
    whole = near if abs(steps - near) < 1e-4 else math.floor(steps)
    return min(max(way * whole / places, goal.low), goal.high)


def _back(goal: Goal, value: float, decimals: int) -> Iterable[float]:
    """Yield a value and those a step of its last decimal or more back from the goal."""
    for k in range(BACK):
        there = round(value - goal.way * k * 10.0**-decimals, 12)
        if goal.low <= there <= goal.high:
            yield there

"""Whether a solver of another kind finds the same optimum, from a statement anyone can read.

The line-up's program at the printed densities is stated in cvxpy and solved by an interior-point
method; the search itself uses a warm-started simplex method.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from optimizer.lineup.engine.linear_solver import LinearSolver, Rows
from optimizer.lineup.engine.stated_program import OTHER, state_and_solve
from optimizer.lineup.result import LineupResult
from optimizer.lineup.rows import Lineup
from optimizer.lineup.stating import shortfalls
from optimizer.scenario import linear_maps
from shared import activity
from shared.errors import SolverError, UndecidedError

AGREE: Final = 1e-6
"""Tolerances by which the two optima may differ."""


@dataclass(frozen=True)
class SecondOpinion:
    """The largest difference of two solvers' optima, tolerances, over so many programs."""

    difference: float
    programs: int
    solver: str
    other: str = OTHER


def second_opinion(result: LineupResult) -> SecondOpinion:
    """Return how the optima of another solver compare, for each group of weights of `result`.

    Raises UndecidedError where it finds no optimum, or a different one.
    """
    asked, solver, worst = result.scenario, LinearSolver(), 0.0
    groups = Lineup.groups(linear_maps(asked), asked.sharing)
    for number, lineup in enumerate(groups, start=1):
        activity.at(f"second opinion: group {number} of {len(groups)}")
        rows = _last(lineup, result)
        optimum = solver.best(rows, *lineup.columns.box)
        try:
            other = state_and_solve(rows, *lineup.columns.box)
        except SolverError as error:
            raise UndecidedError(f"undecided: {OTHER}: {error}") from error
        worst = max(worst, abs(optimum.objective - other.objective))
    if worst > AGREE:
        two = f"{solver.name} and {OTHER}"
        raise UndecidedError(f"undecided: the optima of {two} are {worst:.1g} tolerances apart")
    return SecondOpinion(worst, len(groups), solver.name)


def _last(lineup: Lineup, result: LineupResult) -> Rows:
    """Return the program at a result's densities: on target, within tolerance, or nearest."""
    x = lineup.point_of(result)
    weights = [weight for weight in result.weights if weight.label in lineup.labels]
    if any(weight.within for weight in weights):
        return replace(lineup, within=True).rows(x)
    if not any(shortfalls(weight) for weight in weights):
        return lineup.rows(x)
    loose = () if result.infeasible is None else result.infeasible.loose
    nearest = replace(lineup, weight_kept=not {*loose} & {*lineup.labels})
    return Rows.of(nearest.nearest_rows(x))

"""The main job, in the order in which the data flows.

scenario file → Scenario → Regions → LinearMaps → Program → Solution → Margins → Report
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from functools import partial

from optimizer.ball.bounds import Margin
from optimizer.lineup.columns import TOGETHER
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.engine.search import first_start
from optimizer.lineup.goals import Reached, to_goal, to_least_cost
from optimizer.lineup.group import Solution, solved
from optimizer.lineup.moulds.chosen import Picked
from optimizer.lineup.moulds.search import MouldSearch
from optimizer.lineup.moulds.starts import Starts
from optimizer.lineup.one_share import of_one_share
from optimizer.lineup.result import (
    Infeasible,
    LineupResult,
    Search,
    SearchInterruptedError,
    Status,
    WeightResult,
)
from optimizer.lineup.rows import Lineup
from optimizer.lineup.stating import fixed_and_broken, printed, shortfalls
from optimizer.lineup.verdict_words import NO_MOULD, NO_MOULD_EXACT, known_words
from optimizer.scenario.goals import COST
from optimizer.scenario.scenario import Scenario
from optimizer.scenario.weight_classes import linear_maps
from shared import activity, stopping
from shared.errors import InputError, Problem, SolverError


@activity.within()
def solve_lineup(
    scenario: Scenario,
    how: Starts = Starts(),  # noqa: B008 - frozen
    *,
    exact: bool = False,
) -> LineupResult:
    """Return the line-up of `scenario`: densities, measured figures, margins; or why there is none.

    Weights that can't meet the target exactly may miss it by its tolerances, unless `exact`. If
    dimensions are free, the mould is chosen first, by the search that `how` describes; the
    densities are then those for the mould as printed. Raises SolverError if a solver fails or an
    answer doesn't measure up; after Ctrl-C a KeyboardInterrupt, or a SearchInterruptedError once a
    mould is known. Where a number is sought, the line-up is the one that goes farthest, and its
    scenario has that number.
    """
    if scenario.alike is not None:
        return of_one_share(scenario, scenario.alike, partial(solve_lineup, exact=exact))
    if not scenario.open:
        return _of_given(scenario, exact=exact)
    search = MouldSearch(scenario, how, exact=exact or scenario.goal is not None)
    try:
        result = _of_mould(search.picked())
        return replace(result, search=replace(result.search, complete=not search.late))
    except KeyboardInterrupt:
        so_far = search.so_far()
        if so_far is None:
            raise
        raise SearchInterruptedError(partial(_best, so_far)) from None


def _best(so_far: Picked) -> LineupResult:
    """Return the best result of an interrupted search; another Ctrl-C interrupts this, too."""
    stopping.heard()
    result = _of_mould(so_far)
    return replace(result, search=replace(result.search, complete=False))


def _of_mould(picked: Picked) -> LineupResult:
    """Return the best densities for the chosen mould, with a record of the search."""
    result = _of_given(picked.scenario, exact=picked.exact)
    search = replace(
        result.search,
        programs=picked.programs + result.search.programs,
        moulds=picked.starts,
        agreed=picked.agreed,
    )
    why, inexact = result.infeasible, result.inexact
    if why is None:
        inexact = inexact and NO_MOULD_EXACT.format(known=inexact)
        return replace(result, search=search, inexact=inexact)
    why = replace(why, proof=NO_MOULD.format(known=why.proof))
    return replace(result, status="undecided", search=search, infeasible=why)


def _of_given(scenario: Scenario, *, exact: bool) -> LineupResult:
    """Return the line-up for a given mould, with the number that is sought as far as it goes."""
    goal = scenario.goal
    if goal is None:
        return _poured(scenario, exact=exact)
    if goal.path == COST:
        cheap = to_least_cost(scenario, goal, partial(as_result, scenario))
        return cheap or replace(_poured(scenario, exact=exact), goal=Reached(scenario, goal))
    return to_goal(scenario, partial(_poured, exact=exact))


def _poured(scenario: Scenario, *, exact: bool = False) -> LineupResult:
    """Return the best densities for a given mould, or the nearest ones."""
    solver = LinearSolver()
    return as_result(scenario, solutions(scenario, solver, exact=exact), solver, exact=exact)


def solutions(
    scenario: Scenario, solver: LinearSolver, *, exact: bool = False, nearest: bool = True
) -> list[Solution]:
    """Return the search's answer for each group of weights, for a given mould.

    Raises InputError if more is coupled than one program can hold.
    """
    maps, every = linear_maps(scenario), list[Solution]()
    groups = Lineup.groups(maps, scenario.sharing)
    _check_sizes(groups, scenario)
    for number, lineup in enumerate(groups, start=1):
        of = f" group {number} of {len(groups)}" if len(groups) > 1 else ""
        start = solver.best(first_start(lineup)[1], *lineup.columns.box).x
        activity.at(f"solving{of}")
        with activity.within():
            every.append(solved(lineup, start, solver, exact=exact, nearest=nearest))
    return every


def _check_sizes(groups: Sequence[Lineup], scenario: Scenario) -> None:
    """Raise InputError if more is coupled than one program can hold."""
    largest = max(groups, key=lambda lineup: lineup.columns.figures)
    count, labels = largest.columns.figures, largest.labels
    if count > TOGETHER:
        what = f"{count} densities of {len(labels)} weights, from {labels[0]} to {labels[-1]}, are "
        what += "tied together by densities, dimensions or a free target that they share"
        instead = f"at most {TOGETHER} can be sought together; split the line into several files"
        raise InputError([Problem(what, instead=instead, file=scenario.file)])


def as_result(
    scenario: Scenario, solutions: Sequence[Solution], solver: LinearSolver, *, exact: bool = False
) -> LineupResult:
    """Return the result: densities as printed, everything else measured from them."""
    weights: dict[str, WeightResult] = {}
    stops: list[Margin] = []
    judged = list[Solution]()
    for solution in solutions:
        columns = solution.lineup.columns
        figures = columns.target(solution.x)
        balls = [
            printed(ball, figures, columns.alone(k))
            for k, ball in enumerate(solution.lineup.balls(solution.x))
        ]
        for weight in balls:
            weights[weight.label] = weight
            stops += (margin for margin in weight.margins if margin.bound in solution.binding)
        judged.append(replace(solution, status=_as_stated(solution.status, balls)))
    order = [weights[class_drawing.label] for class_drawing in scenario.classes]
    broken = tuple(margin for weight in order for margin in fixed_and_broken(weight.margins))
    status = _worst({solution.status for solution in judged}, broken)
    if status == "within_tolerance":
        within = {
            label
            for solution in judged
            if solution.status == status
            for label in solution.lineup.labels
        }
        order = [weight.roomed() if weight.label in within else weight for weight in order]
    if status in ("feasible", "within_tolerance") and (
        missed := [miss for w in order for miss in shortfalls(w)]
    ):
        raise SolverError("called feasible, but as stated " + "; ".join(missed))
    loose = [
        label
        for solution in judged
        if not solution.lineup.weight_kept
        for label in solution.lineup.labels
    ]
    known = known_words(judged, broken, exact=exact)
    why = Infeasible(known, broken, tuple(stops), tuple(loose))
    return LineupResult(
        scenario=scenario,
        status=status,
        figures=tuple(solutions[0].lineup.columns.target(solutions[0].x).tolist()),
        weights=tuple(order),
        infeasible=why if status in ("infeasible", "undecided") else None,
        search=Search(
            complete=True,
            starts=sum(solution.starts for solution in solutions),
            programs=solver.solved,
            solver=solver.name,
            work=solver.work,
        ),
        warnings=scenario.warnings,
        inexact=known if status == "within_tolerance" else "",
        exact=exact,
        groups=tuple(judged),
    )


def _worst(statuses: Collection[Status], broken: Sequence[Margin]) -> Status:
    """Return the status of a line from those of its groups and the limits that nothing can keep."""
    order: tuple[Status, ...] = ("infeasible", "undecided", "within_tolerance")
    return "infeasible" if broken else next((s for s in order if s in statuses), "feasible")


def _as_stated(status: Status, balls: Sequence[WeightResult]) -> Status:
    """Return the status of a group from its balls at the densities as printed."""
    if status != "within_tolerance":
        return status
    if not any(shortfalls(weight) for weight in balls):
        return "feasible"
    return "undecided" if any(shortfalls(weight.roomed()) for weight in balls) else status

"""The main job, in the order in which the data flows.

scenario file → Scenario → Regions → LinearMaps → Program → Solution → Margins → Report
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from optimizer.linear.maps import Ball
from optimizer.linear.rows import Margin
from optimizer.lineup.columns import coupled
from optimizer.lineup.margins import deviations, margins, rounding_reach, stated
from optimizer.lineup.moulds import MouldSearch
from optimizer.lineup.program import state_and_solve
from optimizer.lineup.proof import Relaxation
from optimizer.lineup.result import Infeasible, LineupResult, Search, Status, WeightResult
from optimizer.lineup.rows import Lineup, row_name, row_names
from optimizer.lineup.search import (
    best_found,
    binding_rows,
    first_rows,
    nearest_found,
    search_rounds,
)
from optimizer.lineup.solve import LinearSolver, Rows
from optimizer.lineup.starts import Starts
from optimizer.scenario.maps import linear_maps
from optimizer.scenario.scenario import Scenario
from shared.arrays import Array
from shared.errors import SolverError
from shared.tolerances import ARITHMETIC, LEFT_OVER, ROW_ERROR

NONE_EXACT = "proven for {labels}: no densities keep every limit and meet the target exactly"
NONE_WITHIN = (
    "proven for {labels}: no densities keep every limit and meet the target, even within its "
    "tolerances"
)
UNDECIDED = "not found from {starts} starts for {labels}, nor proven impossible"
UNDECIDED_WITHIN = (
    "proven for {labels}: the target can't be met exactly; within its tolerances no line-up was "
    "found from {starts} starts, nor was it proven impossible"
)
UNDECIDED_EXACT = (
    "whether {labels} can meet the target exactly is undecided: not found from {starts} starts, "
    "nor proven impossible"
)
"""What is known of a group of weights that doesn't meet the target exactly."""
NO_MOULD = "no mould was found that would do; for the mould shown below: {known}"
NO_MOULD_EXACT = (
    "no mould was found that meets the target exactly; for the mould shown below: {known}"
)
"""The same where dimensions are free: moulds are searched, and nothing is proven of them."""

Told = Callable[[str, float], None]
"""Hears, while the search goes on, the weights it is at and the best smallest margin so far."""


@dataclass(frozen=True, eq=False)
class Solution:
    """What the search says of one group of weights, before anything is stated or measured.

    `exact_proven`: that the exact target can't be met is proven, whatever its tolerances allow.
    """

    lineup: Lineup
    x: Array
    status: Status
    starts: int
    exact_proven: bool = False
    limits_kept: bool = True
    weight_kept: bool = True
    binding: frozenset[str] = frozenset()


def solve_lineup(
    scenario: Scenario,
    told: Told = lambda _weights, _level: None,
    how: Starts = Starts(),  # noqa: B008 - frozen
    *,
    exact: bool = False,
) -> LineupResult:
    """Return the line-up of `scenario`: densities, measured figures, margins; or why there is none.

    Weights that can't meet the target exactly may be off by its tolerances, unless only the `exact`
    target will do. Where dimensions are free the mould is picked first, from the starts that `how`
    says; the densities are then those of the mould as stated. Raises SolverError when a solver
    fails or an answer does not measure up.
    """
    if not scenario.open:
        return _poured(scenario, told, exact=exact)
    picked = MouldSearch(scenario, how, told, exact=exact).picked()
    result = _poured(picked.scenario, told, exact=exact)
    search = replace(
        result.search,
        complete=picked.complete,
        programs=picked.programs + result.search.programs,
        moulds=picked.starts,
        agreed=picked.agreed,
    )
    why, inexact = result.infeasible, result.inexact
    if why is None:
        told_of = inexact and NO_MOULD_EXACT.format(known=inexact)
        return replace(result, search=search, inexact=told_of)
    why = replace(why, proof=NO_MOULD.format(known=why.proof))
    return replace(result, status="undecided", search=search, infeasible=why)


def _poured(scenario: Scenario, told: Told, *, exact: bool = False) -> LineupResult:
    """Return the best densities for a mould that is given, or the nearest ones."""
    maps, solver = linear_maps(scenario), LinearSolver()
    whole = Lineup.of(maps, scenario.limits, scenario.sharing)
    start = state_and_solve(first_rows(whole), whole.columns.lower, whole.columns.upper).x
    solutions = []
    for members in coupled(maps, scenario.sharing):
        some = [maps[k] for k in members]
        lineup = Lineup.of(some, scenario.limits, scenario.sharing)
        x = lineup.columns.some(members, whole.columns, start)
        solution = _solution(lineup, x, solver, told)
        if solution.status != "feasible" and not exact:
            solution = _within(solution, solver, told)
        if solution.status in ("infeasible", "undecided"):
            solution = _nearest(solution, solver)
        solutions.append(solution)
    return _measured(scenario, solutions, solver, exact=exact)


def _solution(lineup: Lineup, start: Array, solver: LinearSolver, told: Told) -> Solution:
    """Return the densities of one group of weights that meet the target exactly.

    Or the best point found, and whether it is proven that there are none.
    """
    labels = ", ".join(lineup.labels)
    hears = partial(told, labels)
    found = best_found(lineup, solver, search_rounds(lineup, start), hears)
    if found.good:
        return Solution(lineup, found.x, "feasible", found.starts)
    verdict = Relaxation(lineup, solver).verdict()
    starts = found.starts
    if verdict.points and not verdict.proven:
        figures = lineup.columns.middle[lineup.columns.figures :]
        points = [(np.concatenate([point, figures]), None) for point in verdict.points]
        again = best_found(lineup, solver, [points], hears)
        starts += again.starts
        if again.good:
            return Solution(lineup, again.x, "feasible", starts)
    status: Status = "infeasible" if verdict.proven else "undecided"
    return Solution(lineup, found.x, status, starts, verdict.proven)


def _within(tried: Solution, solver: LinearSolver, told: Told) -> Solution:
    """Return the densities whose largest deviation is least, where it is within the tolerances.

    Else the same point as before, and whether it is proven that there are none.
    """
    lineup = replace(tried.lineup, within=True)
    led = nearest_found(tried.lineup, solver, [tried.x], weight_kept=False)
    if led.meets_targets and float(np.min(Rows.of(lineup.margin_rows(led.x)).levels(led.x))) >= 0.0:
        return replace(tried, x=led.x, status="within_tolerance")
    answer = _solution(lineup, led.x, solver, told)
    status = "within_tolerance" if answer.status == "feasible" else answer.status
    x = tried.x if status != "within_tolerance" else answer.x
    return replace(tried, x=x, status=status, starts=tried.starts + answer.starts)


def _nearest(tried: Solution, solver: LinearSolver) -> Solution:
    """Return the same with the nearest line-up: on its class weights, if that can be."""
    weight_kept = True
    near = nearest_found(tried.lineup, solver, [tried.x], weight_kept=weight_kept)
    if not near.meets_targets:
        weight_kept = False
        near = nearest_found(tried.lineup, solver, [tried.x], weight_kept=weight_kept)
    return replace(
        tried,
        x=near.x,
        limits_kept=near.meets_targets,
        weight_kept=weight_kept,
        binding=binding_rows(tried.lineup, solver, near.x, weight_kept=weight_kept),
    )


def _measured(
    scenario: Scenario, solutions: Sequence[Solution], solver: LinearSolver, *, exact: bool
) -> LineupResult:
    """Return the result: densities as stated, everything else measured from them."""
    weights: dict[str, WeightResult] = {}
    stops: list[Margin] = []
    judged = list[Solution]()
    for one in solutions:
        figures = one.lineup.columns.target(one.x)
        balls = [measured(as_stated(ball), scenario, figures) for ball in one.lineup.balls(one.x)]
        for weight in balls:
            weights[weight.label] = weight
            stops += (m for m in weight.margins if not one.binding.isdisjoint(row_names(m)))
        judged.append(replace(one, status=_as_stated(one.status, balls)))
    order = [weights[one.label] for one in scenario.classes]
    broken = tuple(margin for weight in order for margin in fixed_and_broken(weight))
    status = _worst({one.status for one in judged}, broken)
    if status == "within_tolerance":
        within = {label for one in judged if one.status == status for label in one.lineup.labels}
        order = [weight.roomed() if weight.label in within else weight for weight in order]
    if status in ("feasible", "within_tolerance") and (
        missed := [miss for w in order for miss in shortfalls(w)]
    ):
        raise SolverError("called feasible, but as stated " + "; ".join(missed))
    loose = [label for one in judged if not one.weight_kept for label in one.lineup.labels]
    known = _known(judged, broken, exact=exact)
    why = Infeasible(known, broken, tuple(stops), tuple(loose))
    return LineupResult(
        scenario=scenario,
        status=status,
        figures=tuple(solutions[0].lineup.columns.target(solutions[0].x).tolist()),
        weights=tuple(order),
        infeasible=why if status in ("infeasible", "undecided") else None,
        search=Search(
            complete=True,
            starts=sum(one.starts for one in solutions),
            programs=solver.solved + 1,
            solver=solver.name,
        ),
        warnings=scenario.warnings,
        inexact=known if status == "within_tolerance" else "",
        exact=exact,
    )


def _as_stated(status: Status, balls: Sequence[WeightResult]) -> Status:
    """Return the status of a group whose balls are these, as stated."""
    if status != "within_tolerance":
        return status
    if not any(shortfalls(weight) for weight in balls):
        return "feasible"
    return "undecided" if any(shortfalls(weight.roomed()) for weight in balls) else status


def _worst(statuses: Collection[Status], broken: Sequence[Margin]) -> Status:
    """Return the status of a line from those of its groups, and the limits that none can keep."""
    order: tuple[Status, ...] = ("infeasible", "undecided", "within_tolerance")
    return "infeasible" if broken else next((s for s in order if s in statuses), "feasible")


def _known(solutions: Sequence[Solution], broken: Sequence[Margin], *, exact: bool) -> str:
    """Return in words what is known about a line-up that isn't feasible, and how."""
    said = ["a limit is broken that no density moves"] if broken else []

    words: dict[tuple[Status, bool], str] = {
        ("infeasible", True): NONE_EXACT if exact else NONE_WITHIN,
        ("infeasible", False): NONE_WITHIN,
        ("undecided", True): UNDECIDED_WITHIN,
        ("undecided", False): UNDECIDED,
        ("within_tolerance", True): NONE_EXACT,
        ("within_tolerance", False): UNDECIDED_EXACT,
    }
    for known, sentence in words.items():
        some = [one for one in solutions if (one.status, one.exact_proven) == known]
        if some:
            labels = ", ".join(label for one in some for label in one.lineup.labels)
            said.append(sentence.format(labels=labels, starts=sum(one.starts for one in some)))
    unkept = [label for one in solutions if not one.limits_kept for label in one.lineup.labels]
    if unkept:
        said.append(
            f"for {', '.join(unkept)} no densities were found that keep every limit, even ignoring "
            "every target: the nearest line-up breaks a limit"
        )
    return "; ".join(said)


def as_stated(ball: Ball) -> Ball:
    """Return `ball` with its densities as they are stated, to DENSITY_STEP."""
    pairs = zip(ball.densities.tolist(), ball.map.pours, strict=True)
    return ball.map.ball(np.array([stated(rho, pour.low, pour.high) for rho, pour in pairs]))


def measured(ball: Ball, scenario: Scenario, figures: Array) -> WeightResult:
    """Return everything that is reported of one ball, measured exactly."""
    return WeightResult(ball, margins(ball, scenario.limits), tuple(deviations(ball, figures)))


def fixed_and_broken(weight: WeightResult) -> tuple[Margin, ...]:
    """Return the margins under their limit that no density moves."""
    return tuple(
        margin
        for margin in weight.margins
        if margin.slack < -ARITHMETIC and not margin.movable and not margin.rule_only
    )


def shortfalls(weight: WeightResult, level: float = 0.0) -> tuple[str, ...]:
    """Say where a ball as stated misses its target or a limit by more than the stating moves it.

    Its margins, of those that a density moves, are promised to be `level` tolerances at the least.
    What is allowed of the target's tolerances is not exceeded at all.
    """
    free = np.array([not pour.fixed for pour in weight.ball.map.pours])
    turning = rounding_reach(weight.ball.turning * free)

    def reach(gradient: Array | None, *, radius: bool) -> float:
        moved = None if gradient is None else gradient[: len(free)] * free
        return rounding_reach(moved) + (turning if radius else 0.0)

    missed = [
        f"{weight.label}: {off.figure} is off by {off.off:.3g}"
        for off in weight.deviations
        if not (weight.within and off.tolerance is not None)
        and abs(off.off)
        > reach(off.gradient, radius=off.figure != "weight") + LEFT_OVER * max(off.asked, 1.0)
    ]
    short = [
        (margin, margin.slack - level * (margin.tolerance or 0.0))
        for margin in weight.margins
        if margin.movable and not margin.rule_only
    ]
    broken = [
        f"{row_name(margin)} is broken by {-over:.3g}"
        for margin, over in short
        if over < -ARITHMETIC
        if margin.middle is not None
        or over < -reach(margin.gradient, radius=margin.quantity == "rg") - _left(margin)
    ]
    return (*missed, *broken)


def _left(margin: Margin) -> float:
    """Return what the search may leave of a limit on an RG that is a row with a price, cm."""
    return ROW_ERROR if margin.quantity == "rg" and margin.tolerance is None else 0.0

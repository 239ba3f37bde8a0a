"""The main job, in the order in which the data flows.

scenario file → Scenario → Regions → LinearMaps → Program → Solution → Margins → Report
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
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
from optimizer.lineup.solve import LinearSolver
from optimizer.lineup.starts import Starts
from optimizer.scenario.maps import linear_maps
from optimizer.scenario.scenario import Scenario
from shared.arrays import Array
from shared.errors import SolverError
from shared.tolerances import ARITHMETIC, LEFT_OVER, ROW_ERROR

Told = Callable[[str, float], None]
"""Hears, while the search goes on, the weights it is at and the best smallest margin so far."""


@dataclass(frozen=True, eq=False)
class Solution:
    """What the search says of one group of weights, before anything is stated or measured."""

    lineup: Lineup
    x: Array
    status: Status
    starts: int
    limits_kept: bool = True
    weight_kept: bool = True
    binding: frozenset[str] = frozenset()


def solve_lineup(
    scenario: Scenario,
    told: Told = lambda _weights, _level: None,
    how: Starts = Starts(),  # noqa: B008 - frozen
) -> LineupResult:
    """Return the line-up of `scenario`: densities, measured figures, margins; or why there is none.

    Where dimensions are free the mould is picked first, from the starts that `how` says; the
    densities are then those of the mould as stated. Raises SolverError when a solver fails or an
    answer does not measure up.
    """
    if not scenario.open:
        return _poured(scenario, told)
    picked = MouldSearch(scenario, how, told).picked()
    result = _poured(picked.scenario, told)
    search = replace(
        result.search,
        complete=picked.complete,
        programs=picked.programs + result.search.programs,
        moulds=picked.starts,
        agreed=picked.agreed,
    )
    why = result.infeasible
    if why is None:
        return replace(result, search=search)
    proof = f"no mould was found that would do; for the one told below: {why.proof}"
    return replace(result, status="undecided", search=search, infeasible=replace(why, proof=proof))


def _poured(scenario: Scenario, told: Told) -> LineupResult:
    """Return the best densities for a mould that is given, or the nearest ones."""
    maps, solver = linear_maps(scenario), LinearSolver()
    whole = Lineup.of(maps, scenario.limits, scenario.sharing)
    start = state_and_solve(first_rows(whole), whole.columns.lower, whole.columns.upper).x
    solutions = []
    for members in coupled(maps, scenario.sharing):
        some = [maps[k] for k in members]
        lineup = Lineup.of(some, scenario.limits, scenario.sharing)
        x = lineup.columns.some(members, whole.columns, start)
        solutions.append(_solution(lineup, x, solver, told))
    return _measured(scenario, solutions, solver)


def _solution(lineup: Lineup, start: Array, solver: LinearSolver, told: Told) -> Solution:
    """Return the densities of one group of weights, or the nearest ones with the proof."""
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
    weight_kept = True
    near = nearest_found(lineup, solver, [found.x], weight_kept=weight_kept)
    if not near.meets_targets:
        weight_kept = False
        near = nearest_found(lineup, solver, [found.x], weight_kept=weight_kept)
    return Solution(
        lineup,
        near.x,
        "infeasible" if verdict.proven else "undecided",
        starts,
        near.meets_targets,
        weight_kept,
        binding_rows(lineup, solver, near.x, weight_kept=weight_kept),
    )


def _measured(
    scenario: Scenario, solutions: Sequence[Solution], solver: LinearSolver
) -> LineupResult:
    """Return the result: densities as stated, everything else measured from them."""
    weights: dict[str, WeightResult] = {}
    stops: list[Margin] = []
    for one in solutions:
        figures = one.lineup.columns.target(one.x)
        for ball in one.lineup.balls(one.x):
            weight = measured(as_stated(ball), scenario, figures)
            weights[weight.label] = weight
            stops += (m for m in weight.margins if not one.binding.isdisjoint(row_names(m)))
    order = [weights[one.label] for one in scenario.classes]
    broken = tuple(
        m
        for w in order
        for m in w.margins
        if m.slack < -ARITHMETIC and not m.movable and not m.rule_only
    )
    statuses = {one.status for one in solutions}
    status: Status = "feasible"
    if "infeasible" in statuses or broken:
        status = "infeasible"
    elif "undecided" in statuses:
        status = "undecided"
    if status == "feasible" and (missed := [miss for w in order for miss in shortfalls(w)]):
        raise SolverError("called feasible, but as stated " + "; ".join(missed))
    loose = [label for one in solutions if not one.weight_kept for label in one.lineup.labels]
    infeasible = Infeasible(_proof(solutions, broken), broken, tuple(stops), tuple(loose))
    return LineupResult(
        scenario=scenario,
        status=status,
        figures=tuple(solutions[0].lineup.columns.target(solutions[0].x).tolist()),
        weights=tuple(order),
        infeasible=None if status == "feasible" else infeasible,
        search=Search(
            complete=True,
            starts=sum(one.starts for one in solutions),
            programs=solver.solved + 1,
            solver=solver.name,
        ),
        warnings=scenario.warnings,
    )


def _proof(solutions: Sequence[Solution], broken: Sequence[Margin]) -> str:
    """Return in words what is known about a line-up that isn't feasible, and how."""
    said = ["a limit is broken that no density moves"] if broken else []
    for status in ("infeasible", "undecided"):
        some = [one for one in solutions if one.status == status]
        if not some:
            continue
        labels = ", ".join(label for one in some for label in one.lineup.labels)
        if status == "infeasible":
            said.append(f"proven for {labels}: no densities keep every limit and meet the target")
        else:
            starts = sum(one.starts for one in some)
            said.append(f"not found from {starts} starts for {labels}, nor proven impossible")
    unkept = [label for one in solutions if not one.limits_kept for label in one.lineup.labels]
    if unkept:
        said.append(
            f"for {', '.join(unkept)} no densities were found that keep every limit, even with "
            "every target let go: the nearest line-up breaks a limit"
        )
    return "; ".join(said)


def as_stated(ball: Ball) -> Ball:
    """Return `ball` with its densities as they are stated, to DENSITY_STEP."""
    pairs = zip(ball.densities.tolist(), ball.map.pours, strict=True)
    return ball.map.ball(np.array([stated(rho, pour.low, pour.high) for rho, pour in pairs]))


def measured(ball: Ball, scenario: Scenario, figures: Array) -> WeightResult:
    """Return everything that is reported of one ball, measured exactly."""
    return WeightResult(ball, margins(ball, scenario.limits), tuple(deviations(ball, figures)))


def shortfalls(weight: WeightResult, level: float = 0.0) -> tuple[str, ...]:
    """Say where a ball as stated misses its target or a limit by more than the stating moves it.

    Its margins, of those that a density moves, are promised to be `level` tolerances at the least.
    """
    turning = rounding_reach(weight.ball.turning)

    def reach(gradient: Array | None, *, radius: bool) -> float:
        return rounding_reach(gradient) + (turning if radius else 0.0)

    missed = [
        f"{weight.label}: {off.figure} is off by {off.off:.3g}"
        for off in weight.deviations
        if abs(off.off)
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
        if over < -reach(margin.gradient, radius=margin.quantity == "rg") - _left(margin)
    ]
    return (*missed, *broken)


def _left(margin: Margin) -> float:
    """Return what the search may leave of a limit on an RG that is a row with a price, cm."""
    return ROW_ERROR if margin.quantity == "rg" and margin.tolerance is None else 0.0

"""One group of coupled weights, solved together: on target, within tolerance, or nearest."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from optimizer.ball.bounds import Bound
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.engine.search import best_found, binding, nearest_found, search_rounds
from optimizer.lineup.proof.evidence import Evidence
from optimizer.lineup.proof.proof import BUDGET, EARLY, FIRST, Relaxation, Verdict
from optimizer.lineup.result import Status
from optimizer.lineup.rows import Lineup
from shared.arrays import Array


@dataclass(frozen=True, eq=False)
class Solution:
    """The search's answer for one group of weights, before its densities are rounded.

    `on_target` is the best point on the exact target, or the one nearest to it. `never_exact` is
    the proof that the exact target can't be met, whatever the tolerances allow, `never` that it
    can't be met within these.
    """

    lineup: Lineup
    x: Array
    on_target: Array
    status: Status
    starts: int
    never_exact: Evidence | None = None
    never: Evidence | None = None
    limits_kept: bool = True
    binding: frozenset[Bound] = frozenset()

    @property
    def exact_proven(self) -> bool:
        """Whether it is proven that the exact target can't be met."""
        return self.never_exact is not None


def solved(
    lineup: Lineup, start: Array, solver: LinearSolver, *, exact: bool, nearest: bool = True
) -> Solution:
    """Return the densities of one group of weights, searched from `start` first.

    On target if possible; else within its tolerances, unless `exact`; else, if asked, the nearest.
    """
    within = None if exact else _Proof(replace(lineup, within=True), solver)
    solution = _on_target(start, _Proof(lineup, solver, wider=within))
    if solution.status != "feasible" and within is not None:
        solution = _within(solution, within)
    if nearest and solution.status in ("infeasible", "undecided"):
        return _nearest(solution, solver)
    return solution


@dataclass(frozen=True, eq=False)
class _Proof:
    """The question whether it can be proven that a group has no line-up; made once it is asked.

    Every line-up of this question is one of the `wider` question, too: where that has none, this
    has none. Far out of reach it has none, and then this needn't be asked.
    """

    lineup: Lineup
    solver: LinearSolver
    wider: _Proof | None = None

    @cached_property
    def _relaxation(self) -> Relaxation:
        return Relaxation(self.lineup, self.solver)

    def verdict(self, budget: int = BUDGET) -> Verdict:
        """Return what is proven within the budget of boxes."""
        if self.wider and (known := self.wider.verdict(FIRST)).proven:
            return known
        return self._relaxation.verdict(budget)


def _on_target(start: Array, proof: _Proof) -> Solution:
    """Return the densities of one group of weights that meet the target exactly.

    If none are found: the best point, and whether it is proven that there are none.
    """
    lineup, solver = proof.lineup, proof.solver
    rounds = search_rounds(lineup, start)
    best = best_found(lineup, solver, rounds, lambda: proof.verdict(EARLY).proven)
    if best.good:
        return Solution(lineup, best.x, best.x, "feasible", best.starts)
    verdict = proof.verdict()
    starts = best.starts
    if verdict.points and not verdict.proven:
        figures = lineup.columns.middle[lineup.columns.figures :]
        points = [(np.concatenate([point, figures]), None) for point in verdict.points]
        again = best_found(lineup, solver, [points])
        starts += again.starts
        if again.good:
            return Solution(lineup, again.x, again.x, "feasible", starts)
    status: Status = "infeasible" if verdict.proven else "undecided"
    return Solution(lineup, best.x, best.x, status, starts, verdict.proof)


def _within(tried: Solution, proof: _Proof) -> Solution:
    """Return the densities with the least largest deviation, if that is within the tolerances.

    If not: the same point as before, and whether it is proven that there are none.
    """
    lineup, solver = proof.lineup, proof.solver
    if never := proof.verdict(FIRST).proof:
        return replace(tried, status="infeasible", never=never)
    led = nearest_found(replace(lineup, weight_kept=False), solver, [tried.x])
    if led.meets_targets and float(np.min(lineup.rows(led.x).levels(led.x))) >= 0.0:
        return replace(tried, x=led.x, status="within_tolerance")
    answer = _on_target(led.x, proof)
    status = "within_tolerance" if answer.status == "feasible" else answer.status
    x = tried.x if status != "within_tolerance" else answer.x
    starts = tried.starts + answer.starts
    return replace(tried, x=x, status=status, starts=starts, never=answer.never_exact)


def _nearest(tried: Solution, solver: LinearSolver) -> Solution:
    """Return the solution with the nearest line-up, at its class weights if possible."""
    lineup = tried.lineup
    near = nearest_found(lineup, solver, [tried.x])
    if not near.meets_targets:
        lineup = replace(lineup, weight_kept=False)
        near = nearest_found(lineup, solver, [tried.x])
    # not the last program of evening out, which is about a smaller deviation
    stops = binding(lineup, solver, lineup.nearest_rows(near.x))
    return replace(tried, lineup=lineup, x=near.x, limits_kept=near.meets_targets, binding=stops)

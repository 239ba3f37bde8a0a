"""Why there is no line-up: the conflict, the changes that would do, the weights that block it.

Every remedy is proven before it is shown: written into the scenario's text, read and solved again.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from operator import attrgetter

import numpy as np

from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.claims import Claim, Other
from optimizer.lineup.columns import TOGETHER
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.engine.search import fruitless, search_rounds
from optimizer.lineup.proof.proof import Relaxation
from optimizer.lineup.result import LineupResult
from optimizer.lineup.rows import Lineup
from optimizer.lineup.stating import measured
from optimizer.questions.why_not.changes.changes import walls
from optimizer.questions.why_not.changes.moves import Move
from optimizer.questions.why_not.changes.remedies import Case, Remedy, cheapest_pair, nearest_common
from optimizer.questions.why_not.changes.single_changes import hopeful_moves, single_remedies
from optimizer.questions.why_not.conflict import Conflict, conflict
from optimizer.questions.why_not.effort import EXPLAINING, spent
from optimizer.scenario import Scenario, linear_maps
from shared import activity
from shared.models import Path

AT_LIMIT = 0.1
"""Tolerances: smaller margins of the nearest shared line-up are named as what stops it."""


@dataclass(frozen=True)
class Diagnosis:
    """What is known of a line-up that is infeasible or undecided.

    `remedies` come cheapest first, in tolerances; where one keeps to the rulebook, those that leave
    it are in `leaving` instead. `not_enough` are changes not found to be enough alone. `alone`:
    whether each weight can be made by itself, None where it was neither found nor proven
    impossible; `together`: the most weights found to work as one line. `common`: the nearest target
    found that the whole line can share, or None; `no_common`: whether it is proven that there is
    none, None where it was not sought.

    The search has `ended` where its effort was spent. `untried` changes are then in no list (all of
    them, where the line is too large for one program), and weights not examined are not in `alone`.
    """

    conflicts: tuple[Conflict, ...]
    remedies: tuple[Remedy, ...]
    not_enough: tuple[Move, ...]
    common: Remedy | None
    alone: Mapping[str, bool | None]
    together: tuple[str, ...]
    leaving: tuple[Remedy, ...] = ()
    no_common: bool | None = None
    untried: int = 0
    ended: bool = False


def diagnose(result: LineupResult) -> Diagnosis:
    """Return the diagnosis of a result. Raises ValueError for a feasible one."""
    if result.infeasible is None:
        raise ValueError("there is nothing to diagnose")
    asked, broken = result.scenario, result.infeasible.broken
    case = Case(result, LinearSolver())
    maps, solver, lineup = case.lineup.maps, case.solver, case.lineup
    barred = {margin.weight for margin in broken}
    conflicts, alone = [], dict[str, bool | None]((m.label, m.label not in barred) for m in maps)
    groups = Lineup.groups(maps, asked.sharing)
    for number, group in enumerate(groups, start=1):
        if spent(solver, EXPLAINING):
            for label in group.labels:
                del alone[label]
            continue
        activity.at(f"why not: group {number} of {len(groups)}")
        near = replace(group, within=lineup.within).starting(group.point_of(result))
        clash = conflict(near, result.weights, solver)
        if clash is None:
            continue
        conflicts.append(clash)
        for linear_map in group.maps:
            alone[linear_map.label] = alone[linear_map.label] and _alone(case, linear_map, clash)
    unable = [linear_map for linear_map in maps if not alone.get(linear_map.label, True)]
    common, no_common, leaving, untried = None, None, list[Remedy](), 0
    crowded = lineup.columns.figures > TOGETHER
    if broken:
        lower = walls(asked, broken)
        remedies = list(filter(None, [case.proven(lower) if lower else None]))
        not_enough = case.moves
    elif crowded:
        remedies, not_enough, untried = [], [], len(case.moves)
    else:
        singles = single_remedies(case, hopeful_moves(case, unable))
        every, not_enough, untried = singles.remedies, singles.not_enough, singles.untried
        remedies = [remedy for remedy in every if not remedy.left]
        leaving = [remedy for remedy in every if remedy.left]
        if not remedies and not case.spent():
            activity.at("what would do: two changes together")
            pairs = cheapest_pair(case, alone_do=bool(leaving))
            remedies, leaving = (pairs, leaving) if pairs else (leaving, [])
        activity.at("a target that the whole line can share")
        common, no_common = nearest_common(case, every)
    able = [linear_map for linear_map in maps if alone.get(linear_map.label)]
    activity.at("which weights can be made together")
    return Diagnosis(
        tuple(conflicts),
        tuple(sorted(remedies, key=attrgetter("rank"))),
        tuple(not_enough),
        common,
        alone,
        _together(case, able[:1] if crowded else able, conflicts),
        tuple(leaving),
        no_common,
        untried,
        ended=crowded or case.spent(),
    )


def explained(result: LineupResult) -> tuple[LineupResult, Diagnosis | None]:
    """Return a result with its diagnosis, and in it the nearest line-up that shares one target.

    The diagnosis is None where there is a line-up, or the search was interrupted.
    """
    if result.infeasible is None or not result.search.complete:
        return result, None
    diagnosis = diagnose(result)
    return with_nearest(result, diagnosis), diagnosis


def with_nearest(result: LineupResult, diagnosis: Diagnosis) -> LineupResult:
    """Return an infeasible result with the nearest line-up that shares one target, if there is one.

    Its balls keep class weight and limits; their deviations are from the target asked for.
    """
    if result.infeasible is None:
        return result
    if diagnosis.common is None:
        if diagnosis.no_common is None:
            return result
        return replace(result, infeasible=replace(result.infeasible, unshared=diagnosis.no_common))
    shared, asked = diagnosis.common.result, result.scenario
    pairs = zip(linear_maps(asked), shared.weights, strict=True)
    balls = [linear_map.ball(weight.ball.densities) for linear_map, weight in pairs]
    near = replace(result, weights=tuple(measured(b, np.array(result.figures)) for b in balls))
    stops = tuple(m for m in near.margins if m.movable and (m.tolerances or 0.0) < AT_LIMIT)
    why = replace(result.infeasible, stops=stops, loose=(), shared=shared.figures)
    return replace(near, infeasible=why)


def _alone(case: Case, linear_map: LinearMap, clash: Conflict) -> bool | None:
    """Return whether a weight of a group in conflict can be made by itself; None: not decided."""
    if clash.weights == (linear_map.label,):
        return False if clash.proven else None
    if _good(case, [linear_map]):
        return True
    return False if Relaxation(case.of([linear_map]), case.solver).verdict().proven else None


def _good(case: Case, maps: Sequence[LinearMap]) -> bool:
    """Whether the search finds a line-up of these weights alone."""
    lineup = case.of(maps)
    return not fruitless(lineup, case.solver, search_rounds(lineup, lineup.columns.middle))


def _together(
    case: Case, able: Sequence[LinearMap], conflicts: Sequence[Conflict]
) -> tuple[str, ...]:
    """Return the largest set of the weights `able` that work as one line, first in file order."""
    clashing = [set(clash.weights) for clash in conflicts]
    sizes = range(len(able), 1, -1)
    for maps in itertools.chain(*(itertools.combinations(able, size) for size in sizes)):
        if case.spent():
            break
        labels = tuple(linear_map.label for linear_map in maps)
        if not any(clash <= set(labels) for clash in clashing) and _good(case, maps):
            return labels
    return tuple(linear_map.label for linear_map in able[:1])


def claim_path(asked: Scenario, claim: Claim) -> Path:
    """Return the path of a claim in the file."""
    if not isinstance(claim, Other):
        return claim.path
    number = [pour.part for pour in asked.pours].index(str(claim.of))
    return ("parts", number, "same_density")

"""Why a line-up can't be, and what then: the conflict, what change would do, who blocks.

Every remedy is proven before it is told: written into the scenario's text, read and solved again.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from optimizer.linear.maps import LinearMap
from optimizer.linear.targets import KEYS, NAMES
from optimizer.lineup.columns import coupled
from optimizer.lineup.pipeline import measured, solve_lineup
from optimizer.lineup.result import LineupResult
from optimizer.lineup.rows import Lineup
from optimizer.lineup.search import fruitless, search_rounds
from optimizer.lineup.solve import LinearSolver
from optimizer.scenario import Scenario, linear_maps, read_again
from optimizer.scenario.editing import edited
from optimizer.scenario.positions import Path
from optimizer.studies.changes import Change, change, splits, walls
from optimizer.studies.claims import SHARED, Asked, Claim
from optimizer.studies.conflict import Conflict, conflict
from optimizer.studies.moves import Move, least_moves, moves
from optimizer.studies.pairs import cheapest_pairs
from optimizer.studies.redrawn import least_redrawing, redrawings
from shared.arrays import Array
from shared.errors import InputError

AT_LIMIT = 0.1
"""Tolerances: what has less room in the nearest shared line-up is told as what stops it."""


@dataclass(frozen=True)
class Remedy:
    """Changes that, made together, give a line-up; proven by solving the changed scenario."""

    changes: tuple[Change, ...]
    text: str
    result: LineupResult

    @property
    def tolerances(self) -> float:
        """The largest change in its own tolerances; inf where none is declared."""
        return max(math.inf if c.tolerances is None else c.tolerances for c in self.changes)


@dataclass(frozen=True)
class Diagnosis:
    """What can be said of a line-up that is infeasible or undecided.

    `remedies` come cheapest first, in tolerances; `not_enough` are changes that alone don't do.
    `alone`: whether each weight can be made by itself; `together`: the most weights that can be
    made as one line. `common`: the nearest target that the whole line can share, or None.
    """

    conflicts: tuple[Conflict, ...]
    remedies: tuple[Remedy, ...]
    not_enough: tuple[Move, ...]
    common: Remedy | None
    alone: Mapping[str, bool]
    together: tuple[str, ...]


def diagnose(result: LineupResult) -> Diagnosis:
    """Return the diagnosis of a result. Raises ValueError for a feasible one."""
    if result.infeasible is None:
        raise ValueError("there is nothing to diagnose")
    asked, broken = result.scenario, result.infeasible.broken
    maps, solver = linear_maps(asked), LinearSolver()
    lineup = Lineup.of(maps, asked.limits, asked.sharing)
    x = _nearest(result, lineup)
    conflicts, alone = [], dict.fromkeys((one.label for one in maps), not broken)
    start = {weight.label: weight.ball.densities for weight in result.weights}
    for members in coupled(maps, asked.sharing):
        some = tuple(maps[k] for k in members)
        found = conflict(Asked(some, asked.limits, asked.sharing, start), result.weights, solver)
        if found is None:
            continue
        conflicts.append(found)
        for one in some:
            alone[one.label] &= found.weights != (one.label,) and _good(asked, [one], solver)
    unable = [one for one in maps if not alone[one.label]]
    if broken:
        lower, not_enough = _proven(asked, walls(asked, broken)), list(moves(asked, lineup, x))
        remedies = [] if lower is None else [lower]
    else:
        hopeful = _hopeful(asked, lineup, x, unable, solver)
        remedies, not_enough = _single(asked, lineup, x, hopeful, solver)
        numbers = [move for move in not_enough if move.name != "dimension"]
        remedies = remedies or _pair(asked, lineup, numbers, x, solver)
    common = None if broken else _common(asked, lineup, x, solver)
    able = [one for one in maps if alone[one.label]]
    return Diagnosis(
        tuple(conflicts),
        tuple(sorted(remedies, key=lambda remedy: remedy.tolerances)),
        tuple(not_enough),
        common,
        alone,
        _together(asked, able, conflicts, solver),
    )


def explained(result: LineupResult) -> tuple[LineupResult, Diagnosis | None]:
    """Return a result with why it can't be, and the nearest line-up that shares one target.

    None where there is a line-up, or the search was interrupted.
    """
    if result.infeasible is None or not result.search.complete:
        return result, None
    found = diagnose(result)
    return with_nearest(result, found), found


def with_nearest(result: LineupResult, found: Diagnosis) -> LineupResult:
    """Return an infeasible result with the nearest line-up that shares one target, if there is one.

    Its balls keep class weight and limits, and are measured against the target that was asked for.
    """
    if found.common is None or result.infeasible is None:
        return result
    shared, asked = found.common.result, result.scenario
    densities = [weight.ball.densities for weight in shared.weights]
    balls = [one.ball(rho) for one, rho in zip(linear_maps(asked), densities, strict=True)]
    near = replace(
        result, weights=tuple(measured(b, asked, np.array(result.figures)) for b in balls)
    )
    stops = tuple(m for m in near.margins if m.movable and (m.tolerances or 0.0) < AT_LIMIT)
    why = replace(result.infeasible, stops=stops, loose=(), shared=shared.figures)
    return replace(near, infeasible=why)


def _nearest(result: LineupResult, lineup: Lineup) -> Array:
    """Return the columns of the nearest line-up, as stated."""
    x = np.zeros(lineup.columns.count)
    for k, weight in enumerate(result.weights):
        x[lineup.columns.place[k]] = weight.ball.densities
    x[lineup.columns.figures :] = result.figures
    return x


def _single(
    asked: Scenario, lineup: Lineup, x: Array, hopeful: Collection[Path], solver: LinearSolver
) -> tuple[list[Remedy], list[Move]]:
    """Return the changes that do alone, proven, and the moves that don't."""
    remedies, not_enough = [], []
    for move in moves(asked, lineup, x):
        remedy = _moved(asked, lineup, [move], x, solver) if move.path in hopeful else None
        if remedy is None:
            not_enough.append(move)
        else:
            remedies.append(remedy)
    remedies += [r for c in splits(asked) if (r := _proven(asked, [c]))]
    nearest = x[lineup.columns.place]
    for one in redrawings(asked):
        amount = least_redrawing(one, nearest, solver)
        drawn = None if amount is None else _written(asked, [one.move], [amount])
        if drawn is None:
            not_enough.append(one.move)
        else:
            remedies.append(drawn)
    return remedies, not_enough


def _hopeful(
    asked: Scenario, lineup: Lineup, x: Array, unable: Sequence[LinearMap], solver: LinearSolver
) -> frozenset[Path]:
    """Return the moves that do, alone, for each weight that can't be made by itself.

    What doesn't do for one of them doesn't do for the line.
    """
    hopeful = frozenset(move.path for move in moves(asked, lineup, x))
    for one in unable if len(lineup.maps) > 1 else ():
        own = Lineup.of([one], asked.limits, asked.sharing)
        place = lineup.columns.place[lineup.maps.index(one)]
        y = np.concatenate([x[place], lineup.columns.target(x)])
        hopeful = frozenset(
            move.path
            for move in moves(asked, own, y)
            if move.path in hopeful and least_moves(own, [move], [y], solver) is not None
        )
    return hopeful


def _moved(
    asked: Scenario, lineup: Lineup, some: Sequence[Move], x: Array, solver: LinearSolver
) -> Remedy | None:
    """Return the least move of `some` that does, rounded outward and proven, or None."""
    amounts = least_moves(lineup, some, [x], solver)
    return None if amounts is None else _written(asked, some, amounts)


def _written(asked: Scenario, some: Sequence[Move], amounts: Sequence[float]) -> Remedy | None:
    """Return the moves by these amounts, rounded outward and proven, or None."""
    for more in (0, 1):  # a step more where the rounding of the densities needs it
        changes = [change(asked, m, d, more) for m, d in zip(some, amounts, strict=True)]
        remedy = _proven(asked, changes)
        if remedy is not None:
            return remedy
    return None


def _pair(
    asked: Scenario, lineup: Lineup, some: Sequence[Move], x: Array, solver: LinearSolver
) -> list[Remedy]:
    """Return the cheapest pair of moves that does, if any."""
    pairs = cheapest_pairs(lineup, some, x, solver)
    proven = (_written(asked, pair.moves, pair.amounts) for pair in pairs)
    return [remedy for remedy in proven if remedy is not None][:1]


def _common(asked: Scenario, lineup: Lineup, x: Array, solver: LinearSolver) -> Remedy | None:
    """Return the nearest target that the line can share: all its figures may move."""
    figures = [move for move in moves(asked, lineup, x) if move.path[0] == "target"]
    return _moved(asked, lineup, figures, x, solver) if figures else None


def _proven(asked: Scenario, changes: Sequence[Change]) -> Remedy | None:
    """Return the remedy if the scenario with `changes` made, read again, is feasible."""
    if not changes:
        return None
    try:
        text = edited(asked.source, {change.path: change.to for change in changes})
        changed = read_again(replace(asked.written, source=text), asked.chosen)
    except InputError:
        return None
    result = solve_lineup(changed)
    return Remedy(tuple(changes), text, result) if result.status == "feasible" else None


def _good(asked: Scenario, maps: Sequence[LinearMap], solver: LinearSolver) -> bool:
    """Whether these weights alone can be made, as far as the search finds."""
    lineup = Lineup.of(maps, asked.limits, asked.sharing)
    return not fruitless(lineup, solver, search_rounds(lineup, lineup.columns.middle))


def _together(
    asked: Scenario, able: Sequence[LinearMap], conflicts: Sequence[Conflict], solver: LinearSolver
) -> tuple[str, ...]:
    """Return the most of the weights `able` that can be made as one line, first in file order."""
    clashing = [set(one.weights) for one in conflicts]
    for size in range(len(able), 1, -1):
        for some in itertools.combinations(able, size):
            labels = tuple(one.label for one in some)
            if not any(clash <= set(labels) for clash in clashing) and _good(asked, some, solver):
                return labels
    return tuple(one.label for one in able[:1])


def claim_path(asked: Scenario, claim: Claim) -> Path:
    """Return where the file asks for a claim."""
    materials = {pour.part: pour.material for pour in asked.pours}
    if claim.limit == "class weight":
        return ("weights", str(claim.weight))
    if claim.limit == SHARED:
        number = [pour.part for pour in asked.pours].index(str(claim.part))
        return ("parts", number, "same_density")
    if claim.limit in NAMES:
        return ("target", KEYS[NAMES.index(claim.limit)])
    if isinstance(claim.part, str) and claim.part in materials and "density" in claim.limit:
        path: Path = ("materials", materials[claim.part])
        given = asked.source_value((*path, "density")) is not None
        return (*path, "density" if given else "recipe")
    key = "_".join(claim.limit.split()[:-1])
    return (
        ("limits", key)
        if asked.source_value(("limits", key)) is not None
        else ("limits", "rulebook")
    )

"""Why a line-up can't be, and what then: the conflict, what change would do, who blocks.

Every remedy is proven before it is told: written into the scenario's text, read and solved again.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Collection, Iterator, Mapping, Sequence
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
    """Changes that, made together, give a line-up; proven by solving the changed scenario.

    A line-up that is within tolerance only is one, too; it comes after those that are exact.
    """

    changes: tuple[Change, ...]
    text: str
    result: LineupResult

    @property
    def tolerances(self) -> float:
        """The largest change in its own tolerances; inf where none is declared."""
        return max(math.inf if c.tolerances is None else c.tolerances for c in self.changes)

    @property
    def exact(self) -> bool:
        """Whether the line-up meets its target exactly."""
        return self.result.status == "feasible"

    @property
    def rank(self) -> tuple[bool, float]:
        """What comes first: exact ones, then the smallest change."""
        return not self.exact, self.tolerances


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
    lineup = _lineup(result, maps)
    x = _nearest(result, lineup)
    conflicts, alone = [], dict.fromkeys((one.label for one in maps), not broken)
    start = {weight.label: weight.ball.densities for weight in result.weights}
    for members in coupled(maps, asked.sharing):
        some = tuple(maps[k] for k in members)
        one_group = Asked(some, asked.limits, asked.sharing, start, lineup.within)
        found = conflict(one_group, result.weights, solver)
        if found is None:
            continue
        conflicts.append(found)
        for one in some:
            alone[one.label] &= found.weights != (one.label,) and _good(result, [one], solver)
    unable = [one for one in maps if not alone[one.label]]
    if broken:
        lower, not_enough = _proven(result, walls(asked, broken)), list(moves(asked, lineup, x))
        remedies = [] if lower is None else [lower]
    else:
        hopeful = _hopeful(result, lineup, x, unable, solver)
        remedies, not_enough = _single(result, lineup, x, hopeful, solver)
        numbers = [move for move in not_enough if move.name != "dimension"]
        remedies = remedies or _pair(result, lineup, numbers, x, solver)
    common = None if broken else _common(result, lineup, x, solver)
    able = [one for one in maps if alone[one.label]]
    return Diagnosis(
        tuple(conflicts),
        tuple(sorted(remedies, key=lambda remedy: remedy.rank)),
        tuple(not_enough),
        common,
        alone,
        _together(result, able, conflicts, solver),
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
    densities = [weight.ball.densities for weight in result.weights]
    return lineup.columns.filled(densities, result.figures)


def _single(
    of: LineupResult, lineup: Lineup, x: Array, hopeful: Collection[Path], solver: LinearSolver
) -> tuple[list[Remedy], list[Move]]:
    """Return the changes that do alone, proven, and the moves that don't."""
    remedies, not_enough, asked = list[Remedy](), list[Move](), of.scenario
    for move in moves(asked, lineup, x):
        remedy = _moved(of, lineup, [move], x, solver) if move.path in hopeful else None
        if remedy is None:
            not_enough.append(move)
        else:
            remedies.append(remedy)
    remedies += [r for c in splits(asked) if (r := _proven(of, [c]))]
    columns = lineup.columns
    nearest = {label: columns.densities(k, x) for k, label in enumerate(lineup.labels)}
    for one in redrawings(asked):
        amount = least_redrawing(one, nearest, solver)
        drawn = None if amount is None else _written(of, [one.move], [amount])
        if drawn is None:
            not_enough.append(one.move)
        else:
            remedies.append(drawn)
    return remedies, not_enough


def _hopeful(
    of: LineupResult, lineup: Lineup, x: Array, unable: Sequence[LinearMap], solver: LinearSolver
) -> frozenset[Path]:
    """Return the moves that do, alone, for each weight that can't be made by itself.

    What doesn't do for one of them doesn't do for the line.
    """
    hopeful = frozenset(move.path for move in moves(of.scenario, lineup, x))
    for one in unable if len(lineup.maps) > 1 else ():
        own = _lineup(of, [one])
        y = own.columns.some([lineup.maps.index(one)], lineup.columns, x)
        hopeful = frozenset(
            move.path
            for move in moves(of.scenario, own, y)
            if move.path in hopeful
            and any(least_moves(way, [move], [y], solver) for way in _ways(own))
        )
    return hopeful


def _ways(lineup: Lineup) -> Iterator[Lineup]:
    """Yield the line-up that meets its target exactly, then the one that may be off, if it may."""
    yield replace(lineup, within=False)
    if lineup.within:
        yield lineup


def _moved(
    of: LineupResult, lineup: Lineup, some: Sequence[Move], x: Array, solver: LinearSolver
) -> Remedy | None:
    """Return the least move of `some` that does, rounded outward and proven, or None.

    One that does exactly comes before one that does within tolerance.
    """
    remedies = list[Remedy]()
    for way in _ways(lineup):
        amounts = least_moves(way, some, [x], solver)
        remedy = None if amounts is None else _written(of, some, amounts)
        remedies += [] if remedy is None else [remedy]
        if remedy is not None and remedy.exact:
            break
    return min(remedies, key=lambda one: one.rank, default=None)


def _written(of: LineupResult, some: Sequence[Move], amounts: Sequence[float]) -> Remedy | None:
    """Return the moves by these amounts, rounded outward and proven, or None.

    A step more is tried where the rounding of the densities needs it.
    """
    remedies = list[Remedy]()
    for more in (0, 1):
        changes = [change(of.scenario, m, d, more) for m, d in zip(some, amounts, strict=True)]
        remedy = _proven(of, changes)
        remedies += [] if remedy is None else [remedy]
        if remedy is not None and remedy.exact:
            break
    return min(remedies, key=lambda one: one.rank, default=None)


def _pair(
    of: LineupResult, lineup: Lineup, some: Sequence[Move], x: Array, solver: LinearSolver
) -> list[Remedy]:
    """Return the cheapest pair of moves that does, if any."""
    for way in _ways(lineup):
        pairs = cheapest_pairs(way, some, x, solver)
        proven = (_written(of, pair.moves, pair.amounts) for pair in pairs)
        remedies = [remedy for remedy in proven if remedy is not None][:1]
        if remedies:
            return remedies
    return []


def _common(of: LineupResult, lineup: Lineup, x: Array, solver: LinearSolver) -> Remedy | None:
    """Return the nearest target that the line can share exactly: all its figures may move."""
    figures = [move for move in moves(of.scenario, lineup, x) if move.path[0] == "target"]
    found = _moved(of, replace(lineup, within=False), figures, x, solver) if figures else None
    return found if found is not None and found.exact else None


def _proven(of: LineupResult, changes: Sequence[Change]) -> Remedy | None:
    """Return the remedy if the scenario with `changes` made, read again, has a line-up."""
    if not changes:
        return None
    asked = of.scenario
    try:
        text = edited(asked.source, {change.path: change.to for change in changes})
        changed = read_again(replace(asked.written, source=text), asked.chosen)
    except InputError:
        return None
    result = solve_lineup(changed, exact=of.exact)
    return Remedy(tuple(changes), text, result) if result.accepted else None


def _lineup(of: LineupResult, maps: Sequence[LinearMap]) -> Lineup:
    """Return these weights as one line-up, on target within tolerance if that will do."""
    asked = of.scenario
    return replace(Lineup.of(maps, asked.limits, asked.sharing), within=not of.exact)


def _good(of: LineupResult, maps: Sequence[LinearMap], solver: LinearSolver) -> bool:
    """Whether these weights alone can be made, as far as the search finds."""
    lineup = _lineup(of, maps)
    return not fruitless(lineup, solver, search_rounds(lineup, lineup.columns.middle))


def _together(
    of: LineupResult, able: Sequence[LinearMap], conflicts: Sequence[Conflict], solver: LinearSolver
) -> tuple[str, ...]:
    """Return the most of the weights `able` that can be made as one line, first in file order."""
    clashing = [set(one.weights) for one in conflicts]
    for size in range(len(able), 1, -1):
        for some in itertools.combinations(able, size):
            labels = tuple(one.label for one in some)
            if not any(clash <= set(labels) for clash in clashing) and _good(of, some, solver):
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

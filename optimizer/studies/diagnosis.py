"""Why a line-up can't be, and what then: the conflict, what change would do, who blocks.

Every remedy is proven before it is told: written into the scenario's text, read and solved again.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from optimizer.linear.maps import LinearMap
from optimizer.linear.rows import Margin, Quantity
from optimizer.linear.targets import KEYS, NAMES
from optimizer.lineup.columns import coupled
from optimizer.lineup.pipeline import measured, solve_lineup
from optimizer.lineup.result import LineupResult
from optimizer.lineup.rows import Lineup
from optimizer.lineup.search import best_found, search_rounds
from optimizer.lineup.solve import LinearSolver
from optimizer.scenario import Scenario, linear_maps, scenario
from optimizer.scenario.editing import edited
from optimizer.scenario.positions import Path
from optimizer.studies.claims import SHARED, Asked, Claim
from optimizer.studies.conflict import Conflict, conflict
from optimizer.studies.moves import Move, least_moves, moves
from shared.arrays import Array
from shared.errors import InputError
from shared.units import OUNCE

STEPS: Mapping[Quantity, tuple[float, float]] = {
    "density": (0.001, 1.0),
    "length": (0.001, 0.01),
    "rg": (0.0001, 0.001),
    "mass": (0.001, 0.001),
    "imbalance": (0.01, 0.01),
}
"""What a moved number is rounded to, outward: in in, lb, g/cm³, oz; and in mm, kg, kg/m³."""
AT_LIMIT = 0.1
"""Tolerances: what has less room in the nearest shared line-up is told as what stops it."""
MOST_PAIRED = 24
"""Numbers that may be moved above which no pairs are tried: there would be too many."""


@dataclass(frozen=True)
class Change:
    """One number (or one sharing) moved: `value` and `to` as the file writes them, in its unit."""

    name: str
    about: str | None
    path: Path
    value: Any
    to: Any
    unit: str
    tolerances: float | None


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
    """What can be said of a line-up that is infeasible.

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
    """Return the diagnosis of an infeasible result. Raises ValueError for any other."""
    if result.infeasible is None:
        raise ValueError("there is nothing to diagnose")
    asked = result.scenario
    maps, solver = linear_maps(asked), LinearSolver()
    lineup = Lineup.of(maps, asked.limits, asked.sharing)
    x = _nearest(result, lineup)
    conflicts = []
    start = {weight.label: weight.ball.densities for weight in result.weights}
    for members in coupled(maps, asked.sharing):
        group = Asked(tuple(maps[k] for k in members), asked.limits, asked.sharing, start)
        found = conflict(group, result.weights, solver)
        conflicts += [] if found is None else [found]
    broken = result.infeasible.broken
    remedies, not_enough = _single(asked, broken, lineup, x, solver)
    if not (remedies or broken or asked.too_few_free or len(not_enough) > MOST_PAIRED):
        remedies = _pair(asked, lineup, not_enough, x, solver)
    ranked = sorted(remedies, key=lambda remedy: remedy.tolerances)
    alone = {one.label: not broken and _good(asked, [one], solver) for one in maps}
    able = [one for one in maps if alone[one.label]]
    common = None if broken else _common(asked, lineup, x, solver)
    return Diagnosis(
        tuple(conflicts),
        tuple(ranked),
        tuple(not_enough),
        common,
        alone,
        _together(asked, able, solver),
    )


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
    asked: Scenario, broken: Sequence[Margin], lineup: Lineup, x: Array, solver: LinearSolver
) -> tuple[list[Remedy], list[Move]]:
    """Return the changes that do alone, proven, and the moves that don't."""
    if broken:
        walls = _proven(asked, _walls(asked, broken))
        return ([walls] if walls else []), list(moves(asked, lineup, x))
    remedies, not_enough = [], []
    for move in moves(asked, lineup, x):
        remedy = _moved(asked, lineup, [move], x, solver)
        if remedy is None:
            not_enough.append(move)
        else:
            remedies.append(remedy)
    return remedies + [r for c in _splits(asked) if (r := _proven(asked, [c]))], not_enough


def _moved(
    asked: Scenario, lineup: Lineup, some: Sequence[Move], x: Array, solver: LinearSolver
) -> Remedy | None:
    """Return the least move of `some` that does, rounded outward and proven, or None."""
    amounts = least_moves(lineup, some, [x], solver)
    if amounts is None:
        return None
    for more in (0, 1):  # a step more where the rounding of the densities needs it
        remedy = _proven(
            asked, [_change(asked, m, d, more) for m, d in zip(some, amounts, strict=True)]
        )
        if remedy is not None:
            return remedy
    return None


def _pair(
    asked: Scenario, lineup: Lineup, some: Sequence[Move], x: Array, solver: LinearSolver
) -> list[Remedy]:
    """Return the cheapest pair of moves that does, if any."""
    found = []
    for pair in itertools.combinations(some, 2):
        amounts = least_moves(lineup, pair, [x], solver)
        if amounts is not None:
            cost = [abs(d) / (m.tolerance or 1.0) for m, d in zip(pair, amounts, strict=True)]
            found.append((max(cost), sum(cost), pair))
    for _, _, pair in sorted(found, key=lambda item: item[:2]):
        remedy = _moved(asked, lineup, pair, x, solver)
        if remedy is not None:
            return [remedy]
    return []


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
        changed = scenario(text, file=asked.file, target_required=True)
    except InputError:
        return None
    result = solve_lineup(changed)
    return Remedy(tuple(changes), text, result) if result.status == "feasible" else None


def _change(asked: Scenario, move: Move, amount: float, more: int) -> Change:
    """Return a move as the file would write it, rounded outward, `more` steps farther."""
    factor, unit = in_file(asked, move.quantity)
    step = STEPS[move.quantity][0 if unit in ("in", "lb", "g/cm3", "oz") else 1]
    value = float(f"{move.value / factor:.12g}")
    signed = (move.way or 1) * amount / factor
    steps = math.copysign(
        math.ceil(abs(value + signed - round(value / step) * step) / step - 1e-6), signed
    )
    to = float(f"{(round(value / step) + steps + math.copysign(more, signed)) * step:.10g}")
    spread = None if move.tolerance is None else abs(to - value) * factor / move.tolerance
    return Change(move.name, move.about, move.path, value, to, unit, spread)


def in_file(asked: Scenario, quantity: Quantity) -> tuple[float, str]:
    """Return what one of the file's unit for `quantity` is in ours, and its name."""
    reading, units = asked.reading, asked.text.units
    return {
        "density": (reading.density, units.density),
        "length": (reading.length, units.length),
        "rg": (reading.rg, units.rg),
        "mass": (reading.weight, units.weight),
        "imbalance": (OUNCE, "oz"),
    }[quantity]


def _walls(asked: Scenario, broken: Sequence[Margin]) -> list[Change]:
    """Return the least walls that the drawing does keep, one for each bound in the file."""
    if any(margin.limit != "wall min" or not isinstance(margin.part, tuple) for margin in broken):
        return []
    factor, unit = in_file(asked, "length")
    step = STEPS["length"][0 if unit == "in" else 1]
    found: dict[Path, Change] = {}
    others = asked.source_value(("limits", "wall", "except"))
    for margin in sorted(broken, key=lambda m: -m.value):
        path: Path = ("limits", "wall", "min")
        for k, other in enumerate(others if isinstance(others, list) else []):
            if set(other["between"]) == set(margin.part or ()):
                path = ("limits", "wall", "except", k, "min")
        to = float(f"{math.floor((margin.bound + margin.slack) / factor / step) * step:.10g}")
        value = float(f"{margin.bound / factor:.12g}")
        spread = None if margin.tolerance is None else (value - to) * factor / margin.tolerance
        found[path] = Change("wall min", None, path, value, to, unit, spread)
    return list(found.values())


def _splits(asked: Scenario) -> Iterator[Change]:
    """Yield where weights that share a density could be split in two, part by part."""
    for k, pour in enumerate(asked.pours):
        for g, group in enumerate(asked.sharing[pour.part]):
            if pour.fixed:
                continue
            for at in range(1, len(group)):
                rest = [list(x) for j, x in enumerate(asked.sharing[pour.part]) if j != g]
                to = [list(group[:at]), list(group[at:]), *rest]
                path: Path = ("parts", k, "same_density")
                was = [list(x) for x in asked.sharing[pour.part]]
                yield Change(
                    SHARED, pour.part, path, was, [x for x in to if len(x) > 1] or "none", "", None
                )


def _good(asked: Scenario, maps: Sequence[LinearMap], solver: LinearSolver) -> bool:
    """Whether these weights alone can be made, as far as the search finds."""
    lineup = Lineup.of(maps, asked.limits, asked.sharing)
    rounds = search_rounds(lineup, lineup.columns.middle)
    return best_found(lineup, solver, rounds, lambda _level: None).good


def _together(asked: Scenario, able: Sequence[LinearMap], solver: LinearSolver) -> tuple[str, ...]:
    """Return the most of the weights `able` that can be made as one line, first in file order."""
    for size in range(len(able), 1, -1):
        for some in itertools.combinations(able, size):
            if _good(asked, some, solver):
                return tuple(one.label for one in some)
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
        return ("materials", materials[claim.part], "density")
    key = "_".join(claim.limit.split()[:-1])
    return (
        ("limits", key)
        if asked.source_value(("limits", key)) is not None
        else ("limits", "rulebook")
    )

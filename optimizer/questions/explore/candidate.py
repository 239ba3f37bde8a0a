"""One candidate of an exploration: its best densities, and what it could reach."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import chain
from typing import Literal

import numpy as np

from optimizer.ball.bounds import Margin
from optimizer.lineup.claims import Kind, Other
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.group import Solution
from optimizer.lineup.margins import outside
from optimizer.lineup.pipeline import as_result, solutions
from optimizer.lineup.result import WeightResult, ranked
from optimizer.lineup.stating import as_stated, fixed_and_broken, measured, shortfalls
from optimizer.questions.window.exact.bands import Band, box, shared
from optimizer.questions.window.reach import flat, opened
from optimizer.questions.window.shared_reach import LineReach
from optimizer.scenario import Scenario, Written, linear_maps, read_again
from optimizer.scenario.dimensions import Chosen
from shared.errors import InputError, SolverError
from shared.tolerances import ROW_ERROR

Status = Literal[
    "feasible", "within_tolerance", "limit broken", "target missed", "no mould", "not solved"
]
Certainty = Literal["exact", "found", "unknown", "not sought"]

Ends = tuple[float, float] | None
"""The least and the greatest value of a figure, cm; None where there is none."""


@dataclass(frozen=True)
class Shared:
    """What all weights can share, cm: the differential at the target's RG, and vice versa.

    "exact" where it is proven (to the window's error, some 2e-6 in), "found" where there may be
    more beyond, "unknown" where the search failed, and "not sought" where it takes minutes: a part
    lies off the pin axis, or the intermediate differential of an asymmetric core is limited.
    """

    differential: Ends
    rg: Ends
    certainty: Certainty


@dataclass(frozen=True)
class Candidate:
    """The outcome of one candidate, in plain values, to come back from another process.

    `figures` are the target's as met, cm. `margin` is the smallest one, in tolerances, of the balls
    as stated, walls included; None where a target is missed, or a limit without a tolerance is
    broken. `limit`, `weight` and `part` are those of the smallest margin, of equals the first.
    `off` is the largest deviation of a candidate within tolerance, in tolerances. "no mould": parts
    would cross, or a shape is impossible. "not solved": a solver failed, or two searches disagree.
    """

    status: Status
    figures: tuple[float, ...] = ()
    margin: float | None = None
    limit: str | None = None
    weight: str | None = None
    part: str | tuple[str, str] | None = None
    reach: Shared | None = None
    off: float | None = None

    def held(self, margin: Margin | None) -> Candidate:
        """Return the same with its smallest margin."""
        if margin is None:
            return self
        return replace(
            self,
            margin=margin.tolerances,
            limit=margin.words,
            weight=margin.weight,
            part=margin.part,
        )


def candidate(written: Written, chosen: Chosen) -> Candidate:
    """Return the outcome of the mould that is `chosen`: a worker's task."""
    try:
        scenario = read_again(written, chosen)
    except InputError:
        return Candidate("no mould")
    try:
        return cast(scenario)
    except SolverError:
        return Candidate("not solved")


def cast(scenario: Scenario) -> Candidate:
    """Return the outcome of a scenario without open dimensions, the same as `solve` finds.

    Without a line-up, the densities on the target that come nearest to the limits.
    """
    solver = LinearSolver()
    tried = solutions(scenario, solver, nearest=False)
    result = as_result(scenario, tried, solver)
    if not result.accepted:
        return _short(scenario, tried)
    status: Status = "feasible" if result.status == "feasible" else "within_tolerance"
    largest = result.largest_deviation
    off = None if largest is None else abs(largest[1].tolerances or 0.0)
    shared = reach(scenario, *result.figures[:2])
    return Candidate(status, result.figures, off=off, reach=shared).held(result.smallest)


def _short(scenario: Scenario, tried: Sequence[Solution]) -> Candidate:
    """Return the outcome of a mould without a line-up."""
    met, figures, weights = True, (0.0, 0.0), list[WeightResult]()
    for solution in tried:
        lineup, x = solution.lineup, solution.on_target
        met = met and float(np.max(lineup.rows(x).broken(x), initial=0.0)) <= ROW_ERROR
        target = lineup.columns.target(x)
        figures = tuple(target.tolist())
        weights += [measured(as_stated(ball), target) for ball in lineup.balls(x)]
    missed = Candidate("target missed", figures, reach=reach(scenario, *figures[:2]))
    if not met:
        return missed
    if not any(shortfalls(weight) or fixed_and_broken(weight.margins) for weight in weights):
        return replace(missed, status="not solved")
    return replace(missed, status="limit broken").held(_broken(weights))


def _broken(weights: Sequence[WeightResult]) -> Margin | None:
    """Return the broken margin: one without a tolerance, else the worst in tolerances."""
    every = (margin for weight in weights for margin in weight.margins if not margin.rule_only)
    untold = (margin for margin in every if margin.tolerances is None and outside(margin))
    return next(chain(untold, ranked(weights)), None)


def reach(scenario: Scenario, rg: float, differential: float) -> Shared:
    """Return what all weights can share at the low RG `rg`, and at this `differential`, cm."""
    asked = LineReach(scenario, LinearSolver(), (rg, differential))
    maps = list(map(opened, linear_maps(scenario)))
    if not all(map(flat, maps)):
        return Shared(None, None, "not sought")
    try:
        common = asked.common(maps)
    except SolverError:
        return Shared(None, None, "unknown")
    most = maps[0].radius
    return Shared(
        _ends(common.bands, ((rg, rg), (0.0, most)), 1),
        _ends(common.bands, ((0.0, most), (differential, differential)), 0),
        ("exact" if common.proven else "found") if common.known else "unknown",
    )


def _ends(
    bands: Sequence[Band], of: tuple[tuple[float, float], tuple[float, float]], figure: int
) -> Ends:
    """Return the ends of a figure (0 RG, 1 differential) where bands meet a line."""
    line = box(*of, [Other(Kind.NOWHERE)] * 4)
    pieces = [piece.outline[:, figure] for band in bands for piece in shared(band, line)]
    if not pieces:
        return None
    return float(min(map(np.min, pieces))), float(max(map(np.max, pieces)))

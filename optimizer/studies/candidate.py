"""One candidate of an exploration: its mould cast as well as it can be, and what it could reach."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from typing import Literal

import numpy as np

from optimizer.linear.rows import Margin
from optimizer.lineup.pipeline import as_stated, measured, shortfalls
from optimizer.lineup.result import WeightResult
from optimizer.lineup.solve import LinearSolver
from optimizer.lineup.starts import groups, poured
from optimizer.scenario import Scenario, Written, linear_maps, read_again
from optimizer.scenario.dimensions import Chosen
from optimizer.studies.bands import Band, box, shared
from optimizer.studies.boxes import NOWHERE
from optimizer.studies.claims import Claim
from optimizer.studies.reach import flat, opened
from optimizer.studies.window import Asked
from shared.errors import InputError, SolverError
from shared.tolerances import ARITHMETIC

Status = Literal["feasible", "limit broken", "target missed", "no mould", "not solved"]
Certainty = Literal["exact", "found", "unknown", "not sought"]

Ends = tuple[float, float] | None
"""The least and the greatest value of a figure, cm; None where there is none."""


@dataclass(frozen=True)
class Shared:
    """What all weights can share, cm: the differential at the target's RG, and the other way round.

    "exact" where it is proven (to the window's error, some 2e-6 in), "found" where there may be
    more beyond, "unknown" where the search lost its way, and "not sought" where it takes minutes:
    a part lies off the pin axis, or something is asked of the intermediate differential of a core
    that isn't symmetric.
    """

    differential: Ends
    rg: Ends
    certainty: Certainty


@dataclass(frozen=True)
class Candidate:
    """What was found of one candidate; plain values, to come back from another process.

    `figures` are the target's as met, cm. `margin` is the smallest one, in tolerances, of the balls
    as stated, walls included; None where a target is missed, or a limit without a tolerance is
    broken. `limit`, `weight` and `part` say whose it is, of several alike the first. "no mould":
    parts would cross, or a shape can't be. What else isn't feasible was not found to be.
    """

    status: Status
    figures: tuple[float, ...] = ()
    margin: float | None = None
    limit: str | None = None
    weight: str | None = None
    part: str | tuple[str, str] | None = None
    reach: Shared | None = None


def candidate(written: Written, chosen: Chosen) -> Candidate:
    """Return what is found of the mould that is `chosen`: a worker's task."""
    try:
        one = read_again(written, chosen)
    except InputError:
        return Candidate("no mould")
    try:
        return cast(one)
    except SolverError:
        return Candidate("not solved")


def cast(one: Scenario) -> Candidate:
    """Return what is found of a scenario that leaves no dimension open."""
    met, figures, weights = True, (0.0, 0.0), list[WeightResult]()
    for lineup in groups(one):
        outcome = poured(lineup)
        x = np.array(outcome.x)
        met = met and outcome.met
        told = lineup.columns.target(x)
        figures = tuple(told.tolist())
        weights += [measured(as_stated(ball), one, told) for ball in lineup.balls(x)]
    found = Candidate("target missed", figures, reach=reach(one, figures[0], figures[1]))
    if not met:
        return found
    smallest, broken = _smallest(weights), any(_breaks(weight) for weight in weights)
    found = replace(found, status="limit broken" if broken else "feasible")
    if smallest is None:
        return found
    return replace(
        found,
        margin=smallest.tolerances,
        limit=smallest.limit,
        weight=smallest.weight,
        part=smallest.part,
    )


def _deciding(weights: Sequence[WeightResult]) -> Iterator[Margin]:
    every = chain.from_iterable(weight.margins for weight in weights)
    return (margin for margin in every if not margin.rule_only)


def _smallest(weights: Sequence[WeightResult]) -> Margin | None:
    """Return the margin that decides: one without a tolerance if it is broken, else the least."""
    told = dict[Margin, float]()
    for margin in _deciding(weights):
        if margin.tolerances is not None:
            told[margin] = margin.tolerances
        elif margin.slack < -ARITHMETIC:
            return margin
    return min(told, key=lambda margin: told[margin], default=None)


def _breaks(weight: WeightResult) -> bool:
    """Whether a ball as stated is outside a limit by more than the stating moves it."""
    given = (margin for margin in _deciding([weight]) if not margin.movable)
    return bool(shortfalls(weight)) or any(margin.slack < -ARITHMETIC for margin in given)


def reach(one: Scenario, rg: float, differential: float) -> Shared:
    """Return what all weights can share at the low RG `rg`, and at this `differential`, cm."""
    asked = Asked(one, LinearSolver(), lambda _what: None)
    maps = [opened(map_) for map_ in linear_maps(one)]
    if not all(flat(map_, one.limits) for map_ in maps):
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
    """Return the ends of a figure (0 RG, 1 differential) of what bands have on a line."""
    line = box(*of, [Claim(NOWHERE)] * 4)
    pieces = [piece.outline[:, figure] for band in bands for piece in shared(band, line)]
    if not pieces:
        return None
    return float(min(map(np.min, pieces))), float(max(map(np.max, pieces)))

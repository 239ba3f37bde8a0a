"""Which limits can't hold together: a smallest set, by letting claims go one after the other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from optimizer.lineup.proof import Relaxation
from optimizer.lineup.result import WeightResult
from optimizer.lineup.rows import Lineup
from optimizer.lineup.search import best_found, search_rounds
from optimizer.lineup.solve import LinearSolver
from optimizer.studies.claims import CLASS, Asked, Claim
from shared.arrays import Array


@dataclass(frozen=True)
class Conflict:
    """Claims that are proven not to hold together.

    `minimal`: without any one of them a line-up was found, so none is there for nothing.
    """

    claims: tuple[Claim, ...]
    weights: tuple[str, ...]
    minimal: bool


def conflict(
    asked: Asked, nearest: Sequence[WeightResult], solver: LinearSolver
) -> Conflict | None:
    """Return a smallest set of claims that can't hold together, or None where that isn't proven.

    The order in which claims are let go is fixed, and with it the answer.
    """
    claims = asked.claims(nearest)
    waived: list[Claim] = []
    if not _proven(asked, waived, solver):
        return None
    for claim in claims:
        gone = {one.weight for one in waived if one.limit == CLASS}
        if claim.weight in gone:
            waived.append(claim)  # nothing is asked any more of a weight that is let go
        elif len(gone) == len(asked.maps) - 1 and claim.limit == CLASS:
            continue
        elif _proven(asked, [*waived, claim], solver):
            waived.append(claim)
    kept = [c for c in claims if c not in waived and c.limit != CLASS]
    classes = tuple(one.label for one in asked.maps if Claim(CLASS, weight=one.label) not in waived)
    minimal = all(_found(asked, [*waived, claim], solver) for claim in kept)
    return Conflict(tuple(reversed(kept)), classes, minimal)


def _proven(asked: Asked, waived: Sequence[Claim], solver: LinearSolver) -> bool:
    return Relaxation(asked.without(waived), solver).verdict().proven


def _found(asked: Asked, waived: Sequence[Claim], solver: LinearSolver) -> bool:
    """Whether a line-up is found: from where the relaxation has one, then as ever."""
    lineup = asked.without(waived)
    points = Relaxation(lineup, solver).verdict().points
    rounds = [
        [(_with_figures(lineup, point), None) for point in points],
        *search_rounds(lineup, lineup.columns.middle),
    ]
    return best_found(lineup, solver, rounds, lambda _level: None).good


def _with_figures(lineup: Lineup, densities: Array) -> Array:
    """Return the columns at `densities`, free figures of the target as the first ball has them."""
    columns, count = lineup.columns, lineup.columns.count - lineup.columns.figures
    ball = lineup.maps[0].ball(densities[columns.place[0]])
    radii = ball.radii
    figures = (radii.low, radii.differential, radii.intermediate_differential)[:count]
    x = np.concatenate([densities, figures])
    return np.asarray(np.clip(x, columns.lower, columns.upper))

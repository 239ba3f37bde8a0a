"""Which limits can't hold together: a smallest set, by letting claims go one after the other.

Proven where the relaxation proves it; elsewhere as far as the search finds, and that is said.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from optimizer.ball.bounds import Bound
from optimizer.ball.figures import RADII
from optimizer.lineup.claims import Claim, Kind, claims, is_kind, without
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.engine.search import binding, fruitless, search_rounds
from optimizer.lineup.proof.proof import Relaxation
from optimizer.lineup.result import WeightResult
from optimizer.lineup.rows import Lineup
from optimizer.questions.why_not.effort import EXPLAINING, spent
from shared.arrays import Array


@dataclass(frozen=True)
class Conflict:
    """Claims that are proven not to hold together, or were not found to from `starts` starts.

    There is at least one. `minimal`: without any one of them a line-up was found, so that each of
    them is needed; False where that was not tried of all. `starts` is 0 where it is `proven`.
    """

    claims: tuple[Claim, ...]
    weights: tuple[str, ...]
    minimal: bool
    starts: int

    @property
    def proven(self) -> bool:
        """Whether that they don't hold together is proven, not only searched for."""
        return self.starts == 0


def conflict(
    asked: Lineup, nearest: Sequence[WeightResult], solver: LinearSolver
) -> Conflict | None:
    """Return a smallest set of claims that can't hold together, or None where a line-up is found.

    `asked` starts at the `nearest` balls.

    None, too, where nothing is found even with every claim let go: then no claim is to blame.
    The order in which claims are let go is fixed, and with it the answer. Where nothing is proven,
    the limits that don't bear on the best point found go before those that do.
    """
    every = claims(asked, nearest)
    letting = _Letting(asked, solver, proven=_proven(asked, [], solver))
    if not letting.holds([]):
        return None
    waived = letting.go([c for c in every if is_kind(c, Kind.CLASS)], [])
    gone = {one.weight for one in waived}
    waived += [c for c in every if c.weight in gone and c not in waived]
    waived = letting.go([c for c in every if is_kind(c, Kind.SHARED)], waived)
    rest: list[Claim] = [c for c in every if isinstance(c, Bound) and c not in waived]
    if not letting.proven:
        needed = _bearing(without(asked, waived), rest, solver)
        waived = letting.go([c for c in rest if c not in needed], waived)
        rest = needed
    waived = letting.go(rest, waived)
    kept = [c for c in every if c not in waived and not is_kind(c, Kind.CLASS)]
    weights = tuple(label for label in asked.labels if label not in gone)
    if not kept:
        return None
    minimal = not letting.ended and (
        not letting.proven or all(_starts(asked, [*waived, c], solver) == 0 for c in kept)
    )
    return Conflict(tuple(reversed(kept)), weights, minimal, letting.starts)


@dataclass
class _Letting:
    """Letting claims go for as long as there is no line-up of the rest: proven, or searched for.

    `starts` is how many starts led nowhere in the last search. It has `ended` where the effort was
    spent before every claim was tried: those that were not are kept.
    """

    asked: Lineup
    solver: LinearSolver
    proven: bool
    starts: int = 0
    ended: bool = False

    def holds(self, waived: Sequence[Claim]) -> bool:
        """Whether without `waived`, too, there is no line-up."""
        if sum(is_kind(one, Kind.CLASS) for one in waived) == len(self.asked.maps):
            return False
        if self.proven:
            return _proven(self.asked, waived, self.solver)
        starts = _starts(self.asked, waived, self.solver)
        self.starts = starts or self.starts
        return starts > 0

    def go(self, some: Sequence[Claim], waived: Sequence[Claim]) -> list[Claim]:
        """Return `waived` and those of `some` claims that can go as well, earlier ones preferred.

        The same as one by one: where all of a stretch can go, each of it can.
        """
        self.ended = self.ended or (bool(some) and spent(self.solver, EXPLAINING))
        if self.ended:
            return list(waived)
        if not some or self.holds([*waived, *some]):
            return [*waived, *some]
        if len(some) == 1:
            return list(waived)
        half = len(some) // 2
        return self.go(some[half:], self.go(some[:half], waived))


def _bearing(lineup: Lineup, some: Sequence[Claim], solver: LinearSolver) -> list[Claim]:
    """Return `some` claims without the limits that don't bear on the peak reached from mid-range.

    A row without a dual there may go and the linear program at that point gets no better.
    """
    peak = lineup.engine(solver).climb(lineup.columns.middle)
    bearing = binding(lineup, solver, lineup.margin_rows(peak.x))
    idle = {
        b
        for linear_map in lineup.maps
        for b in linear_map.bounds
        if b.held(linear_map) and b not in bearing
    }
    return [claim for claim in some if claim not in idle]


def _proven(asked: Lineup, waived: Sequence[Claim], solver: LinearSolver) -> bool:
    return Relaxation(without(asked, waived), solver).verdict().proven


def _starts(asked: Lineup, waived: Sequence[Claim], solver: LinearSolver) -> int:
    """Return from how many starts no line-up is found, 0 where one is.

    From the nearest line-up and where the relaxation has one, with the figures that they have; then
    as ever.
    """
    lineup = without(asked, waived)
    nearest = lineup.columns.middle[: lineup.columns.figures]
    points = (nearest, *Relaxation(lineup, solver).verdict().points)
    rounds = [
        [(_with_figures(lineup, point), None) for point in points],
        *search_rounds(lineup, lineup.columns.middle),
    ]
    return fruitless(lineup, solver, rounds)


def _with_figures(lineup: Lineup, densities: Array) -> Array:
    """Return the columns at `densities`, free figures of the target as the first ball has them."""
    columns, count = lineup.columns, lineup.columns.count - lineup.columns.figures
    ball = lineup.maps[0].ball(columns.densities(0, densities))
    figures = [figure.value(ball) for figure in RADII[:count]]
    return np.asarray(np.clip(np.concatenate([densities, figures]), *columns.box))

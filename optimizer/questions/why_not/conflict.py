"""Which claims can't hold together: a minimal set, found by waiving claims one after the other.

It is proven where the relaxation proves it; elsewhere it is what the search finds, marked as such.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np

from optimizer.ball.bounds import Bound
from optimizer.lineup.claims import Claim, Kind, claims, is_kind, without
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.engine.search import Round, binding, first_found, search_rounds
from optimizer.lineup.proof.evidence import Evidence
from optimizer.lineup.proof.known import Known
from optimizer.lineup.proof.proof import FIRST, Relaxation
from optimizer.lineup.result import WeightResult
from optimizer.lineup.rows import Lineup
from optimizer.questions.why_not.effort import EXPLAINING, spent
from shared.arrays import Array

Made: TypeAlias = tuple[Lineup, Array]
"""A line-up that was found: what is asked of it, and its columns."""


@dataclass(frozen=True)
class Conflict:
    """Claims that can't hold together, at least one: proven, or nothing found from `starts` starts.

    `minimal`: without any one of them a line-up was found, so each is needed; False where not all
    were tried. `starts` is 0 where it is `proven`; `evidence` then has the proof, and the line-ups
    that were found.
    """

    claims: tuple[Claim, ...]
    weights: tuple[str, ...]
    minimal: bool
    starts: int
    evidence: tuple[Evidence, ...] = ()

    @property
    def proven(self) -> bool:
        """Whether it is proven that they can't hold together."""
        return self.starts == 0


def conflict(
    asked: Lineup, nearest: Sequence[WeightResult], solver: LinearSolver
) -> Conflict | None:
    """Return a minimal set of claims that can't hold together, or None where a line-up is found.

    `asked` starts at the `nearest` balls.

    None, too, where nothing is found even with every claim waived: then no claim is to blame. The
    order of waiving is fixed, and so is the answer. Where nothing is proven, limits that don't
    affect the best point found are waived before those that do.
    """
    every = claims(asked, nearest)
    waiving = _Waiving(asked, solver, proven=isinstance(_decided(asked, [], solver), Evidence))
    if not waiving.holds([]):
        return None
    waived = waiving.go([c for c in every if is_kind(c, Kind.CLASS)], [])
    gone = {claim.weight for claim in waived}
    waived += [c for c in every if c.weight in gone and c not in waived]
    waived = waiving.go([c for c in every if is_kind(c, Kind.SHARED)], waived)
    rest = [c for c in every if isinstance(c, Bound) and c not in waived]
    if not waiving.proven:
        needed = _bearing(without(asked, waived), rest, solver)
        waived = waiving.go([c for c in rest if c not in needed], waived)
        rest = needed
    waived = waiving.go(rest, waived)
    kept = [c for c in every if c not in waived and not is_kind(c, Kind.CLASS)]
    weights = tuple(label for label in asked.labels if label not in gone)
    if not kept:
        return None
    together, minimal = tuple(reversed(kept)), not waiving.ended
    if minimal and waiving.proven:
        minimal = all(waiving.can_do_without(c, waived) for c in kept)
    return Conflict(together, weights, minimal, waiving.starts, waiving.evidence(together))


@dataclass
class _Waiving:
    """Waives claims for as long as the rest has no line-up: proven, or searched for.

    `starts` is how many starts led nowhere in the last search. It has `ended` where the effort was
    spent before every claim was tried: the untried ones are kept. Where it is `proven` that all
    can't hold, `never` is the last proof, `last` the last line-up found, and `without` has those
    found without one claim.
    """

    asked: Lineup
    solver: LinearSolver
    proven: bool
    starts: int = 0
    ended: bool = False
    never: Evidence | None = None
    last: Made | None = None
    without: dict[Claim, Made] = field(default_factory=dict)

    def holds(self, waived: Sequence[Claim]) -> bool:
        """Whether there is still no line-up with `waived` gone."""
        if sum(is_kind(claim, Kind.CLASS) for claim in waived) == len(self.asked.maps):
            self.last = None
            return False
        if self.proven:
            decided = _decided(self.asked, waived, self.solver)
            if isinstance(decided, Evidence):
                self.never = decided
                return True
            self.last = decided
            return False
        starts, _ = _searched(without(self.asked, waived), self.solver)
        self.starts = starts or self.starts
        return starts > 0

    def can_do_without(self, claim: Claim, waived: Sequence[Claim]) -> bool:
        """Whether a line-up is found, now or before, with `waived` and one more claim gone."""
        if claim not in self.without:
            lineup = without(self.asked, [*waived, claim])
            _, x = _searched(lineup, self.solver)
            if x is None:
                return False
            self.without[claim] = lineup, x
        return True

    def evidence(self, claims: Sequence[Claim]) -> tuple[Evidence, ...]:
        """Return the proof that `claims` can't hold together, and that each is needed."""
        if self.never is None:
            return ()
        told = {claim: str(claim) if claim.weight else claim.name for claim in claims}
        made = ((claim, *self.without[claim]) for claim in claims if claim in self.without)
        needed = (
            Evidence.some(f"without {told[claim]} the others can hold together", Known(lineup), x)
            for claim, lineup, x in made
        )
        what = f"these can't hold together: {'; '.join(told.values())}"
        return (self.never.called(what), *needed)

    def go(self, claims: Sequence[Claim], waived: Sequence[Claim]) -> list[Claim]:
        """Return `waived` and those of `claims` that can be waived as well, earlier ones preferred.

        The result is the same as one by one: where a whole stretch can go, each claim of it can.
        """
        self.ended = self.ended or (bool(claims) and spent(self.solver, EXPLAINING))
        if self.ended:
            return list(waived)
        if not claims or self.holds([*waived, *claims]):
            return [*waived, *claims]
        if len(claims) == 1:
            if self.last is not None:
                self.without[claims[0]] = self.last
            return list(waived)
        half = len(claims) // 2
        return self.go(claims[half:], self.go(claims[:half], waived))


def _bearing(lineup: Lineup, limits: Sequence[Bound], solver: LinearSolver) -> list[Bound]:
    """Return the claims without the limits that don't affect the peak reached from mid-range.

    A row with no dual there can go without improving the linear program at that point.
    """
    peak = lineup.engine(solver).climb(lineup.columns.middle)
    bearing = binding(lineup, solver, lineup.margin_rows(peak.x))
    held = {b for linear_map in lineup.maps for b in linear_map.bounds if b.held(linear_map)}
    return [bound for bound in limits if bound in bearing or bound not in held]


def _decided(
    asked: Lineup, waived: Sequence[Claim], solver: LinearSolver
) -> Evidence | Made | None:
    """Return the proof that there is no line-up with `waived` gone, or one; None: neither.

    Where there is one it is mostly found at once, from the nearest or from where a first look at
    the relaxation points; to fail to prove that there is none takes long.
    """
    lineup = without(asked, waived)

    def found(densities: Iterable[Array]) -> Made | None:
        _, x = first_found(lineup, solver, [_from(lineup, densities)])
        return None if x is None else (lineup, x)

    if made := found([lineup.columns.middle[: lineup.columns.figures]]):
        return made
    relaxation = Relaxation(lineup, solver)
    first = relaxation.verdict(FIRST)
    if not first.proven and (made := found(first.points)):
        return made
    return relaxation.verdict().proof


def _searched(lineup: Lineup, solver: LinearSolver) -> tuple[int, Array | None]:
    """Return from how many starts no line-up is found, or 0 and the columns of one.

    It starts at the nearest line-up and the relaxation's, at their own figures, then as usual.
    """
    nearest = lineup.columns.middle[: lineup.columns.figures]

    def rounds() -> Iterator[Round]:
        yield _from(lineup, [nearest])
        yield _from(lineup, Relaxation(lineup, solver).verdict().points)
        yield from search_rounds(lineup, lineup.columns.middle)

    count, x = first_found(lineup, solver, rounds())
    return (count, None) if x is None else (0, x)


def _from(lineup: Lineup, densities: Iterable[Array]) -> Round:
    """Return starts at these densities, at their own figures."""
    return [(_with_figures(lineup, point), None) for point in densities]


def _with_figures(lineup: Lineup, densities: Array) -> Array:
    """Return the columns at `densities`, free figures of the target as on the first ball."""
    columns = lineup.columns
    ball = lineup.maps[0].ball(columns.densities(0, densities))
    figures = [figure.value(ball) for figure in ball.map.target]
    return np.asarray(np.clip(np.concatenate([densities, figures]), *columns.box))

"""Changes that give a line-up: alone, in pairs, or of the target that the whole line shares.

Every one is proven before it is shown: written into the scenario's text, read and solved again.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from operator import attrgetter

from optimizer.ball.bounds import Margin
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.result import LineupResult
from optimizer.lineup.rows import Lineup
from optimizer.questions.why_not.changes.changes import Change, change
from optimizer.questions.why_not.changes.least_moves import least_moves
from optimizer.questions.why_not.changes.moves import Move, moves
from optimizer.questions.why_not.changes.pairs import cheapest_pairs
from optimizer.questions.why_not.changes.rulebook import left_rules, within_rules
from optimizer.questions.why_not.changes.shared_target import (
    freed_start,
    shared_window,
    window_moves,
)
from optimizer.questions.why_not.effort import spent
from optimizer.scenario import linear_maps, read_again
from optimizer.scenario.source.editing import edited
from shared.arrays import Array
from shared.errors import InputError


@dataclass(frozen=True)
class Remedy:
    """Changes that together give a line-up; proven by solving the changed scenario.

    A line-up that is only within tolerance counts, too, but comes after exact ones.
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

    @cached_property
    def left(self) -> tuple[Margin, ...]:
        """The rules that the changed scenario's line-up is outside of."""
        return left_rules(self.result)

    @property
    def rank(self) -> tuple[bool, bool, float]:
        """The order of remedies: within the rulebook, then exact, then the smallest change."""
        return bool(self.left), not self.exact, self.tolerances


@dataclass(frozen=True, eq=False)
class Case:
    """A result to find remedies for; `solver` counts the work."""

    result: LineupResult
    solver: LinearSolver

    @cached_property
    def lineup(self) -> Lineup:
        """All its weights as one line-up."""
        return self.of(linear_maps(self.result.scenario))

    @cached_property
    def x(self) -> Array:
        """The columns of the nearest line-up, as stated: the start of a search."""
        return self.lineup.point_of(self.result)

    @cached_property
    def moves(self) -> list[Move]:
        """All numbers that may be moved."""
        return list(moves(self.result.scenario, self.lineup))

    def spent(self) -> bool:
        """Return whether the effort of a diagnosis is spent."""
        return spent(self.solver)

    def of(self, maps: Sequence[LinearMap]) -> Lineup:
        """Return these weights as one line-up, on target within tolerance if that is enough."""
        lineup = Lineup.of(maps, self.result.scenario.sharing)
        return replace(lineup, within=not self.result.exact)

    def least_moved(
        self, moves: Sequence[Move], ways: Sequence[Lineup], *starts: Array
    ) -> Remedy | None:
        """Return the least moves found to be enough, rounded outward and proven, or None.

        They keep to the rulebook if that is possible; the first of the `ways` that works counts.
        """
        remedies = self._least_moved(moves, ways, [self.x, *starts])
        return _best(remedies, lambda remedy: remedy.exact and not remedy.left)

    def _least_moved(
        self, moves: Sequence[Move], ways: Sequence[Lineup], starts: Sequence[Array]
    ) -> Iterator[Remedy | None]:
        for way in ways:
            if self.spent():
                return
            for numbers in (moves, within_rules(moves, self.lineup)):  # the second is needed less
                amounts = least_moves(way, numbers, starts, self.solver)
                if amounts is None:
                    break
                remedy = self.written_out(numbers, amounts)
                yield remedy
                if remedy is not None and not remedy.left:
                    break

    def written_out(self, moves: Sequence[Move], amounts: Sequence[float]) -> Remedy | None:
        """Return the moves by these amounts, rounded outward and proven, or None.

        One more step is tried where the rounding of the densities needs it.
        """
        scenario, pairs = self.result.scenario, [*zip(moves, amounts, strict=True)]
        remedies = (
            self.proven([change(scenario, move, amount, more) for move, amount in pairs])
            for more in (0, 1)
            if not self.spent()
        )
        return _best(remedies, lambda remedy: remedy.exact)

    def proven(self, changes: Sequence[Change]) -> Remedy | None:
        """Return the remedy if the scenario with `changes` made, read again, has a line-up."""
        asked = self.result.scenario
        try:
            text = edited(asked.source, {change.path: change.to for change in changes})
            changed = read_again(replace(asked.written, source=text), asked.chosen)
        except InputError:
            return None
        result = solve_lineup(changed, exact=self.result.exact)
        self.solver.work += result.search.work
        return Remedy(tuple(changes), text, result) if result.accepted else None


def ways(lineup: Lineup) -> list[Lineup]:
    """Return the line-up that meets its target exactly, then, if allowed, within tolerance."""
    return [replace(lineup, within=False), *([lineup] if lineup.within else [])]


def _best(remedies: Iterator[Remedy | None], enough: Callable[[Remedy], bool]) -> Remedy | None:
    """Return the best of the remedies up to the first that is good enough; None without any."""
    tried = list[Remedy]()
    for remedy in filter(None, remedies):
        tried.append(remedy)
        if enough(remedy):
            break
    return min(tried, key=attrgetter("rank"), default=None)


def cheapest_pair(case: Case, *, alone_do: bool) -> list[Remedy]:
    """Return the cheapest pair of moves found to be enough, if any; in the rulebook if possible.

    Where single moves outside the rulebook are enough, a pair outside it is no better.
    """
    kept = within_rules(case.moves, case.lineup)
    both = (kept,) if alone_do or kept == case.moves else (kept, case.moves)
    for numbers, way in itertools.product(both, ways(case.lineup)):
        pairs = cheapest_pairs(way, numbers, case.x, case.solver)
        written = filter(None, (case.written_out(pair.moves, pair.amounts) for pair in pairs))
        remedies = [remedy for remedy in written if not (remedy.left and alone_do)]
        if remedies:
            return [min(remedies, key=attrgetter("rank"))]
    return []


def nearest_common(case: Case, remedies: Sequence[Remedy]) -> tuple[Remedy | None, bool | None]:
    """Return the nearest target found that the line can share exactly; all its figures may move.

    And whether it is proven that there is none; None where no figure can be moved, or the effort is
    spent.
    """
    exactly = replace(case.lineup, within=False)
    figures = [move for move in case.moves if move.path[0] == "target"]
    if not figures or case.spent():
        return None, None
    known = [remedy for remedy in remedies if all(c.path[0] == "target" for c in remedy.changes)]
    known += filter(None, [case.least_moved(figures, [exactly])])
    known = [remedy for remedy in known if remedy.exact]
    if known:
        return min(known, key=attrgetter("rank")), False
    if case.spent():
        return None, None
    freed, impossible = freed_start(exactly, case.solver)
    if impossible:
        return None, True
    if freed is not None:
        remedy = case.least_moved(figures, [exactly], freed)
        if remedy is not None and remedy.exact:
            return remedy, False
    window = shared_window(case.lineup.maps, case.result.scenario, case.solver)
    tries = [] if window is None else list(window_moves(window, figures))
    if freed is not None:
        tries.append(tuple(float(freed[c]) - m.value for m in figures for c in m.links))
    written = (case.written_out(figures, amounts) for amounts in tries if not case.spent())
    common = next((remedy for remedy in written if remedy is not None and remedy.exact), None)
    return common, freed is None and window is not None and window.none and window.proven

"""Changes that give a line-up: alone, in pairs, or of the target that the whole line shares.

Every one is proven before it is told: written into the scenario's text, read and solved again.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from optimizer.linear.bounds import Margin
from optimizer.linear.maps import LinearMap
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.result import LineupResult
from optimizer.lineup.rows import Lineup
from optimizer.lineup.solve import LinearSolver
from optimizer.scenario import read_again
from optimizer.scenario.editing import edited
from optimizer.studies.changes import Change, change
from optimizer.studies.effort import spent
from optimizer.studies.least_moves import least_moves
from optimizer.studies.moves import Move, moves
from optimizer.studies.pairs import cheapest_pairs
from optimizer.studies.ruled import left_rules, within_rules
from optimizer.studies.shared_target import freed_start, shared_window, window_moves
from shared.arrays import Array
from shared.errors import InputError


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

    @cached_property
    def left(self) -> tuple[Margin, ...]:
        """The rules of the rulebook that what the changed scenario gives is outside of."""
        return left_rules(self.result)

    @property
    def rank(self) -> tuple[bool, bool, float]:
        """What comes first: within the rulebook, exact ones, then the smallest change."""
        return bool(self.left), not self.exact, self.tolerances


def ways(lineup: Lineup) -> Iterator[Lineup]:
    """Yield the line-up that meets its target exactly, then the one that may be off, if it may."""
    yield replace(lineup, within=False)
    if lineup.within:
        yield lineup


def least_moved(
    of: LineupResult,
    lineup: Lineup,
    some: Sequence[Move],
    starts: Sequence[Array],
    solver: LinearSolver,
) -> Remedy | None:
    """Return the least move of `some` found to do, rounded outward and proven, or None.

    Within the rulebook if there is one; one that does exactly comes before one that does within
    tolerance.
    """
    remedies = list[Remedy]()
    for way in ways(lineup):
        if spent(solver):
            break
        for numbers in (some, within_rules(some, lineup)):  # the second is asked for less
            amounts = least_moves(way, numbers, starts, solver)
            remedy = None if amounts is None else written_out(of, numbers, amounts, solver)
            remedies += [] if remedy is None else [remedy]
            if amounts is None or (remedy is not None and not remedy.left):
                break
        if any(remedy.exact and not remedy.left for remedy in remedies):
            break
    return min(remedies, key=lambda one: one.rank, default=None)


def written_out(
    of: LineupResult, some: Sequence[Move], amounts: Sequence[float], solver: LinearSolver
) -> Remedy | None:
    """Return the moves by these amounts, rounded outward and proven, or None.

    A step more is tried where the rounding of the densities needs it.
    """
    remedies = list[Remedy]()
    for more in (0, 1):
        if spent(solver):
            break
        changes = [change(of.scenario, m, d, more) for m, d in zip(some, amounts, strict=True)]
        remedy = proven(of, changes, solver)
        remedies += [] if remedy is None else [remedy]
        if remedy is not None and remedy.exact:
            break
    return min(remedies, key=lambda one: one.rank, default=None)


def cheapest_pair(
    of: LineupResult,
    lineup: Lineup,
    some: Sequence[Move],
    x: Array,
    solver: LinearSolver,
    *,
    alone_do: bool,
) -> list[Remedy]:
    """Return the cheapest pair of moves found to do, if any: within the rulebook if there is one.

    Where single moves do, if outside of the rulebook, a pair outside of it is no better.
    """
    kept = within_rules(some, lineup)
    both = (kept,) if alone_do or kept == some else (kept, some)
    for numbers, way in itertools.product(both, ways(lineup)):
        pairs = cheapest_pairs(way, numbers, x, solver)
        written = (written_out(of, pair.moves, pair.amounts, solver) for pair in pairs)
        found = [one for one in written if one is not None and not (one.left and alone_do)]
        if found:
            return sorted(found, key=lambda one: one.rank)[:1]
    return []


def nearest_common(
    of: LineupResult, lineup: Lineup, x: Array, remedies: Sequence[Remedy], solver: LinearSolver
) -> tuple[Remedy | None, bool | None]:
    """Return the nearest target found that the line can share exactly: all its figures may move.

    And whether it is proven that there is none; None where no figure can be moved, or the effort is
    spent.
    """
    asked, exactly = of.scenario, replace(lineup, within=False)
    figures = [move for move in moves(asked, lineup) if move.path[0] == "target"]
    if not figures or spent(solver):
        return None, None
    found = [one for one in remedies if all(c.path[0] == "target" for c in one.changes)]
    found += filter(None, [least_moved(of, exactly, figures, [x], solver)])
    found = [one for one in found if one.exact]
    if found:
        return min(found, key=lambda one: one.rank), False
    if spent(solver):
        return None, None
    freed, impossible = freed_start(exactly, asked, solver)
    if impossible:
        return None, True
    if freed is not None:
        one = least_moved(of, exactly, figures, [x, freed], solver)
        if one is not None and one.exact:
            return one, False
    window = shared_window(lineup.maps, asked, solver)
    tries = [] if window is None else list(window_moves(window, figures))
    if freed is not None:
        tries.append(tuple(float(freed[c]) - m.value for m in figures for c in m.links))
    some = (written_out(of, figures, amounts, solver) for amounts in tries if not spent(solver))
    common = next((one for one in some if one is not None and one.exact), None)
    return common, freed is None and window is not None and window.none and window.proven


def proven(of: LineupResult, changes: Sequence[Change], solver: LinearSolver) -> Remedy | None:
    """Return the remedy if the scenario with `changes` made, read again, has a line-up.

    What that takes is put down to `solver`.
    """
    if not changes:
        return None
    asked = of.scenario
    try:
        text = edited(asked.source, {change.path: change.to for change in changes})
        changed = read_again(replace(asked.written, source=text), asked.chosen)
    except InputError:
        return None
    result = solve_lineup(changed, exact=of.exact)
    solver.work += result.search.work
    return Remedy(tuple(changes), text, result) if result.accepted else None


def lineup_of(of: LineupResult, maps: Sequence[LinearMap]) -> Lineup:
    """Return these weights as one line-up, on target within tolerance if that will do."""
    asked = of.scenario
    return replace(Lineup.of(maps, asked.sharing), within=not of.exact)

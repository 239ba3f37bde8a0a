"""Every change that may do alone, tried as long as the effort of a diagnosis lasts."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field
from functools import partial

from optimizer.linear.maps import LinearMap
from optimizer.lineup.result import LineupResult
from optimizer.lineup.rows import Lineup
from optimizer.lineup.solve import LinearSolver
from optimizer.studies.changes import splits
from optimizer.studies.effort import spent
from optimizer.studies.least_moves import least_moves
from optimizer.studies.moves import Move, moves
from optimizer.studies.redrawn import Redrawing, least_redrawing, redrawings
from optimizer.studies.remedies import Remedy, least_moved, lineup_of, proven, ways, written_out
from shared import activity
from shared.arrays import Array
from shared.models import Path


@dataclass
class Singles:
    """The changes that do alone, proven, the moves that don't, and how many `untried` are left."""

    remedies: list[Remedy] = field(default_factory=list)
    not_enough: list[Move] = field(default_factory=list)
    untried: int = 0


def single_remedies(
    of: LineupResult,
    lineup: Lineup,
    x: Array,
    hopeful: Collection[Path],
    solver: LinearSolver,
) -> Singles:
    """Return the changes that do alone and those that don't, as long as the effort lasts."""
    asked, columns, singles = of.scenario, lineup.columns, Singles()
    nearest = {label: columns.densities(k, x) for k, label in enumerate(lineup.labels)}
    numbers, drawn = list(moves(asked, lineup)), list(redrawings(asked))
    shares = list(splits(asked))

    def number(move: Move) -> Remedy | None:
        return least_moved(of, lineup, [move], [x], solver) if move.path in hopeful else None

    def redrawn(one: Redrawing) -> Remedy | None:
        amount = least_redrawing(one, nearest, solver)
        return None if amount is None else written_out(of, [one.move], [amount], solver)

    tries: list[tuple[Move | None, Callable[[], Remedy | None]]] = [
        *((move, partial(number, move)) for move in numbers),
        *((None, partial(proven, of, [one], solver)) for one in shares),
        *((one.move, partial(redrawn, one)) for one in drawn),
    ]
    for count, (move, remedy) in enumerate(tries, start=1):
        if spent(solver):
            singles.untried += 1
            continue
        activity.at(f"what would do: change {count} of {len(tries)}")
        found = remedy()
        singles.remedies += [] if found is None else [found]
        if found is None and spent(solver):
            singles.untried += 1
        elif found is None and move is not None:
            singles.not_enough.append(move)
    return singles


def hopeful_moves(
    of: LineupResult, lineup: Lineup, x: Array, unable: Sequence[LinearMap], solver: LinearSolver
) -> frozenset[Path]:
    """Return the moves that do, alone, for each weight that can't be made by itself.

    What doesn't do for one of them doesn't do for the line.
    """
    hopeful = frozenset(move.path for move in moves(of.scenario, lineup))
    for one in unable if len(lineup.maps) > 1 else ():
        if spent(solver):
            break
        own = lineup_of(of, [one])
        y = own.columns.some([lineup.maps.index(one)], lineup.columns, x)
        hopeful = frozenset(
            move.path
            for move in moves(of.scenario, own)
            if move.path in hopeful
            and any(least_moves(way, [move], [y], solver) for way in ways(own))
        )
    return hopeful

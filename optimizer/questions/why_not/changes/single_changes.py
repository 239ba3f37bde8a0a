"""Every change that may be enough alone, tried as long as the effort of a diagnosis lasts."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field
from functools import partial

from optimizer.ball.weight_class import LinearMap
from optimizer.questions.why_not.changes.changes import splits
from optimizer.questions.why_not.changes.least_moves import least_moves
from optimizer.questions.why_not.changes.moves import Move, moves
from optimizer.questions.why_not.changes.redrawn import least_redrawing, redrawings
from optimizer.questions.why_not.changes.remedies import Case, Remedy, ways
from shared import activity
from shared.models import Path


@dataclass
class Singles:
    """Changes that are enough alone, proven; moves that aren't; how many are left `untried`."""

    remedies: list[Remedy] = field(default_factory=list)
    not_enough: list[Move] = field(default_factory=list)
    untried: int = 0


def single_remedies(case: Case, hopeful: Collection[Path]) -> Singles:
    """Return the changes that are enough alone and those that aren't, while the effort lasts."""
    asked, singles, both = case.result.scenario, Singles(), ways(case.lineup)
    nearest = {weight.label: weight.ball.densities for weight in case.result.weights}

    def number(move: Move) -> Remedy | None:
        return case.least_moved([move], both) if move.path in hopeful else None

    def redrawn(move: Move) -> Remedy | None:
        amount = least_redrawing(asked, move, nearest, case.solver)
        return None if amount is None else case.written_out([move], [amount])

    tries: list[tuple[Move | None, Callable[[], Remedy | None]]] = [
        *((move, partial(number, move)) for move in case.moves),
        *((None, partial(case.proven, [split])) for split in splits(asked)),
        *((move, partial(redrawn, move)) for move in redrawings(asked)),
    ]
    for count, (move, attempt) in enumerate(tries, start=1):
        if case.spent():
            singles.untried += 1
            continue
        activity.at(f"what would do: change {count} of {len(tries)}")
        remedy = attempt()
        if remedy is not None:
            singles.remedies.append(remedy)
        elif case.spent():
            singles.untried += 1
        elif move is not None:
            singles.not_enough.append(move)
    return singles


def hopeful_moves(case: Case, unable: Sequence[LinearMap]) -> frozenset[Path]:
    """Return the moves that are enough for each weight that can't be made by itself.

    A move that isn't enough for one of them isn't enough for the line.
    """
    hopeful = frozenset(move.path for move in case.moves)
    for linear_map in unable if len(case.lineup.maps) > 1 else ():
        if case.spent():
            break
        own = case.of([linear_map])
        y = own.carried(case.lineup, case.x)
        hopeful = frozenset(
            move.path
            for move in moves(case.result.scenario, own)
            if move.path in hopeful
            and any(least_moves(way, [move], [y], case.solver) for way in ways(own))
        )
    return hopeful

"""The cheapest two moves that are enough together.

A few linear programs, with the rows of one point, price every pair; the engine then finds how far
the best pairs really must move.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from operator import itemgetter

import numpy as np

from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.rows import Lineup
from optimizer.questions.why_not.changes.least_moves import Loosened, least_moves
from optimizer.questions.why_not.changes.moves import Move
from optimizer.questions.why_not.effort import spent
from shared.arrays import Array
from shared.errors import SolverError

DEARER = 1.5
"""Pairs priced above this many times the cheapest found aren't tried: curved rows change a price by
less."""
FRUITLESS = 6
"""Pairs tried, from the best, before the search gives up."""


@dataclass(frozen=True)
class Pair:
    """Two moves and the amount of each, in internal units, signed."""

    moves: tuple[Move, Move]
    amounts: tuple[float, ...]

    @property
    def cost(self) -> tuple[float, float]:
        """The larger move in tolerances, then the sum of both."""
        sizes = [move.size(d) for move, d in zip(self.moves, self.amounts, strict=True)]
        return max(sizes), sum(sizes)


def cheapest_pairs(
    lineup: Lineup, moves: Sequence[Move], x: Array, solver: LinearSolver
) -> list[Pair]:
    """Return pairs of `moves` that are enough, the cheapest first; there may be more.

    `x` are the columns of the nearest line-up, where every search starts.
    """
    pairs: list[Pair] = []
    priced = sorted(_prices(lineup, moves, x, solver), key=itemgetter(0))
    for tried, (price, pair) in enumerate(priced):
        least = min((pair.cost[0] for pair in pairs), default=np.inf)
        if price > DEARER * least or (not pairs and tried == FRUITLESS):
            break
        amounts = least_moves(lineup, pair, [x], solver)
        if amounts is not None:
            pairs.append(Pair(pair, amounts))
    return sorted(pairs, key=lambda pair: pair.cost)


def _prices(
    lineup: Lineup, moves: Sequence[Move], x: Array, solver: LinearSolver
) -> Iterator[tuple[float, tuple[Move, Move]]]:
    """Yield each pair's price by the rows at `x`, the larger of its two moves, in tolerances.

    The rows with another choice of axes count where they give less. A row that stays broken adds
    its price, so that such pairs come last, with those that the solver gives up.
    """
    loosened, count = Loosened(lineup, moves), lineup.columns.count
    engine, programs = loosened.engine(solver), [rows for _, rows in loosened.starts([x])]
    for pair in itertools.combinations(range(len(moves)), 2):
        if spent(solver):
            return
        lower, upper = engine.lower.copy(), engine.upper.copy()
        others = sorted(set(range(len(moves))) - set(pair))
        if any(lower[count + j] > 0.0 or upper[count + j] < 0.0 for j in others):
            continue  # a number that must move itself
        for j in others:
            lower[count + j] = upper[count + j] = 0.0
            for column, value in moves[j].links.items():
                lower[column] = upper[column] = value
        try:
            most = max(solver.best(rows, lower, upper).objective for rows in programs)
        except SolverError:
            most = -np.inf
        yield -most, (moves[pair[0]], moves[pair[1]])

"""The least moves of a scenario's numbers that give a line-up."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from optimizer.ball.bounds import Bound
from optimizer.ball.equations import Order
from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.lineup.engine.climbing import Engine
from optimizer.lineup.engine.linear_solver import LinearSolver, Rows
from optimizer.lineup.engine.search import Round, first_rounds
from optimizer.lineup.rows import Lineup
from optimizer.lineup.target_rows import PRICE
from optimizer.questions.why_not.changes.moves import UNDECLARED, Move
from shared.arrays import Array

SHORT = 40
"""Linear programs in one climb: a sufficient move is found in a few."""


@dataclass(frozen=True, eq=False)
class Loosened:
    """The program that keeps `moves` small, each a column after the line-up's."""

    lineup: Lineup
    moves: Sequence[Move]

    def engine(self, solver: LinearSolver) -> Engine:
        """Return the engine that climbs from program to program."""
        columns, still = self.lineup.columns, np.zeros(len(self.moves))
        lower, upper = columns.lower.copy(), columns.upper.copy()
        for move in self.moves:
            for column in move.links:
                if not columns.mould[column]:  # a dimension keeps to its range
                    lower[column] = min(0.01, move.value / 4)
                    upper[column] = 4.0 * move.value + 25.0
        return Engine(
            self.rows_at,
            np.concatenate([lower, [move.ends[0] for move in self.moves]]),
            np.concatenate([upper, [move.ends[1] for move in self.moves]]),
            np.concatenate([columns.middle, still]),
            np.concatenate([columns.spread, still]),
            solver,
            passes=SHORT,
        )

    def starts(self, points: Sequence[Array]) -> Iterator[tuple[Array, Rows]]:
        """Yield the starts of a search, nothing moved yet, and the rows there.

        They are `points`, then mid-range with each choice of axes.
        """
        plain: Round = [(x, None) for x in points]
        for x, orders in itertools.chain(plain, *first_rounds(self.lineup)):
            y = np.concatenate([x, np.zeros(len(self.moves))])
            yield y, Rows.of(self.rows_at(y, orders))

    def rows_at(self, y: Array, orders: Sequence[Order] | None = None) -> list[LinearRow]:
        """Return the rows: limits kept, loosened by the moves; and the moves, to be kept small."""
        n, rows = self.lineup.columns.count, list[LinearRow]()
        for row in self.lineup.margin_rows(y[:n], orders):
            unit, bound = row.tolerance or 1.0, row.name.of
            gains = [
                move.loosens.get(bound, 0.0) if isinstance(bound, Bound) else 0.0
                for move in self.moves
            ]
            wide = np.concatenate([row.coefficients, row.eased * np.array(gains)]) / unit
            price = PRICE if row.price is None else row.price
            rows.append(LinearRow(row.name, wide, row.lower / unit, row.upper / unit, price=price))
        for j, move in enumerate(self.moves):
            moved = np.zeros(len(y))
            moved[n + j] = 1.0
            unit = move.tolerance or UNDECLARED
            rows.append(LinearRow(Name("up", j), -moved, 0.0, np.inf, unit))
            if move.way == 0:
                rows.append(LinearRow(Name("down", j), moved, 0.0, np.inf, unit))
            for column, value in move.links.items():
                link = -moved
                link[column] += 1.0
                rows.append(LinearRow(Name(f"{column}", j), link, value, value, price=PRICE))
        return rows


def least_moves(
    lineup: Lineup, moves: Sequence[Move], points: Sequence[Array], solver: LinearSolver
) -> tuple[float, ...] | None:
    """Return the least sufficient amount of each move, internal units, signed; None if none is.

    The largest, in tolerances, is minimised. Limits are kept to their edge, targets met exactly.
    """
    loosened = Loosened(lineup, moves)
    engine = loosened.engine(solver)
    peaks = [engine.climb(y, rows) for y, rows in loosened.starts(points)]
    best = max((p for p in peaks if p.meets_targets), key=lambda p: p.level, default=None)
    if best is None:
        return None
    if len(moves) > 1:
        best = engine.evenly_out(best)
    return tuple(float(d) for d in best.x[lineup.columns.count :])

"""The least moves of a scenario's numbers that give a line-up."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Sequence

import numpy as np

from optimizer.linear.bounds import Bound
from optimizer.linear.rows import LinearRow, Name
from optimizer.lineup.engine import Engine, Peak
from optimizer.lineup.rows import PRICE, Lineup, Order
from optimizer.lineup.search import Round, first_rounds
from optimizer.lineup.solve import LinearSolver, Rows
from optimizer.studies.moves import UNDECLARED, Move
from shared.arrays import Array

SHORT = 40
"""Linear programs in one climb: a move that does is found in a few."""


def loosened(lineup: Lineup, some: Sequence[Move], solver: LinearSolver) -> Engine:
    """Return the program that keeps the moves `some` small, each a column after the line-up's."""
    columns, count = lineup.columns, len(some)
    lower, upper = columns.lower.copy(), columns.upper.copy()
    for move in some:
        for column in move.links:
            if not columns.moulds <= column < columns.figures:  # a dimension keeps to its range
                lower[column], upper[column] = min(0.01, move.value / 4), 4.0 * move.value + 25.0
    ends = [move.ends for move in some]
    return Engine(
        _rows_at(lineup, some),
        np.concatenate([lower, [low for low, _ in ends]]),
        np.concatenate([upper, [high for _, high in ends]]),
        np.concatenate([columns.middle, np.zeros(count)]),
        np.concatenate([columns.spread, np.zeros(count)]),
        solver,
        passes=SHORT,
    )


def first_programs(
    lineup: Lineup, some: Sequence[Move], starts: Sequence[Array]
) -> Iterator[tuple[Array, Rows]]:
    """Yield where a search starts, nothing moved yet, and the rows there.

    `starts`, then mid-range with each choice of axes.
    """
    rows_at, still = _rows_at(lineup, some), np.zeros(len(some))
    plain: Round = [(x, None) for x in starts]
    for x, orders in itertools.chain(plain, *first_rounds(lineup)):
        y = np.concatenate([x, still])
        yield y, Rows.of(rows_at(y, orders))


def least_moves(
    lineup: Lineup, some: Sequence[Move], starts: Sequence[Array], solver: LinearSolver
) -> tuple[float, ...] | None:
    """Return how far each of `some` must move, as little as will do, or None if that isn't enough.

    The largest move, in tolerances, is least. In internal units, signed; limits are held to their
    edge and targets are met exactly.
    """
    engine = loosened(lineup, some, solver)
    peaks = [engine.climb(y, rows) for y, rows in first_programs(lineup, some, starts)]
    good = [peak for peak in peaks if peak.meets_targets]
    if not good:
        return None
    best: Peak = max(good, key=lambda peak: peak.level)
    if len(some) > 1:
        best = engine.evenly_out(best)
    return tuple(float(d) for d in best.x[lineup.columns.count :])


def _rows_at(lineup: Lineup, some: Sequence[Move]) -> Callable[..., list[LinearRow]]:
    """Return the rows' function: limits held, loosened by the moves; the moves to be kept small."""
    n, count = lineup.columns.count, len(some)

    def rows_at(y: Array, orders: Sequence[Order] | None = None) -> list[LinearRow]:
        rows = []
        for row in lineup.margin_rows(y[:n], orders):
            unit = row.tolerance or 1.0
            of = row.name.of
            gives = row.eased * np.array(
                [move.loosens.get(of, 0.0) if isinstance(of, Bound) else 0.0 for move in some]
            )
            wide = np.concatenate([row.coefficients, gives])
            price = PRICE if row.price is None else row.price
            rows.append(
                LinearRow(row.name, wide / unit, row.lower / unit, row.upper / unit, price=price)
            )
        for j, move in enumerate(some):
            one = np.zeros(n + count)
            one[n + j] = 1.0
            unit = move.tolerance or UNDECLARED
            rows.append(LinearRow(Name("up", j), -one, 0.0, np.inf, unit))
            if move.way == 0:
                rows.append(LinearRow(Name("down", j), one, 0.0, np.inf, unit))
            for column, value in move.links.items():
                link = -one
                link[column] += 1.0
                rows.append(LinearRow(Name(f"{column}", j), link, value, value, price=PRICE))
        return rows

    return rows_at

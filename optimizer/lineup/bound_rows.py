"""The rows of a ball's bounds: to keep, or as margins to raise."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from optimizer.ball.bounds import Bound
from optimizer.ball.figures import WALL
from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.ball.weight_class import Ball
from optimizer.lineup.columns import Columns
from optimizer.lineup.target_rows import PRICE
from shared.arrays import Array

MOULD_PRICE = 100.0 * PRICE
"""Per cm of a wall: a mould that can't be made is worse than any missed target."""


def bound_rows(
    columns: Columns, k: int, bound: Bound, ball: Ball, x: Array, *, kept: bool
) -> Iterator[LinearRow]:
    """Yield the rows of one bound of class `k` at columns `x`: to keep, or as margins to raise.

    The other component of a norm is limited, too. What is kept is counted in tolerances.
    """
    for margin in bound.margins(ball):
        unit, tolerance = (margin.tolerance or 1.0, None) if kept else (1.0, margin.tolerance)
        gradient = columns.scatter(k, margin.gradient) / unit
        eased, slack = -bound.way / unit, margin.slack / unit
        yield slack_row(Name(bound), slack, gradient, x, tolerance, eased=eased)
        if margin.beside is not None:
            beside, room = columns.scatter(k, margin.beside) / unit, bound.value / unit
            for way, sign in ((1, 1.0), (2, -1.0)):
                name = Name(bound, way)
                yield slack_row(name, room, sign * beside, x, tolerance, eased=eased)


def slack_row(
    name: Name, slack: float, gradient: Array, x: Array, tolerance: float | None, *, eased: float
) -> LinearRow:
    """Return the row slack + gradient · (x' − x) ≥ tolerance · t, or ≥ 0 without a tolerance."""
    wall = isinstance(name.of, Bound) and name.of.figure == WALL
    price = None if tolerance is not None else MOULD_PRICE if wall else PRICE
    return LinearRow(name, gradient, float(gradient @ x) - slack, np.inf, tolerance, price, eased)

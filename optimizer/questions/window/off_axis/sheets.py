"""The rows of an `opened` line-up for a search that follows axes.

Where two RGs change places the rows change, and there the reachable balls have a crease.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.ball.weight_class import Ball
from optimizer.lineup.rows import ORDERS, PRICE, SORTED, Lineup, Order
from optimizer.questions.window.off_axis.settling import Tangents
from shared.arrays import Array
from shared.tolerances import AXIS_GAP

ALIKE = 1e-6
"""cm. RGs nearer than this are the same: either axis may be the lower one."""
CLEAR = 1e-6
"""cm by which axes stay clear of the gap where they begin to mean something."""


@dataclass(frozen=True, eq=False)
class Sheets:
    """The rows of a line-up, limits to be kept; where `apart` isn't 0, with one row more a ball.

    It keeps the two lowest RGs AXIS_GAP apart (1), or nearer (-1). `pin` is the pin axis's place
    among the RGs (0 low, 2 high) of cores that have it for an axis whatever the densities.
    """

    lineup: Lineup
    apart: float
    pin: int

    def __call__(self, x: Array) -> Iterator[list[LinearRow]]:
        """Yield the rows that a point is judged by; where RGs are alike, those of each order."""
        balls = list(self.lineup.balls(x))
        orders = [self._order(ball) for ball in balls]
        yield self._rows(balls, x, orders)
        for k, (ball, order) in enumerate(zip(balls, orders, strict=True)):
            for other in self._alike(ball, order):
                yield self._rows(balls, x, [*orders[:k], other, *orders[k + 1 :]])

    def followed(self, x: Array) -> Tangents:
        """Return rows that keep to the axes that are low, intermediate and high at `x`."""
        first = [ball.radii.axes[:, self._order(ball)] for ball in self.lineup.balls(x)]

        def rows_at(there: Array) -> list[LinearRow]:
            balls = list(self.lineup.balls(there))
            orders = [_matched(a, ball.radii.axes) for a, ball in zip(first, balls, strict=True)]
            return self._rows(balls, there, orders)

        return rows_at

    def _rows(self, balls: Sequence[Ball], x: Array, orders: Sequence[Order]) -> list[LinearRow]:
        rows = [_kept(row) for row in self.lineup.rows_of(balls, x, orders)]
        if self.apart:
            gaps = enumerate(zip(balls, orders, strict=True))
            rows += [self._gap(k, ball, order, x) for k, (ball, order) in gaps]
        return rows

    def _gap(self, k: int, ball: Ball, order: Order, x: Array) -> LinearRow:
        """Return the row that keeps the two lowest RGs apart, or near."""
        low, middle, _ = order
        gap = float(ball.radii.radii[middle] - ball.radii.radii[low])
        slope = ball.radius_gradient(middle) - ball.radius_gradient(low)
        gradient = self.apart * self.lineup.columns.scatter(k, slope)
        bound = float(gradient @ x) - self.apart * (gap - AXIS_GAP) + CLEAR
        return LinearRow(Name("axes", weight=ball.map.label), gradient, bound, np.inf, price=PRICE)

    def _order(self, ball: Ball) -> Order:
        """Return the order of axes: sorted, but with the pin axis in its place if it is one."""
        if not ball.map.aligned:
            return SORTED
        axis = int(np.argmax(np.abs(ball.radii.axes[2])))
        others = [k for k in SORTED if k != axis]
        others.insert(self.pin, axis)
        return next(order for order in ORDERS if list(order) == others)

    def _alike(self, ball: Ball, order: Order) -> Iterator[Order]:
        """Yield the orders in which two axes whose RGs are the same have changed places.

        An axis that is the pin axis by itself stays in its place.
        """
        low, middle, high = order
        radii, fixed = ball.radii.radii, self.pin if ball.map.aligned else None
        if fixed not in {0, 1} and abs(radii[middle] - radii[low]) <= ALIKE:
            yield middle, low, high
        if fixed not in {1, 2} and abs(radii[high] - radii[middle]) <= ALIKE:
            yield low, high, middle


def _matched(first: Array, axes: Array) -> Order:
    """Return which of the `axes` (3, 3) are nearest to the `first` ones."""
    best = np.argmax(np.abs(first.T @ axes), axis=1).tolist()
    return next((order for order in ORDERS if list(order) == best), SORTED)


def _kept(row: LinearRow) -> LinearRow:
    """Return a margin's row as one to be kept, its slack in tolerances."""
    if row.tolerance is None:
        return row
    slope, bound = row.coefficients / row.tolerance, row.lower / row.tolerance
    return LinearRow(row.name, slope, bound, np.inf, price=PRICE)

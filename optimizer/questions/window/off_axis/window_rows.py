"""The rows of an `opened` line-up for a search of its window: class weights met, limits kept.

Where the pin axis is a principal axis, it keeps its place among the RGs.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from optimizer.ball.equations import Order
from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.ball.weight_class import Ball
from optimizer.lineup.rows import Lineup
from optimizer.lineup.target_rows import PRICE, SORTED
from shared.arrays import Array
from shared.tolerances import AXIS_GAP

CLEAR = 1e-6
"""cm by which RGs stay clear of AXIS_GAP, beyond which axes are well defined."""


@dataclass(frozen=True, eq=False)
class WindowRows:
    """The rows of a line-up, limits to be kept; one row more for each ball if `apart` isn't 0.

    It keeps the two lowest RGs AXIS_GAP apart (1), or nearer (-1). `pin` is the pin axis's place
    among the RGs (0 low, 2 high) for cores aligned with it at any densities.
    """

    lineup: Lineup
    apart: float
    pin: int

    def __call__(self, x: Array) -> Iterator[LinearRow]:
        """Yield the rows at columns `x`."""
        balls = list(self.lineup.balls(x))
        orders = [self._order(ball) for ball in balls]
        yield from self.lineup.rows_of(balls, x, orders, kept=True)
        if self.apart:
            for k, (ball, order) in enumerate(zip(balls, orders, strict=True)):
                yield self._gap(k, ball, order, x)

    def _gap(self, k: int, ball: Ball, order: Order, x: Array) -> LinearRow:
        """Return the row that keeps the two lowest RGs apart, or near."""
        low, middle, _ = order
        gap = float(ball.radii.radii[middle] - ball.radii.radii[low])
        slope = ball.radius_gradient(middle) - ball.radius_gradient(low)
        gradient = self.apart * self.lineup.columns.scatter(k, slope)
        bound = float(gradient @ x) - self.apart * (gap - AXIS_GAP) + CLEAR
        return LinearRow(Name("axes", weight=ball.map.label), gradient, bound, np.inf, price=PRICE)

    def _order(self, ball: Ball) -> Order:
        """Return the order of axes: sorted, an aligned core's pin axis in its place."""
        if not ball.map.aligned:
            return SORTED
        axis = int(np.argmax(np.abs(ball.radii.axes[2])))
        others = [k for k in SORTED if k != axis]
        others.insert(self.pin, axis)
        low, middle, high = others
        return low, middle, high

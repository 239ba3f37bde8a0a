"""The rows of a ball's targets within tolerance: what is left of each tolerance, to raise."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.ball.figures import WEIGHT
from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.ball.weight_class import Ball
from optimizer.lineup.bound_rows import slack_row
from optimizer.lineup.columns import Columns
from optimizer.lineup.margins import deviations
from optimizer.lineup.target_rows import PRICE
from shared.arrays import Array


def band_rows(
    columns: Columns, k: int, ball: Ball, x: Array, allowed: float, *, weight_kept: bool = True
) -> Iterator[LinearRow]:
    """Yield, on both sides, what is left of `allowed` tolerances of each target.

    A target without a tolerance, or a class weight to keep, is an equation.
    """
    for off in deviations(ball, columns.target(x)):
        weight = off.figure == WEIGHT
        gradient = columns.scatter(k, off.gradient, off.by_figure)
        if off.tolerance is None or (weight and weight_kept and not allowed):
            unit = off.asked if weight else 1.0
            here = (float(gradient @ x) - off.off) / unit
            name = Name(off.bound)
            yield LinearRow(name, gradient / unit, here, here, price=PRICE, eased=-1 / unit)
            continue
        for way, sign in ((1, 1.0), (2, -1.0)):
            slack = allowed * off.tolerance + sign * off.off
            row = sign * gradient
            yield slack_row(Name(off.bound, way), slack, row, x, off.tolerance, eased=-sign)

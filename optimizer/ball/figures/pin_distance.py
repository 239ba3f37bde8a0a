"""Pin distance: along the surface from the pin to the CG mark."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from optimizer.ball.figures.base import Figure, Measured, Subject
from optimizer.ball.weight_class import Ball
from shared.arrays import Array


class _PinDistance(Figure):
    key, words, quantity = "pin_distance", "pin distance", "length"

    def measured(self, ball: Ball, _of: Subject) -> Iterator[Measured]:
        turned = _angle_slope(ball.properties.moments.J[:3, 3])
        yield Measured(ball.pin_distance, ball.map.radius * ball.pull(turned))


def _angle_slope(first: Array) -> Array:
    """Return the derivative (4, 4) in J of the angle between the first moments and +z.

    Zero where the CG lies on the pin axis: there the angle has no derivative, and it jumps when the
    CG passes the centre. A search must start on the right side.
    """
    x, y, z = (float(s) for s in first)
    level, square = float(np.hypot(x, y)), x * x + y * y + z * z
    slope = np.zeros((4, 4))
    if level > 1e-12 * max(abs(z), 1e-300):
        gradient = np.array([x * z / level, y * z / level, -level]) / square
        slope[:3, 3] = slope[3, :3] = gradient / 2
    return slope


PIN_DISTANCE = _PinDistance()

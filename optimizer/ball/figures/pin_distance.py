"""Pin distance: along the surface from the pin to the CG mark."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from optimizer.ball.figures.base import Figure, Measured, Subject
from optimizer.ball.weight_class import Ball
from shared.arrays import Array

CENTRED = 1e-6
"""cm: from a CG so near the centre, rounding the densities takes the mark anywhere."""


class _PinDistance(Figure):
    key, words, quantity = "pin_distance", "pin distance", "length"

    def measured(self, ball: Ball, _of: Subject) -> Iterator[Measured]:
        turned = _angle_slope(ball.properties.moments.J)
        yield Measured(ball.pin_distance, ball.map.radius * ball.pull(turned))


def _angle_slope(J: Array) -> Array:
    """Return the derivative (4, 4) in J of the angle between the first moments and +z.

    Zero where the CG lies on the pin axis: there the angle has no derivative, and it jumps when the
    CG passes the centre. A search must start on the right side. Zero, too, where the CG is within
    CENTRED of the centre: the slope grows beyond what a linear program takes.
    """
    x, y, z = (float(s) for s in J[:3, 3])
    level, square = float(np.hypot(x, y)), x * x + y * y + z * z
    slope = np.zeros((4, 4))
    if level > 1e-12 * abs(z) and square > (CENTRED * J[3, 3]) ** 2:
        gradient = np.array([x * z / level, y * z / level, -level]) / square
        slope[:3, 3] = slope[3, :3] = gradient / 2
    return slope


PIN_DISTANCE = _PinDistance()

"""Pin distance: along the surface from the pin to the CG mark."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar, Self

import numpy as np

from optimizer.limits.base import Limit
from optimizer.linear.maps import Ball
from optimizer.linear.rows import Margin
from shared.arrays import Array
from shared.models import Length, LengthOrZero


class PinDistance(Limit):
    """The CG mark between `min` and `max` from the pin, measured on the ball's surface."""

    key: ClassVar[str] = "pin_distance"

    min: LengthOrZero | None = None
    max: LengthOrZero | None = None
    tolerance: Length | None = None

    def margins(self, ball: Ball) -> Iterator[Margin]:
        """Yield "pin distance min" and "pin distance max", as far as they are given."""
        value = ball.pin_distance
        away = ball.map.radius * ball.pull(_angle_slope(ball.properties.moments.J[:3, 3]))
        for side, bound, sign in (("min", self.min, 1.0), ("max", self.max, -1.0)):
            if bound is None or (side, bound) == ("min", 0.0):  # a least of 0 is no limit
                continue
            yield Margin(
                weight=ball.map.label,
                limit=f"pin distance {side}",
                part=None,
                value=value,
                bound=bound,
                slack=sign * (value - bound),
                quantity="length",
                tolerance=self.tolerance,
                gradient=sign * away,
            )

    @classmethod
    def example(cls) -> Self:
        """Usual on sale (common practice, no source): 2 to 4 in."""
        return cls(min=5.08, max=10.16, tolerance=0.6)


def _angle_slope(first: Array) -> Array:
    """Return the derivative (4, 4) in J of the angle between the first moments and +z.

    Zero where the CG lies on the pin axis: there the angle has a corner, and no slope; it leaps
    when the CG passes the centre. A search must start on the right side.
    """
    x, y, z = (float(s) for s in first)
    level, square = float(np.hypot(x, y)), x * x + y * y + z * z
    slope = np.zeros((4, 4))
    if level > 1e-12 * max(abs(z), 1e-300):
        gradient = np.array([x * z / level, y * z / level, -level]) / square
        slope[:3, 3] = slope[3, :3] = gradient / 2
    return slope

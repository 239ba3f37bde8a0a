"""Pin distance: along the surface from the pin to the CG mark."""

from __future__ import annotations

from typing import ClassVar, Self

from optimizer.ball.figures import PIN_DISTANCE
from optimizer.ball.limits.base import FigureLimit
from shared.models import Length, LengthOrZero


class PinDistance(FigureLimit):
    """The CG mark between `min` and `max` from the pin, measured on the ball's surface."""

    key: ClassVar[str] = "pin_distance"
    figure = PIN_DISTANCE

    min: LengthOrZero | None = None
    max: LengthOrZero | None = None
    tolerance: Length | None = None

    @classmethod
    def example(cls) -> Self:
        """Usual on sale (common practice, no source): 2 to 4 in."""
        return cls(min=5.08, max=10.16, tolerance=0.6)

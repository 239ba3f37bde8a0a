"""A ball stretched along its axis."""

from __future__ import annotations

from typing import Literal, Self

import numpy as np

from geometry.moments import Moments
from geometry.section import Loop, ball_section
from geometry.shapes.base import TurnedShape
from geometry.shapes.sphere import HALF_CIRCLE, UNIT_BALL
from shared.arrays import Array
from shared.models import Length


class Spheroid(TurnedShape):
    """A spheroid about its centre: `diameter` at the equator, `height` along z."""

    kind: Literal["spheroid"] = "spheroid"
    diameter: Length
    height: Length

    def moments(self) -> Moments:
        """Return exact moments about the centre: the unit ball stretched."""
        r = self.diameter / 2
        return UNIT_BALL.moved(np.diag([r, r, self.height / 2, 1.0]))

    def scale(self) -> Array:
        """Return the half axes."""
        return np.array([self.diameter / 2, self.diameter / 2, self.height / 2])

    def vertices(self) -> Array:
        """Return the unit ball's half circle."""
        return HALF_CIRCLE

    def section(self, T: Array) -> tuple[Loop, ...]:
        """Return the section by the plane y = 0, an ellipse."""
        return ball_section(T @ np.diag([*self.scale(), 1.0]))

    @classmethod
    def example(cls) -> Self:
        """Return a core taller than wide."""
        return cls(diameter=8.4, height=15.5)

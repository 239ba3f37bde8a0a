"""A ball."""

from __future__ import annotations

from typing import Literal, Self

import numpy as np

from geometry.moments import Moments
from geometry.section import Loop, ball_section
from geometry.shapes.base import TurnedShape
from shared.arrays import Array, frozen
from shared.models import Length

HALF_CIRCLE = frozen([[0.0, -1.0, 1.0], [0.0, 1.0, 0.0]])
"""The unit ball's outline: an arc of half a turn from pole to pole, and back on the axis."""

UNIT_BALL = Moments.symmetric(4 * np.pi / 3, *[4 * np.pi / 15] * 3)
"""∫ r² dV = 4π/5, and a third of it along each axis."""


class Sphere(TurnedShape):
    """A ball about its centre."""

    kind: Literal["sphere"] = "sphere"
    diameter: Length

    def moments(self) -> Moments:
        """Return exact moments about the centre: the unit ball stretched."""
        r = self.diameter / 2
        return UNIT_BALL.moved(np.diag([r, r, r, 1.0]))

    def scale(self) -> Array:
        """Return the radius, three times."""
        return np.array([self.diameter / 2] * 3)

    def vertices(self) -> Array:
        """Return the unit ball's half circle."""
        return HALF_CIRCLE

    def support_points(self, directions: Array) -> Array:
        """Return the points (k, 3) farthest along unit `directions` (k, 3): a radius along each."""
        return directions * (self.diameter / 2)

    def section(self, T: Array) -> tuple[Loop, ...]:
        """Return the section by the plane y = 0, an ellipse."""
        return ball_section(T @ np.diag([*self.scale(), 1.0]))

    @classmethod
    def example(cls) -> Self:
        """Return a mantle of 19 cm."""
        return cls(diameter=19.0)

"""A ball, and shapes that are a ball stretched along its axes."""

from __future__ import annotations

from typing import ClassVar, Literal

import numpy as np

from geometry.moments import Moments
from geometry.sections.section import Loop, ball_section
from geometry.shapes.base import Shape, TurnedShape
from shared.arrays import Array, frozen
from shared.models import Length

HALF_CIRCLE = frozen([[0.0, -1.0, 1.0], [0.0, 1.0, 0.0]])
"""The unit ball's outline: a half circle from pole to pole, and back along the axis."""

UNIT_BALL = Moments.symmetric(4 * np.pi / 3, *[4 * np.pi / 15] * 3)
"""∫ r² dV = 4π/5, and a third of it along each axis."""


class StretchedBall(Shape):
    """The unit ball stretched: its `scale` are the half axes."""

    @property
    def _stretch(self) -> Array:
        return np.diag([*self.scale(), 1.0])

    def moments(self) -> Moments:
        """Return exact moments about the centre: the unit ball's, stretched."""
        return UNIT_BALL.moved(self._stretch)

    def vertices(self) -> Array:
        """Return the unit ball's half circle."""
        return HALF_CIRCLE

    def section(self, T: Array) -> tuple[Loop, ...]:
        """Return the section by the plane y = 0, an ellipse."""
        return ball_section(T @ self._stretch)


class Sphere(StretchedBall, TurnedShape):
    """A ball about its centre."""

    EXAMPLE: ClassVar = {"diameter": 19.0}  # a mantle
    kind: Literal["sphere"] = "sphere"
    diameter: Length

    def scale(self) -> Array:
        """Return the radius, three times."""
        return np.array([self.diameter / 2] * 3)

    def support_points(self, directions: Array) -> Array:
        """Return the points (k, 3) farthest along unit `directions` (k, 3)."""
        return directions * (self.diameter / 2)

"""A ball stretched along three axes."""

from __future__ import annotations

from typing import Annotated, Literal, Self

import numpy as np

from geometry.moments import Moments
from geometry.outline import Outline
from geometry.profile import Profile
from geometry.section import Loop, ball_section
from geometry.shapes.base import Shape
from geometry.shapes.sphere import HALF_CIRCLE, UNIT_BALL
from geometry.surface import Surface
from shared.arrays import Array
from shared.models import AsTuple, Length


class Ellipsoid(Shape):
    """An ellipsoid about its centre: `diameters` along x, y and z."""

    kind: Literal["ellipsoid"] = "ellipsoid"
    diameters: Annotated[tuple[Length, Length, Length], AsTuple]

    def moments(self) -> Moments:
        """Return exact moments about the centre: the unit ball stretched."""
        return UNIT_BALL.moved(np.diag([*self.scale(), 1.0]))

    def scale(self) -> Array:
        """Return the half axes."""
        return np.array(self.diameters) / 2

    def support_points(self, directions: Array) -> Array:
        """Return the points (k, 3) farthest along unit `directions` (k, 3).

        The unit ball reaches Aᵀn / |Aᵀn|, and A carries that point onto the ellipsoid.
        """
        axes = self.scale()
        seen = directions * axes
        points: Array = axes * seen / np.linalg.norm(seen, axis=1, keepdims=True)
        return points

    def surface(self) -> Surface:
        """Return the unit ball's surface, stretched."""
        ball = Surface.turned(Profile(Outline(HALF_CIRCLE)))
        return ball.moved(np.diag([*self.scale(), 1.0]))

    def clearance(self, points: Array) -> Array:
        """Return a distance (n,) that the surface is no nearer than to points (n, 3)."""
        axes = self.scale()
        return np.asarray(np.min(axes) * np.abs(np.linalg.norm(points / axes, axis=1) - 1.0))

    def section(self, T: Array) -> tuple[Loop, ...]:
        """Return the section by the plane y = 0, an ellipse."""
        return ball_section(T @ np.diag([*self.scale(), 1.0]))

    @classmethod
    def example(cls) -> Self:
        """Return a core with three different axes."""
        return cls(diameters=(8.4, 9.6, 15.2))

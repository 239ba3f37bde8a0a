"""A ball stretched along three axes."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

import numpy as np

from geometry.outlines.outline import Outline
from geometry.outlines.profile import Profile
from geometry.shapes.sphere import StretchedBall
from geometry.surfaces.surface import Surface
from shared.arrays import Array
from shared.models import AsTuple, Length


class Ellipsoid(StretchedBall):
    """An ellipsoid about its centre: `diameters` along x, y and z."""

    EXAMPLE: ClassVar = {"diameters": (8.4, 9.6, 15.2)}  # a core with three different axes
    kind: Literal["ellipsoid"] = "ellipsoid"
    diameters: Annotated[tuple[Length, Length, Length], AsTuple]

    def scale(self) -> Array:
        """Return the half axes."""
        return np.array(self.diameters) / 2

    def support_points(self, directions: Array) -> Array:
        """Return the points (k, 3) farthest along unit `directions` (k, 3).

        The unit ball reaches Aᵀn / |Aᵀn|, and A maps that point onto the ellipsoid.
        """
        axes = self.scale()
        seen = directions * axes
        return np.asarray(axes * seen / np.linalg.norm(seen, axis=1, keepdims=True))

    def surface(self) -> Surface:
        """Return the unit ball's surface, stretched."""
        return Surface.turned(Profile(Outline(self.vertices()))).moved(self._stretch)

    def clearance(self, points: Array) -> Array:
        """Return lower bounds (n,) on the surface's distance from points (n, 3)."""
        axes = self.scale()
        return np.asarray(np.min(axes) * np.abs(np.linalg.norm(points / axes, axis=1) - 1.0))

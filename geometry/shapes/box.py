"""A rectangular box."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

import numpy as np

from geometry.moments import Moments
from geometry.sections.section import Loop, convex_section
from geometry.shapes.base import Shape
from geometry.surfaces.surface import Surface
from shared.arrays import Array
from shared.models import AsTuple, Length


class Box(Shape):
    """A box about its centre: `size` along x, y and z."""

    EXAMPLE: ClassVar = {"size": (6.0, 4.5, 9.0)}  # a bar
    kind: Literal["box"] = "box"
    size: Annotated[tuple[Length, Length, Length], AsTuple]

    def moments(self) -> Moments:
        """Return exact moments about the centre: ∫ x² dV = V·size²/12 along each axis."""
        volume = float(np.prod(self.size))
        return Moments.symmetric(volume, *(volume * side**2 / 12 for side in self.size))

    def scale(self) -> Array:
        """Return the size, relative to the unit cube."""
        return np.array(self.size)

    def support_points(self, directions: Array) -> Array:
        """Return the points (k, 3) farthest along `directions` (k, 3): corners or midpoints."""
        return np.sign(directions) * self.scale() / 2

    def flats(self) -> Array:
        """Return the unit normals (6, 3) of the faces."""
        return np.vstack([np.eye(3), -np.eye(3)])

    def surface(self) -> Surface:
        """Return the six faces."""
        return Surface.box(self.size)

    def clearance(self, points: Array) -> Array:
        """Return the distance (n,) of points (n, 3) from the surface."""
        beyond = np.abs(points) - self.scale() / 2
        out = np.linalg.norm(np.maximum(beyond, 0.0), axis=1)
        return np.asarray(np.where(out > 0, out, -np.max(beyond, axis=1)))

    def section(self, T: Array) -> tuple[Loop, ...]:
        """Return the section by the plane y = 0, a polygon."""
        signs = np.stack(np.meshgrid(*[[-1.0, 1.0]] * 3), axis=-1).reshape(-1, 3)
        i, j = np.nonzero(signs @ signs.T == 1)  # corners that differ in one sign
        corners = signs * self.scale() / 2 @ T[:3, :3].T + T[:3, 3]
        return convex_section(corners, i, j)

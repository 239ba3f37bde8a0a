"""A bar whose cross section is an outline of lines and arcs."""

from __future__ import annotations

from functools import cached_property
from typing import ClassVar, Literal, Self

import numpy as np
from pydantic import model_validator

from geometry.moments import Moments
from geometry.outlines.outline import Outline, raised_moments
from geometry.sections.section import Loop, extruded_section
from geometry.shapes.base import Shape, refusal
from geometry.shapes.drawn import FlatOutline
from geometry.surfaces.face import convex, fans
from geometry.surfaces.surface import Surface
from geometry.surfaces.velocity import Path, Velocity, extruding
from shared.arrays import Array
from shared.models import Length

LEVEL = 1e-9
"""Of the outline's size: a side closer to the hull than this is part of it."""


class Extruded(Shape):
    """A bar along z: `outline` is a closed list of x, y and the bulge of the next edge.

    The last edge leads back to the first vertex. The bulge is the tangent of a quarter of the
    arc's angle, positive counter-clockwise, as in DXF polylines. The origin is the outline's own,
    at the middle of the height.
    """

    EXAMPLE: ClassVar = {  # a block with a flat, a round side and a notch
        "outline": (
            *((-3.0, -2.5), (3.5, -2.5), (3.5, 2.0, 0.4)),
            *((-1.0, 3.0), (-1.5, 0.5, -0.3), (-3.0, 0.0)),
        ),
        "height": 7.0,
    }
    kind: Literal["extruded"] = "extruded"
    outline: FlatOutline
    height: Length

    @model_validator(mode="after")
    def _cut(self) -> Self:
        """Refuse an outline whose flat faces can't be cut into fans: walls need them."""
        if fans(self._drawn) is None:
            raise refusal(
                "outline comes too close to itself, or has a corner with zero angle",
                "keep its edges apart, and blunt a corner where arcs meet without an angle",
            )
        return self

    @cached_property
    def _drawn(self) -> Outline:
        return Outline(self.vertices())

    @property
    def convex(self) -> bool:
        """Whether the bar is convex."""
        return convex(self._drawn)

    def vertices(self) -> Array:
        """Return the outline (n, 3) as drawn."""
        return np.array(self.outline)

    def scale(self) -> Array:
        """Return the height along z, relative to the unit body."""
        return np.array([1.0, 1.0, self.height])

    def velocity(self, path: Path) -> Velocity:
        """Return the velocity of the surface while the length at `path` grows."""
        rates = self._rates(lambda shape: shape.vertices(), path)
        if not np.any(rates):
            return super().velocity(path)
        return extruding(self.vertices(), rates, self.height)

    def moments(self) -> Moments:
        """Return exact moments about the outline's origin, at the middle of the height."""
        return Moments(raised_moments(self._drawn.area_moments(), self.height))

    def support_points(self, directions: Array) -> Array:
        """Return the points (k, 3) farthest along `directions` (k, 3): ends or midpoints."""
        reached = self._drawn.support_points(directions[:, :2])
        return np.column_stack([reached, np.sign(directions[:, 2]) * self.height / 2])

    def flats(self) -> Array:
        """Return the unit normals (k, 3) of both ends, and of the straight sides on the hull."""
        outline = self._drawn
        lines = outline.edges[outline.edges.angle == 0]
        out = -1j * lines.chord / np.abs(lines.chord)
        sides = np.column_stack([out.real, out.imag])
        highest = np.sum(outline.support_points(sides) * sides, axis=1)
        on_hull = highest - (np.conj(out) * lines.start).real <= LEVEL * outline.size
        ends = np.array([[0.0, 0.0, 1.0], [0.0, 0.0, -1.0]])
        return np.vstack([ends, np.insert(sides[on_hull], 2, 0.0, axis=1)])

    def surface(self) -> Surface:
        """Return the sides, and the ends in fans."""
        return Surface.extruded(self._drawn, self.height)

    def clearance(self, points: Array) -> Array:
        """Return the distance (n,) of points (n, 3) from the surface."""
        aside = self._drawn.distance(points[:, :2])
        aside = np.where(self._drawn.contains(points[:, :2]), -aside, aside)
        beyond = np.abs(points[:, 2]) - self.height / 2
        out = np.hypot(np.maximum(aside, 0.0), np.maximum(beyond, 0.0))
        return np.asarray(np.where(out > 0, out, -np.maximum(aside, beyond)))

    def section(self, T: Array) -> tuple[Loop, ...]:
        """Return the section by the plane y = 0, exact."""
        return extruded_section(self._drawn, self.height, T)

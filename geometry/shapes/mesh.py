"""A solid from a file: its surface is triangles, exactly as they are, or a CAD model's faces."""

from __future__ import annotations

from functools import lru_cache
from typing import Annotated, Any, Literal, Self

import numpy as np
from pydantic import (
    BeforeValidator,
    InstanceOf,
    PlainSerializer,
    ValidationInfo,
    WithJsonSchema,
)

from geometry.mesh.solid import Solid, triangle_section
from geometry.mesh.sound import solid
from geometry.mesh.within import distance
from geometry.moments import Moments
from geometry.sections.section import Loop
from geometry.shapes.base import Shape, refusal
from geometry.surfaces.surface import Surface
from shared import activity
from shared.arrays import Array, frozen
from shared.errors import FileError
from shared.models import Reading
from shared.units import SAYING, LengthName

_read = lru_cache(maxsize=16)(solid)


def _loaded(value: Any, info: ValidationInfo) -> Any:
    """Return the solid in the file of that name; a solid unchanged."""
    if not isinstance(value, str):
        return value
    unit = info.data.get("unit")
    if unit is None:
        raise refusal("can't be read without its unit", f"say {SAYING}")
    activity.at(f'file "{value}" being read')
    try:
        return _read(value, Reading.of(info).files(value), unit)
    except FileError as error:
        raise refusal(f'"{value}" {error.what}', error.instead) from error


TriangleFile = Annotated[
    InstanceOf[Solid],
    BeforeValidator(_loaded),
    PlainSerializer(lambda value: value.name, return_type=str),
    WithJsonSchema({"type": "string", "description": "a file: STL, OBJ, PLY, 3MF or STEP"}),
]
"""The name of a file in a text; once read, the solid in it."""


class Mesh(Shape):
    """A solid from a file, in `unit`. The origin is the file's own."""

    kind: Literal["mesh"] = "mesh"
    unit: LengthName
    """the unit of the file"""
    file: TriangleFile
    """a file of triangles: STL, OBJ, PLY or 3MF; or of a solid: STEP"""

    @property
    def convex(self) -> bool:
        """Whether the solid is convex, up to rounding."""
        return self.file.convex

    @property
    def faceted(self) -> bool:
        """Whether a wall search must cover many small faces: always."""
        return True

    @property
    def skin(self) -> float:
        """How far the triangles may be from the solid, cm: 0 if they define it."""
        return self.file.skin

    def moments(self) -> Moments:
        """Return the exact moments of the solid within the triangles, or of the CAD model."""
        return self.file.moments

    def missed(self) -> Moments:
        """Return the estimated moments that the triangles miss of a smooth surface."""
        return self.file.missed

    def support_points(self, directions: Array) -> Array:
        """Return the vertices (k, 3) farthest along unit `directions` (k, 3)."""
        return self.file.support_points(directions)

    def flats(self) -> Array:
        """Return the unit normals (k, 3) of the large flat faces of the hull."""
        return self.file.flats

    def surface(self) -> Surface:
        """Return the triangles."""
        return self.file.surface()

    def clearance(self, points: Array) -> Array:
        """Return the distance (n,) of points (n, 3) from the triangles, less their error."""
        return np.maximum(distance(points, self.file.corners) - self.skin, 0.0)

    def section(self, T: Array) -> tuple[Loop, ...]:
        """Return the section by the plane y = 0: closed lines through the triangles."""
        return triangle_section(self.file, T)

    @classmethod
    def example(cls) -> Self:
        """Return a block with a waist, of rectangles: 5 × 4 below, 3 × 2.5 midway, 4 × 5 above."""
        levels = ((2.5, 2.0, -3.5), (1.5, 1.25, 0.0), (2.0, 2.5, 3.0))
        way = ((-1, -1), (1, -1), (1, 1), (-1, 1))
        corners = [(u * x, v * y, z) for x, y, z in levels for u, v in way]
        sides = [(k, (k + 1) % 4 + k // 4 * 4) for k in range(8)]
        rectangles = [(0, 3, 2, 1), (8, 9, 10, 11), *((a, b, b + 4, a + 4) for a, b in sides)]
        faces = [face for a, b, c, d in rectangles for face in ((a, b, c), (a, c, d))]
        block = Solid("block.stl", frozen(corners), np.array(faces))
        return cls(unit="mm", file=block)

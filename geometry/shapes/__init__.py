"""Shapes, one file each. To add one: its file, and its name in `AnyShape`.

`base` is the contract: a shape draws itself (`vertices`, `scale`), from which surfaces, sections
and derivatives follow; its fields are the scenario's grammar. `drawn` checks outlines, and only
`dxf` reads DXF.
"""

from __future__ import annotations

from typing import Annotated, Final, get_args

from pydantic import Field

from geometry.shapes.base import Shape, TurnedShape
from geometry.shapes.box import Box
from geometry.shapes.capsule import Capsule
from geometry.shapes.cone import Cone
from geometry.shapes.cylinder import Cylinder
from geometry.shapes.dome import Dome
from geometry.shapes.ellipsoid import Ellipsoid
from geometry.shapes.extruded import Extruded
from geometry.shapes.mesh import Mesh
from geometry.shapes.revolved import Revolved
from geometry.shapes.ring import Ring
from geometry.shapes.sphere import Sphere
from geometry.shapes.spheroid import Spheroid

__all__ = ["SHAPES", "AnyShape", "Shape", "TurnedShape"]

AnyShape = Annotated[
    Sphere
    | Spheroid
    | Ellipsoid
    | Cylinder
    | Cone
    | Capsule
    | Dome
    | Ring
    | Box
    | Revolved
    | Extruded
    | Mesh,
    Field(discriminator="kind"),
]
"""Any shape, distinguished by its `kind`."""

SHAPES: Final[tuple[type[Shape], ...]] = get_args(get_args(AnyShape)[0])
"""Every shape, in the union's order."""

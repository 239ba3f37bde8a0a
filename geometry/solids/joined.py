"""A part of several solids, joined and cut, as one shape."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import Annotated, Any, ClassVar, Literal, Self

import numpy as np
from pydantic import (
    Field,
    GetJsonSchemaHandler,
    SerializerFunctionWrapHandler,
    model_serializer,
    model_validator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from geometry.moments import Moments
from geometry.outlines.profile import Profile
from geometry.parts import SEVERAL, Part
from geometry.placement import Placement
from geometry.sections.section import Loop, overlapping_section
from geometry.shapes import AnyShape, Shape
from geometry.solids.compound import Compound
from geometry.surfaces.surface import Surface
from geometry.surfaces.velocity import Path, Velocity
from geometry.walls.common_axis import turned
from shared.arrays import Array
from shared.models import Angle, AsTuple, Coordinate, Factor, StrictModel

BESIDE = (0.0, 1e-7, -1e-7, 3e-6)
"""cm. The distances beside the plane at which a section is tried."""
PLACE = ("at", "rotate", "stretch")
STEP = 1e-3
"""cm. The step of a central difference of moments, with a relative error of about 1e-7: the least
that their own error of 1e-9 allows."""
ON_SURFACE = 1e-6
"""cm. A point closer to a solid's surface than this is on it."""


class Solid(StrictModel):
    """One of a part's solids: a shape, and its placement in the part's own axes."""

    shape: AnyShape
    at: Annotated[tuple[Coordinate, Coordinate, Coordinate], AsTuple] = (0.0, 0.0, 0.0)
    """[x, y, z] of the solid's origin from the part's"""
    rotate: Annotated[tuple[Angle, Angle, Angle], AsTuple] = (0.0, 0.0, 0.0)
    """degrees about the fixed x, then y, then z axis"""
    stretch: Annotated[tuple[Factor, Factor, Factor], AsTuple] = (1.0, 1.0, 1.0)
    """factors along the shape's own axes, before it is rotated"""

    @model_validator(mode="before")
    @classmethod
    def _apart(cls, value: Any) -> Any:
        """Separate the shape's keys from the placement's."""
        if not isinstance(value, dict):
            return value
        shape = {key: entry for key, entry in value.items() if key not in PLACE}
        return {"shape": shape, **{key: value[key] for key in PLACE if key in value}}

    @model_serializer(mode="wrap")
    def _as_one(self, write: SerializerFunctionWrapHandler) -> Any:
        """Write it as one table, without a placement that has no effect."""
        written = write(self)
        plain = Placement()
        place = {k: written[k] for k in PLACE if getattr(self, k) != getattr(plain, k)}
        return {**written["shape"], **place}

    @classmethod
    def __get_pydantic_json_schema__(
        cls, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        """Return the schema in which each kind of shape may have a placement."""
        own = handler.resolve_ref_schema(super().__get_pydantic_json_schema__(core, handler))
        place = {key: own["properties"][key] for key in PLACE}
        kinds = map(handler.resolve_ref_schema, own["properties"]["shape"]["oneOf"])
        both = [{**kind, "properties": {**kind["properties"], **place}} for kind in kinds]
        return {"description": own["description"], "oneOf": both}

    @property
    def part(self) -> Part:
        """The solid as a part, in the axes of the part it belongs to."""
        return Part("", None, self.shape, Placement(self.at, self.rotate, self.stretch))


class Joined(Shape):
    """A union of solids, from which others are cut."""

    EXAMPLE: ClassVar = {  # a core with a flange, milled flat on one side, and a pocket
        "shapes": [
            {"kind": "capsule", "diameter": 6.0, "height": 13.0},
            {"kind": "cylinder", "diameter": 9.0, "height": 3.0, "at": (0.0, 0.0, 1.0)},
        ],
        "minus": [
            {"kind": "box", "size": (4.0, 12.0, 12.0), "at": (5.5, 0.0, 0.0)},
            {"kind": "sphere", "diameter": 1.5, "at": (0.0, 0.0, -4.0)},
        ],
    }
    kind: Literal["joined"] = "joined"
    shapes: Annotated[tuple[Solid, ...], AsTuple, Field(min_length=1)]
    minus: Annotated[tuple[Solid, ...], AsTuple] = ()

    @cached_property
    def compound(self) -> Compound:
        """The union and difference of the solids."""
        return Compound(*(tuple(s.part for s in solids) for solids in (self.shapes, self.minus)))

    @property
    def _single(self) -> Part | None:
        """Its only body, if it has just one and no holes."""
        bodies = self.compound.bodies
        return bodies[0] if len(bodies) == 1 and not self.compound.holes else None

    @property
    def convex(self) -> bool:
        """Whether it is one convex body."""
        return self._single is not None and self._single.convex

    def bodies(self) -> tuple[Part, ...]:
        """Return the solids whose union it is, before more is cut."""
        return self.compound.bodies

    def holes(self) -> tuple[Part, ...]:
        """Return the solids that are cut from its bodies."""
        return self.compound.holes

    def moments(self) -> Moments:
        """Return moments about the part's own origin, up to the compound's error."""
        return self.compound.moments

    def moments_by_surface(self, T: Array) -> Moments:
        """Return moments after the affine map `T` (4, 4) by quadrature over surfaces alone.

        Solids that cross without a common axis are always measured so: there is no other way.
        """
        return self.compound.measured(Part.moments_by_surface).moved(T)

    def lengths(self) -> tuple[Path, ...]:
        """Return the paths of the lengths of the solids, and of their placements."""
        return tuple(
            (key, i, *(path[1:] if path[0] == "shape" else path))
            for key in SEVERAL
            for i, solid in enumerate(getattr(self, key))
            for path in solid.part.dimensions()
        )

    def velocity(self, path: Path) -> Velocity:
        """Return the velocity of the surface while the length at `path` grows.

        It is that of one solid; the rate of the moments is a central difference. Raises ValueError
        as `Shape.velocity` does.
        """
        if path not in self.lengths():
            raise ValueError(f"a part of several solids has no length {path}")
        key, i, *rest = path
        solid = getattr(self, str(key))[i].part
        own = solid.velocity(tuple(rest) if rest[0] == "at" else ("shape", *rest))

        def at(points: Array) -> Array:
            return np.where(solid.clearance(points)[:, None] <= ON_SURFACE, own.at(points), 0.0)

        def gained() -> Array:
            longer, shorter = (self._changed(path, way * STEP).moments().J for way in (1, -1))
            return np.asarray((longer - shorter) / (2 * STEP))

        return Velocity(at, gained)

    def _changed(self, path: Path, by: float) -> Self:
        """Return the part with the length at `path` longer."""
        written = self.model_dump(mode="json")
        key, i, *rest = path
        place: Any = written[str(key)][i]
        place.setdefault("at", [0.0, 0.0, 0.0])
        for inner in rest[:-1]:
            place = place[inner]
        place[rest[-1]] += by
        return self.model_validate(written)

    def support_points(self, directions: Array) -> Array:
        """Return the points (k, 3) farthest along unit `directions` (k, 3), before cuts."""
        reached = np.stack([body.support_points(directions) for body in self.compound.bodies])
        best = np.argmax(np.einsum("bki,ki->bk", reached, directions), axis=0)
        return np.asarray(reached[best, np.arange(len(directions))])

    def flats(self) -> Array:
        """Return the unit normals (k, 3) of the flat faces of its bodies."""
        return np.vstack([body.flats for body in self.compound.bodies])

    def profile(self) -> Profile | None:
        """Return the outline of a single body turned about the part's z, else None."""
        body = None if self._single is None else turned(self._single)
        return body and body.on(np.zeros(3), np.array([0.0, 0.0, 1.0]))

    def surface(self) -> Surface:
        """Return the surfaces of all its solids, which contain its own."""
        solids = (*self.compound.bodies, *self.compound.holes)
        return Surface.together([solid.surface for solid in solids], self.compound.inside)

    def section(self, T: Array) -> tuple[Loop, ...]:
        """Return the section by the plane y = 0 after the affine map `T` (4, 4).

        If its edges run too close to be told apart, by a plane slightly beside it; the error is the
        distance at which a surface with the solid's curvature leaves the plane.
        """
        for aside in BESIDE:
            beside = T.copy()
            beside[1, 3] += aside
            plus, minus = (
                [solid.shape.section(beside @ solid.matrix) for solid in solids]
                for solids in (self.compound.bodies, self.compound.holes)
            )
            try:
                loops = plus[0] if self._single is not None else overlapping_section(plus, minus)
            except ArithmeticError:
                continue
            reach = 2.0 * float(np.max(np.abs(self.support_points(np.eye(3)))))
            error = float(np.sqrt(reach * abs(aside)))
            return tuple(replace(loop, error=max(loop.error, error)) for loop in loops)
        raise ArithmeticError("a section's edges run too close to each other")

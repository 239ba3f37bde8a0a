"""A solid turned from an outline of lines and arcs."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

import numpy as np
from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    SerializerFunctionWrapHandler,
    ValidationInfo,
    WithJsonSchema,
    WrapSerializer,
)

from geometry.faults import Fault, faults
from geometry.moments import Moments
from geometry.shapes.base import TurnedShape, as_written, refusal
from geometry.velocity import Path
from shared.arrays import Array
from shared.models import AsTuple, Coordinate

Bulge = Annotated[float, Field(ge=-10, le=10)]
"""The tangent of a quarter of an arc's angle; at 10 all but 23° of the circle is there."""


def _with_bulge(value: Any) -> Any:
    """Return a vertex with its bulge, 0 when none is written."""
    if not isinstance(value, list | tuple):
        return value  # pydantic's own strict check says what is wrong
    if len(value) not in {2, 3}:
        raise refusal(
            f"a vertex has 2 or 3 numbers ({len(value)})", "write [r, z] or [r, z, bulge]"
        )
    return (*value, 0.0) if len(value) == 2 else tuple(value)


def _without_bulge(value: Any, write: SerializerFunctionWrapHandler) -> list[Any]:
    """Return a vertex as it would be written: no bulge when it is 0."""
    written = list(write(value))
    return written if written[2] else written[:2]


def _sound(outline: tuple[Vertex, ...], info: ValidationInfo) -> tuple[Vertex, ...]:
    """Return the outline, or refuse it with the first of its faults."""
    found = faults(np.array(outline), axis=True)
    if found:
        raise _refused(found[0], len(outline), info)
    return outline


def _refused(fault: Fault, count: int, info: ValidationInfo) -> Exception:
    """Return the error for a fault: vertices counted from 1, the place in the text's unit."""
    r, z = (as_written(x, info) for x in fault.point)
    return refusal(
        fault.says(count) + (f" near ({r}, {z})" if fault.vertices else ""), fault.instead
    )


_COORDINATE = {"anyOf": [{"type": "number"}, {"type": "string"}]}

Vertex = Annotated[
    tuple[Coordinate, Coordinate, Bulge],
    BeforeValidator(_with_bulge),
    WrapSerializer(_without_bulge),
    WithJsonSchema(
        {
            "type": "array",
            "description": "[r, z] or [r, z, bulge of the edge that leaves here]",
            "prefixItems": [_COORDINATE, _COORDINATE, {"type": "number"}],
            "minItems": 2,
            "maxItems": 3,
        }
    ),
]


class Revolved(TurnedShape):
    """A solid turned about z: `outline` is a closed list of r, z and the bulge of the edge after.

    The last edge leads back to the first vertex. The bulge is the tangent of a quarter of the
    arc's angle, positive counter-clockwise, as in DXF polylines. A solid body runs along the axis,
    r = 0, for a stretch; one that stays away from it has a bore.
    """

    kind: Literal["revolved"] = "revolved"
    outline: Annotated[tuple[Vertex, ...], AsTuple, AfterValidator(_sound)]

    @property
    def convex(self) -> bool:
        """Whether the turned solid is convex."""
        return self.profile().convex

    def lengths(self) -> tuple[Path, ...]:
        """Return where r and z of each vertex stand; a bulge is no length."""
        return tuple(("outline", i, k) for i in range(len(self.outline)) for k in (0, 1))

    def moments(self) -> Moments:
        """Return exact moments about the outline's own origin."""
        return self.profile().turned()

    def vertices(self) -> Array:
        """Return the outline as drawn."""
        return np.array(self.outline)

    @classmethod
    def example(cls) -> Self:
        """Return a block with a waist and a round top."""
        outline = ((0.0, -6.0), (4.0, -6.0), (2.5, 0.0), (4.0, 5.0, 0.35), (0.0, 7.5))
        return cls.model_validate({"outline": outline})

"""Outlines as they are written: vertices with bulges, checked for faults, in any unit.

The last edge leads back to the first vertex. A bulge is the tangent of a quarter of its arc's
angle, positive counter-clockwise, as in DXF polylines.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Annotated, Any, TypeAlias

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

from geometry.faults import faults
from geometry.shapes.base import as_written, refusal
from geometry.velocity import Path
from shared.models import AsTuple, Coordinate

Bulge = Annotated[float, Field(ge=-10, le=10)]
"""The tangent of a quarter of an arc's angle; at 10 all but 23° of the circle is there."""
Corner: TypeAlias = tuple[float, float, float]
"""A vertex, cm, and the bulge of the edge that leaves it."""

_COORDINATE = {"anyOf": [{"type": "number"}, {"type": "string"}]}


def _vertex(names: str) -> tuple[Any, ...]:
    """Return what makes three numbers a vertex whose coordinates are called `names`."""

    def with_bulge(value: Any) -> Any:
        """Return a vertex with its bulge, 0 when none is written."""
        if not isinstance(value, list | tuple):
            return value  # pydantic's own strict check says what is wrong
        if len(value) not in {2, 3}:
            raise refusal(
                f"a vertex has 2 or 3 numbers ({len(value)})",
                f"write [{names}] or [{names}, bulge]",
            )
        return (*value, 0.0) if len(value) == 2 else tuple(value)

    def without_bulge(value: Any, write: SerializerFunctionWrapHandler) -> list[Any]:
        """Return a vertex as it would be written: no bulge when it is 0."""
        written = list(write(value))
        return written if written[2] else written[:2]

    schema = {
        "type": "array",
        "description": f"[{names}] or [{names}, bulge of the edge that leaves here]",
        "prefixItems": [_COORDINATE, _COORDINATE, {"type": "number"}],
        "minItems": 2,
        "maxItems": 3,
    }
    return BeforeValidator(with_bulge), WrapSerializer(without_bulge), WithJsonSchema(schema)


def _sound(*, axis: bool) -> Callable[[Any, ValidationInfo], Any]:
    """Return the check of an outline; with `axis` it is one in r and z, r never negative."""

    def check(outline: tuple[Corner, ...], info: ValidationInfo) -> tuple[Corner, ...]:
        """Return the outline, or refuse it with the first of its faults.

        Vertices are counted from 1 and the place is in the text's unit.
        """
        for fault in faults(np.array(outline), axis=axis):
            x, y = (as_written(round(coordinate, 12) + 0.0, info) for coordinate in fault.point)
            near = f" near ({x}, {y})" if fault.vertices else ""
            raise refusal(fault.says(len(outline)) + near, fault.instead)
        return outline

    return check


_InHalfPlane = Annotated[tuple[Coordinate, Coordinate, Bulge], *_vertex("r, z")]
_InPlane = Annotated[tuple[Coordinate, Coordinate, Bulge], *_vertex("x, y")]

TurnedOutline = Annotated[tuple[_InHalfPlane, ...], AsTuple, AfterValidator(_sound(axis=True))]
"""A closed outline in r and z, which doesn't cross the axis."""
FlatOutline = Annotated[tuple[_InPlane, ...], AsTuple, AfterValidator(_sound(axis=False))]
"""A closed outline in x and y."""


def coordinates(outline: Sequence[Corner]) -> tuple[Path, ...]:
    """Return where both coordinates of each vertex stand in a shape; a bulge is no length."""
    return tuple(("outline", i, k) for i in range(len(outline)) for k in (0, 1))

"""Outlines as written, or drawn in a file: vertices with bulges, checked for faults.

The last edge leads back to the first vertex. A bulge is the tangent of a quarter of its arc's
angle, positive counter-clockwise, as in DXF polylines.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Annotated, Any, TypeAlias

import numpy as np
from pydantic import (
    BeforeValidator,
    Field,
    SerializerFunctionWrapHandler,
    ValidationInfo,
    ValidatorFunctionWrapHandler,
    WithJsonSchema,
    WrapSerializer,
    WrapValidator,
)

from geometry.outlines.faults import faults
from geometry.shapes.base import as_written, refusal
from geometry.shapes.dxf import dxf_outline
from shared.errors import FileError
from shared.models import HUGE, AsTuple, Coordinate, Reading, StrictModel
from shared.units import LengthName

Bulge = Annotated[float, Field(ge=-10, le=10)]
"""The tangent of a quarter of an arc's angle; at 10 the arc lacks 23° of a circle."""
Corner: TypeAlias = tuple[float, float, float]
"""A vertex, cm, and the bulge of the edge that leaves it."""

_COORDINATE = {"anyOf": [{"type": "number"}, {"type": "string"}]}


def _vertex(names: str) -> tuple[Any, ...]:
    """Return the validators of a vertex whose coordinates are called `names`."""

    def with_bulge(value: Any) -> Any:
        """Return a vertex with its bulge, 0 if none is written."""
        if not isinstance(value, list | tuple):
            return value  # pydantic's strict check reports it
        if len(value) not in {2, 3}:
            instead = f"write [{names}] or [{names}, bulge]"
            raise refusal(f"a vertex has 2 or 3 numbers ({len(value)})", instead)
        return (*value, 0.0) if len(value) == 2 else tuple(value)

    def without_bulge(value: Any, write: SerializerFunctionWrapHandler) -> list[Any]:
        """Return a vertex as it is written, without a bulge of 0."""
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


class OutlineFile(StrictModel):
    """An outline from a drawing."""

    file: Annotated[str, Field(min_length=1)]
    """the drawing, a DXF file, by its name from the scenario's folder, such as "block.dxf\""""
    layer: Annotated[str, Field(min_length=1)] | None = None
    """the layer of the outline; left out: nothing else is drawn"""
    unit: LengthName | None = None
    """the drawing's unit, if the drawing doesn't give one"""

    @property
    def called(self) -> str:
        """Its name in errors."""
        layer = "" if self.layer is None else f', layer "{self.layer}"'
        return f'file "{self.file}"{layer}'


def _drawn(*, axis: bool) -> Callable[..., Any]:
    """Return a validator that reads and checks an outline; with `axis`, in r and z with r ≥ 0."""

    def read(
        value: Any, written: ValidatorFunctionWrapHandler, info: ValidationInfo
    ) -> tuple[Corner, ...]:
        """Return the outline as written, or as drawn in the named file."""
        if isinstance(value, str):
            value = {"file": value}
        if not isinstance(value, Mapping):
            return _sound(written(value), info, axis=axis)
        named = OutlineFile.model_validate(value)
        try:
            corners = _from_file(named, info, axis=axis)
        except FileError as error:
            raise refusal(f"{named.called} {error.what}", error.instead) from None
        return _sound(corners, info, axis=axis, called=f"{named.called}: ")

    return read


def _from_file(named: OutlineFile, info: ValidationInfo, *, axis: bool) -> tuple[Corner, ...]:
    """Return the outline drawn in a file, cm. Raises FileError."""
    content = Reading.of(info).files(named.file)
    vertices = dxf_outline(content, named.layer, named.unit, axis=axis)
    reach = np.max(np.abs(vertices[:, :2]))
    if reach > HUGE:
        what = f"reaches {reach:.4g} cm from its origin"
        raise FileError(what, "is it drawn in the unit that it gives?")
    return tuple((x, y, bulge) for x, y, bulge in vertices.tolist())


def _sound(
    outline: tuple[Corner, ...], info: ValidationInfo, *, axis: bool, called: str = ""
) -> tuple[Corner, ...]:
    """Return the outline, or report its first fault: vertices from 1, in the text's unit."""
    for fault in faults(np.array(outline), axis=axis):
        x, y = (as_written(round(coordinate, 12) + 0.0, info) for coordinate in fault.point)
        near = f" near ({x}, {y})" if fault.vertices else ""
        raise refusal(called + fault.says(len(outline)) + near, fault.instead)
    return outline


_InHalfPlane = Annotated[tuple[Coordinate, Coordinate, Bulge], *_vertex("r, z")]
_InPlane = Annotated[tuple[Coordinate, Coordinate, Bulge], *_vertex("x, y")]

TurnedOutline = Annotated[
    tuple[_InHalfPlane, ...],
    AsTuple,
    WrapValidator(
        _drawn(axis=True), json_schema_input_type=tuple[_InHalfPlane, ...] | str | OutlineFile
    ),
]
"""A closed outline in r and z that doesn't cross the axis, or the file that it is drawn in."""
FlatOutline = Annotated[
    tuple[_InPlane, ...],
    AsTuple,
    WrapValidator(
        _drawn(axis=False), json_schema_input_type=tuple[_InPlane, ...] | str | OutlineFile
    ),
]
"""A closed outline in x and y, or the file that it is drawn in."""

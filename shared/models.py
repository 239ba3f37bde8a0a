"""The strict base of every model that a person's text enters, and the quantities in its fields.

A quantity is written in the text's own unit and held in ours (cm, g, g/cm³). The `Reading` that is
handed to pydantic as the validation context says how: validate with
`Model.model_validate(text, context=reading)`, write back with
`model.model_dump(context=reading)`. Without a reading the text is taken to be in our units. A
length may also be the name of a dimension; the reading knows its value.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, TypeAlias, TypeVar

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainSerializer,
    SerializationInfo,
    ValidationInfo,
    WithJsonSchema,
)
from pydantic_core import PydanticCustomError

Path: TypeAlias = tuple[str | int, ...]
"""The way to a value in a text, such as ("parts", 2, "shape", "height")."""

HUGE = 100.0
"""cm. A length beyond it is a slip of the unit, not a ball's."""


class StrictModel(BaseModel):
    """A frozen model: no unknown keys, no coercion, no inf or nan."""

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        strict=True,
        allow_inf_nan=False,
        use_attribute_docstrings=True,  # they are what the schema and the errors say of a key
    )


def _no_files(name: str) -> bytes:
    told = {"what": f'file "{name}" can\'t be had here', "instead": "read it with a scenario"}
    raise PydanticCustomError("file", "{what}; {instead}", told)


@dataclass(frozen=True)
class Reading:
    """How a text's numbers become ours: cm, g or g/cm³ in one unit of the text, and named lengths.

    `named` maps the name of a dimension to its value in the text's unit of length; `files` returns
    the content of a file that the text names, and raises PydanticCustomError where it has none, so
    that a validator need not.
    """

    length: float = 1.0
    weight: float = 1.0
    density: float = 1.0
    rg: float = 1.0
    named: Mapping[str, float] = field(default_factory=dict)
    files: Callable[[str], bytes] = _no_files


def closest(wrong: str, known: Iterable[str]) -> list[str]:
    """Return the known word closest to `wrong`, in a list; an empty one when none is close."""
    return difflib.get_close_matches(wrong, list(known), n=1)


def suggestion(wrong: str, known: Iterable[str]) -> str:
    """Return `did you mean "…"?` for the known word closest to `wrong`, else what is known."""
    words = list(known)
    close = closest(wrong, words)
    if close:
        return f'did you mean "{close[0]}"?'
    return "known: " + ", ".join(f'"{word}"' for word in words) if words else "none is defined"


def _inward(unit: str) -> Callable[[Any, ValidationInfo], Any]:
    def convert(value: Any, info: ValidationInfo) -> Any:
        reading = info.context if isinstance(info.context, Reading) else Reading()
        if isinstance(value, str) and unit == "length":
            if value not in reading.named:
                raise PydanticCustomError(
                    "unknown_dimension",
                    "is not a number and not a name in [dimensions]; {instead}",
                    {"instead": suggestion(value, reading.named)},
                )
            value = reading.named[value]
        if isinstance(value, bool) or not isinstance(value, int | float):
            return value  # pydantic's own strict check says what is wrong
        try:
            return value * float(getattr(reading, unit))
        except OverflowError:  # an integer of more than 308 digits
            return float("inf")

    return convert


def _outward(unit: str) -> Callable[[float, SerializationInfo], float]:
    def convert(value: float, info: SerializationInfo) -> float:
        reading = info.context if isinstance(info.context, Reading) else Reading()
        return float(f"{value / float(getattr(reading, unit)):.12g}")

    return convert


def _quantity(unit: str, schema: Mapping[str, Any]) -> tuple[Any, ...]:
    return (
        BeforeValidator(_inward(unit)),
        PlainSerializer(_outward(unit)),
        WithJsonSchema(dict(schema)),
    )


def _number(**bounds: float) -> dict[str, Any]:
    return {"type": "number", **bounds}


def _or_name(number: dict[str, Any]) -> dict[str, Any]:
    return {"anyOf": [number, {"type": "string", "description": "the name of a dimension"}]}


Length = Annotated[
    float, Field(gt=0, le=HUGE), *_quantity("length", _or_name(_number(exclusiveMinimum=0)))
]
"""A length of a part: positive, cm inside."""
LengthOrZero = Annotated[
    float, Field(ge=0, le=HUGE), *_quantity("length", _or_name(_number(minimum=0)))
]
"""A length that may vanish, such as the top of a full cone; cm inside."""
Coordinate = Annotated[float, Field(ge=-HUGE, le=HUGE), *_quantity("length", _or_name(_number()))]
"""A position, of either sign; cm inside."""
RadiusOfGyration = Annotated[
    float, Field(gt=0, le=HUGE), *_quantity("rg", _number(exclusiveMinimum=0))
]
"""A radius of gyration; cm inside."""
RadiusDifference = Annotated[float, Field(ge=0, le=HUGE), *_quantity("rg", _number(minimum=0))]
"""A difference of two radii of gyration, or a tolerance of one; cm inside."""
Mass = Annotated[float, Field(gt=0, le=1e6), *_quantity("weight", _number(exclusiveMinimum=0))]
"""A weight as the trade says it, a mass in physics; g inside."""
Density = Annotated[float, Field(gt=0, le=25), *_quantity("density", _number(exclusiveMinimum=0))]
"""g/cm³ inside; above 25 no solid exists at room conditions (osmium: 22.6)."""
POURABLE = (0.05, 25.0)
"""g/cm³, the least and the most that a density to pour may be."""
PourDensity = Annotated[
    float,
    Field(ge=POURABLE[0], le=POURABLE[1]),
    *_quantity("density", _number(exclusiveMinimum=0)),
]
"""A density to pour, g/cm³ inside; below 0.05 it is a slip of the unit, not a casting."""
RadiusTolerance = Annotated[
    float, Field(gt=0, le=HUGE), *_quantity("rg", _number(exclusiveMinimum=0))
]
"""A tolerance of a radius of gyration or of a difference of two; cm inside."""

T = TypeVar("T")


Factor = Annotated[float, Field(ge=0.01, le=100)]
"""A factor that a shape is stretched by."""
Angle = Annotated[float, Field(ge=-360, le=360)]
"""Degrees."""


def _as_tuple(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


AsTuple = BeforeValidator(_as_tuple)
"""Lets a TOML list stand for a tuple: `Annotated[tuple[Length, Length], AsTuple]`."""

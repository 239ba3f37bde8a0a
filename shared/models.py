"""The strict base of every model that reads a user's text, and the quantities in its fields.

A quantity is written in the text's own unit and held in ours (cm, g, g/cm³). A `Reading`, passed to
pydantic as the validation context, holds the factors: read with
`Model.model_validate(text, context=reading)`, write with `model.model_dump(context=reading)`.
Without a reading, the text is in our units. A length may also be the name of a dimension, whose
value the reading has.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, Final, TypeAlias

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    GetJsonSchemaHandler,
    PlainSerializer,
    SerializationInfo,
    ValidationInfo,
    WithJsonSchema,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError

from shared.descriptions import descriptions

Path: TypeAlias = tuple[str | int, ...]
"""Where a value is in a text, such as ("parts", 2, "shape", "height")."""

HUGE = 100.0
"""cm. A longer length has the wrong unit: no ball is so large."""


class StrictModel(BaseModel):
    """A frozen model: no unknown keys, no coercion, no inf or nan.

    In the schema and in errors, the docstring below a field describes its key.
    """

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        strict=True,
        allow_inf_nan=False,
    )

    @classmethod
    def __get_pydantic_json_schema__(
        cls, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        """Return the schema, its keys described."""
        schema = handler(core)
        keys = handler.resolve_ref_schema(schema).get("properties", {})
        for name, text in descriptions(cls).items():
            keys[cls.model_fields[name].alias or name]["description"] = text
        return schema


def _no_files(name: str) -> bytes:
    words = {"what": f'file "{name}" can\'t be had here', "instead": "read it with a scenario"}
    raise PydanticCustomError("file", "{what}; {instead}", words)


@dataclass(frozen=True)
class Reading:
    """The size of each of a text's units in ours (cm, g, g/cm³), and what its names stand for.

    `named` maps the name of a dimension to its value in the text's unit of length. `files` returns
    the content of a file that the text names, or raises PydanticCustomError.
    """

    length: float = 1.0
    weight: float = 1.0
    density: float = 1.0
    rg: float = 1.0
    named: Mapping[str, float] = field(default_factory=dict)
    files: Callable[[str], bytes] = _no_files

    @classmethod
    def of(cls, info: ValidationInfo | SerializationInfo) -> Reading:
        """Return the reading that is the context of `info`; our own units if there is none."""
        return info.context if isinstance(info.context, Reading) else cls()


def closest(wrong: str, known: Iterable[str]) -> list[str]:
    """Return a list with the known word closest to `wrong`, empty if none is close."""
    return difflib.get_close_matches(wrong, list(known), n=1)


def suggestion(wrong: str, known: Iterable[str]) -> str:
    """Return `did you mean "…"?` for the known word closest to `wrong`, else all known words."""
    words = list(known)
    if close := closest(wrong, words):
        return f'did you mean "{close[0]}"?'
    return "known: " + ", ".join(f'"{word}"' for word in words) if words else "none is defined"


def _inward(unit: str, *, named: bool) -> Callable[[Any, ValidationInfo], Any]:
    def convert(value: Any, info: ValidationInfo) -> Any:
        reading = Reading.of(info)
        if isinstance(value, str) and named:
            if value not in reading.named:
                raise PydanticCustomError(
                    "unknown_dimension",
                    "is not a number and not a name in [dimensions]; {instead}",
                    {"instead": suggestion(value, reading.named)},
                )
            value = reading.named[value]
        if isinstance(value, bool) or not isinstance(value, int | float):
            return value  # pydantic's strict check reports it
        try:
            return value * float(getattr(reading, unit))
        except OverflowError:  # an integer of more than 308 digits
            return float("inf")

    return convert


def _outward(unit: str) -> Callable[[float, SerializationInfo], float]:
    def convert(value: float, info: SerializationInfo) -> float:
        return float(f"{value / float(getattr(Reading.of(info), unit)):.12g}")

    return convert


POSITIVE: Final = {"exclusiveMinimum": 0}
NOT_NEGATIVE: Final = {"minimum": 0}


def _quantity(unit: str, schema: Mapping[str, Any], *, named: bool = False) -> tuple[Any, ...]:
    """Return what converts a number in a unit; `schema` has its bounds that hold in every unit.

    With `named`, the name of a dimension may stand for it.
    """
    number: dict[str, Any] = {"type": "number", **schema}
    if named:
        name = {"type": "string", "description": "the name of a dimension"}
        number = {"anyOf": [number, name]}
    return (
        BeforeValidator(_inward(unit, named=named)),
        PlainSerializer(_outward(unit)),
        WithJsonSchema(number),
    )


Length = Annotated[float, Field(gt=0, le=HUGE), *_quantity("length", POSITIVE, named=True)]
"""A length of a part: positive, cm inside."""
LengthOrZero = Annotated[
    float, Field(ge=0, le=HUGE), *_quantity("length", NOT_NEGATIVE, named=True)
]
"""A length that may vanish, such as the top of a full cone; cm inside."""
Coordinate = Annotated[float, Field(ge=-HUGE, le=HUGE), *_quantity("length", {}, named=True)]
"""A position, of either sign; cm inside."""
Distance = Annotated[float, Field(gt=0, le=HUGE), *_quantity("length", POSITIVE)]
"""A length that no dimension stands for: how far another is off; cm inside."""
RadiusOfGyration = Annotated[float, Field(gt=0, le=HUGE), *_quantity("rg", POSITIVE)]
"""A radius of gyration; cm inside."""
RadiusTolerance = RadiusOfGyration
"""A tolerance of a radius of gyration or of a difference of two; cm inside."""
RadiusDifference = Annotated[float, Field(ge=0, le=HUGE), *_quantity("rg", NOT_NEGATIVE)]
"""A difference of two radii of gyration; cm inside."""
Mass = Annotated[float, Field(gt=0, le=1e6), *_quantity("weight", POSITIVE)]
"""A weight to the trade, a mass in physics; g inside."""
Density = Annotated[float, Field(gt=0, le=25), *_quantity("density", POSITIVE)]
"""g/cm³ inside; above 25 no solid exists at room conditions (osmium: 22.6)."""
POURABLE = (0.05, 25.0)
"""g/cm³, the lowest and highest density that may be poured."""
PourDensity = Annotated[
    float, Field(ge=POURABLE[0], le=POURABLE[1]), *_quantity("density", POSITIVE)
]
"""A density to pour, g/cm³ inside; one below 0.05 has the wrong unit."""

Factor = Annotated[float, Field(ge=0.01, le=100)]
"""A factor that a shape is stretched by."""
Angle = Annotated[float, Field(ge=-360, le=360)]
"""Degrees."""


def _as_tuple(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


AsTuple = BeforeValidator(_as_tuple)
"""Accepts a TOML list for a tuple: `Annotated[tuple[Length, Length], AsTuple]`."""

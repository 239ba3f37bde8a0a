"""The keys of each table of the grammar, from the models that read it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, TypeAlias, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from geometry.parts import SEVERAL
from geometry.shapes import SHAPES
from geometry.solids.joined import Solid
from optimizer.scenario.source.content import Content
from optimizer.scenario.source.positions import value_at
from optimizer.scenario.text.scenario_text import ScenarioText
from shared.descriptions import descriptions
from shared.models import Path


def shape_kinds() -> list[str]:
    """Return the kinds of shape."""
    return [str(kind_of(shape)) for shape in SHAPES]


Described: TypeAlias = tuple[FieldInfo, str | None]
"""A field, and what is said below it."""


def known_keys(path: Path, content: Content) -> dict[str, Described]:
    """Return the keys that the table at `path` may have; `content` tells a shape's kind."""
    models: list[type[BaseModel]] = [ScenarioText]
    named = False  # whether the next key is a name of the user's
    for i, key in enumerate(path):
        if isinstance(key, int) or named:
            named = False
            continue
        fields = [field for model in models for name, _, field in _fields(model) if name == key]
        models = [model for field in fields for model in _models_at(field)]
        named = any(get_origin(field.annotation) is dict for field in fields)
        if key == "shape":
            _, kind = value_at(content, (*path[: i + 1], "kind"))
            models = [model for model in models if kind_of(model) == kind]
        if key in SEVERAL and path[i + 1 : i + 2]:  # a solid is one table with its shape
            _, kind = value_at(content, (*path[: i + 2], "kind"))
            shapes: tuple[type[BaseModel], ...] = (*SHAPES, Solid)
            models = [model for model in shapes if kind_of(model) in {kind, None}]
    return {
        name: (field, descriptions(model).get(field_name))
        for model in models
        for name, field_name, field in _fields(model)
    }


def _fields(model: type[BaseModel]) -> Iterator[tuple[str, str, FieldInfo]]:
    """Return the key of each field, the field's name, and the field."""
    return (
        (field.alias or name, name, field)
        for name, field in model.model_fields.items()
        if model is not Solid or name != "shape"
    )


def kind_of(model: type[BaseModel]) -> str | None:
    """Return the kind of shape that a model reads, None if it is not a shape."""
    return model.model_fields["kind"].default if "kind" in model.model_fields else None


def _models_at(field: FieldInfo) -> list[type[BaseModel]]:
    """Return the models that a field mentions: in its type, and in what may be written."""
    return [model for item in (field.annotation, *field.metadata) for model in _models_in(item)]


def _models_in(annotation: Any) -> list[type[BaseModel]]:
    """Return the models that an annotation mentions, at any depth."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    written = getattr(annotation, "json_schema_input_type", None)
    inner = (*get_args(annotation), *([] if written is None else [written]))
    return [model for item in inner for model in _models_in(item)]

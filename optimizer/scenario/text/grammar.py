"""What the grammar knows: the keys of each table, from the models that read it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from geometry.parts import SEVERAL
from geometry.shapes import SHAPES
from geometry.solids.joined import Solid
from optimizer.scenario.source.content import Content
from optimizer.scenario.source.positions import value_at
from optimizer.scenario.text.scenario_text import ScenarioText
from shared.models import Path


def shape_kinds() -> list[str]:
    """Return the kinds of shape."""
    return [shape.model_fields["kind"].default for shape in SHAPES]


def known_keys(path: Path, content: Content) -> dict[str, FieldInfo]:
    """Return the keys that the table at `path` may have; `content` tells a shape's kind."""
    models: list[type[BaseModel]] = [ScenarioText]
    named = False  # whether the next key is a name of the user's
    for i, key in enumerate(path):
        if isinstance(key, int) or named:
            named = False
            continue
        found = [field for model in models for name, field in _fields(model) if name == key]
        models = [model for field in found for model in _models_at(field)]
        named = any(get_origin(field.annotation) is dict for field in found)
        if key == "shape":
            _, kind = value_at(content, (*path[: i + 1], "kind"))
            models = [model for model in models if model.model_fields["kind"].default == kind]
        if key in SEVERAL and path[i + 1 : i + 2]:  # a solid is one table with its shape
            _, kind = value_at(content, (*path[: i + 2], "kind"))
            shapes: tuple[type[BaseModel], ...] = (*SHAPES, Solid)
            models = [one for one in shapes if kind_of(one) in {kind, None}]
    return {name: field for model in models for name, field in _fields(model)}


def _fields(model: type[BaseModel]) -> Iterator[tuple[str, FieldInfo]]:
    return (
        (field.alias or name, field)
        for name, field in model.model_fields.items()
        if model is not Solid or name != "shape"
    )


def kind_of(model: type[BaseModel]) -> str | None:
    """Return the kind of a model that is a shape."""
    return model.model_fields["kind"].default if "kind" in model.model_fields else None


def _models_at(field: FieldInfo) -> list[type[BaseModel]]:
    """Return the models that a field mentions: in what it holds, and in what may be written."""
    written = (getattr(one, "json_schema_input_type", None) for one in field.metadata)
    return [model for one in (field.annotation, *written) for model in _models_in(one)]


def _models_in(annotation: Any) -> list[type[BaseModel]]:
    """Return the models that an annotation mentions, at any depth."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for inner in get_args(annotation) for model in _models_in(inner)]

"""Pydantic's errors about a scenario, in our own words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Literal, get_args, get_origin

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from optimizer.scenario.checks.mistakes import Mistake
from optimizer.scenario.source.content import Content
from optimizer.scenario.source.positions import value_at
from optimizer.scenario.text.grammar import known_keys, shape_kinds
from shared.models import Path, closest, suggestion

SAYS = {
    "missing": "is missing",
    "extra_forbidden": "is not a key here",
    "float_type": "is not a number",
    "finite_number": "is not a finite number",
    "greater_than": "must be more than {gt:g}",
    "less_than": "must be less than {lt:g}",
    "greater_than_equal": "is too small",
    "less_than_equal": "is too large",
    "tuple_type": "is not a list",
    "list_type": "is not a list",
    "dict_type": "is not a table",
    "model_type": "is not a table",
    "model_attributes_type": "is not a table",
    "string_type": "is not text",
    "string_too_short": "is empty",
    "bool_type": "is not true or false",
    "int_from_float": "is not a whole number",
    "int_type": "is not a whole number",
    "literal_error": "is not one of the choices",
    "too_short": "is empty",
    "too_few": "has too few entries",
    "too_long": "has too many entries",
    "union_tag_invalid": "is not a kind of shape",
    "union_tag_not_found": "is missing",
}
"""Our words for pydantic's types of error. Errors that our own models raise have theirs already."""

PURE = {
    *("rotate", "stretch", "top_weight", "outline", "recipe"),
    *("scale", "fine_scale", "mixer", "waste", "overpour", "hold_down", "tilt", "measured"),
    "least_share",
}
"""Keys whose numbers have no unit from [units]: their bounds can be quoted as they are."""

ADVICE = {
    **dict.fromkeys(
        ("dict_type", "model_type", "model_attributes_type"), "write { key = value, … }"
    ),
    **dict.fromkeys(("tuple_type", "list_type"), "write [ …, … ]"),
    "string_type": "write it in quotes",
}
"""Advice for values of the wrong type."""


def invalid(error: ValidationError, content: Content) -> Iterator[Mistake]:
    """Yield a mistake for each of pydantic's errors about `content`."""
    for detail in error.errors(include_url=False, include_input=False):
        if (mistake := _mistake(detail, content)) is not None:
            yield mistake


def _mistake(detail: ErrorDetails, content: Content) -> Mistake | None:
    """Return the mistake behind one of pydantic's errors; None if it only follows from another."""
    kind, context = detail["type"], detail.get("ctx", {})
    path = _path(detail["loc"], content, absent=kind == "missing")
    _, value = value_at(content, path)
    if kind in {"float_type", "unknown_dimension"} and _is_quoted_number(value):
        return Mistake(path, "is text, not a number", "leave out the quotes")
    if kind == "float_type" and isinstance(value, int) and not isinstance(value, bool):
        kind = "finite_number"  # an integer beyond all floats
    if kind == "unknown_dimension" and value_at(content, ("dimensions", value))[0]:
        return None
    if kind not in SAYS:
        instead = context.get("instead")
        what = detail["msg"].removesuffix(f"; {instead}")
        return Mistake(path, what, instead, shown=kind == "unknown_dimension")
    if kind == "missing" and isinstance(path[-1], int):
        path, kind = path[:-1], "too_few"
    if kind == "extra_forbidden":
        return _extra(path, content)
    if kind.startswith("union_tag"):
        path = (*path, "kind")
    what = SAYS[kind].format(**context)
    if kind == "greater_than_equal" and context["ge"] == 0:
        what = "must not be negative"
    return Mistake(path, what, _instead(kind, context, path, content))


def _extra(path: Path, content: Content) -> Mistake:
    """Return the mistake of an unknown key, which covers the key that may be meant."""
    key = str(path[-1])  # it may be known beside other keys than these
    known = [name for name in known_keys(path[:-1], content) if name != key]
    meant = next(((*path[:-1], name) for name in closest(key, known)), None)
    covers = None if meant is None or value_at(content, meant)[0] else meant
    return Mistake(path, SAYS["extra_forbidden"], suggestion(key, known), covers=covers)


def _instead(kind: str, context: Mapping[str, Any], path: Path, content: Content) -> str | None:
    """Return what would be right instead."""
    if kind in {"missing", "too_few", "too_long"}:
        return _described(kind, path, content)
    if kind == "literal_error":
        return f"write {context['expected']}".replace("'", '"')
    if kind.startswith("union_tag"):
        return suggestion(str(value_at(content, path)[1] or ""), shape_kinds())
    if kind in {"greater_than_equal", "less_than_equal"} and context.get("ge") != 0:
        return _bound(context, path)
    return "begin each part with [[parts]]" if path == ("parts",) else ADVICE.get(kind)


def _described(kind: str, path: Path, content: Content) -> str | None:
    """Return the grammar's description of the key at `path`."""
    field, description = known_keys(path[:-1], content).get(str(path[-1]), (None, None))
    if field is not None and get_origin(field.annotation) is Literal:
        return "write " + " or ".join(f'"{word}"' for word in get_args(field.annotation))
    return f"add it: {description}" if description and kind == "missing" else description


def _bound(context: Mapping[str, Any], path: Path) -> str:
    """Return the bound that a number breaks, if it has no unit; else a hint about the unit."""
    if PURE & set(path):
        return f"at least {context['ge']:g}" if "ge" in context else f"at most {context['le']:g}"
    return "is it in the unit given in [units]?"


def _path(loc: tuple[str | int, ...], content: Content, *, absent: bool) -> Path:
    """Return the path in the text of pydantic's `loc`, whose last key is missing if `absent`."""
    path: Path = ()
    value: Any = content
    keys = list(loc)
    while keys:
        key = keys.pop(0)
        there, inner = value_at(value, (key,))
        if there or (absent and not keys):
            path, value = (*path, key), inner
            if key == "shape" and path[:1] == ("parts",):
                keys = keys[1:]
    return path


def _is_quoted_number(value: Any) -> bool:
    if not isinstance(value, str):
        return False
    try:
        float(value)
    except ValueError:
        return False
    return True

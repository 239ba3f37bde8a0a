"""The differences between two scenarios as read: in our units, short forms written out.

So comments, the order of keys, or inches in place of millimetres make no difference. Every value
that the models hold is compared.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from math import isclose
from typing import Any, Final, Literal, TypeAlias

from optimizer.scenario.dimensions import named_lengths
from optimizer.scenario.scenario import Scenario
from optimizer.scenario.source.attachments import digest
from shared.models import Reading

PROBE: Final = Reading(length=2.0, weight=3.0, density=5.0, rg=7.0)
"""Units by which a number's kind is known: by how much it shrinks when written in them."""
KINDS: Final[Mapping[int, Kind]] = {2: "length", 3: "mass", 5: "density", 7: "rg"}
Kind = Literal["length", "mass", "density", "rg"]


@dataclass(frozen=True)
class Figure:
    """A number, in cm, g or g/cm³ where it is of a `kind` that has a unit in the text."""

    value: float
    kind: Kind | None = None


Value: TypeAlias = "Figure | str | bool | tuple[Value, ...] | Mapping[str, Value] | None"
"""A value of a scenario; None where there is none."""


@dataclass(frozen=True)
class Difference:
    """A place, such as ("parts", "keel", "at"), and the values of two scenarios there."""

    path: tuple[str, ...]
    old: Value
    new: Value


def differences(old: Scenario, new: Scenario) -> tuple[Difference, ...]:
    """Return everything that differs.

    A difference at ("order",) is one in the order of the parts that both have.
    """
    before, after = values_of(old), values_of(new)
    orders = [
        tuple(part.name for part in scenario.text.parts if part.name in names)
        for scenario, names in ((old, after["parts"]), (new, before["parts"]))
    ]
    return (*_between((), before, after), *_between(("order",), *orders))


def values_of(scenario: Scenario) -> dict[str, Any]:
    """Return all values of a scenario, tables as mappings, its parts by their names.

    "picked" are the dimensions that a solver has picked, and "files" the SHA-256 of the files that
    the text names. A length that is given by a dimension is the dimension's name.
    """
    text, unit = scenario.text, scenario.reading.length
    beside = {"dimensions", "what_if"}
    own = text.model_dump(by_alias=True, exclude=beside, exclude_none=True)
    probed = text.model_dump(by_alias=True, exclude=beside, context=PROBE)
    values: dict[str, Any] = _figures(_of_kind, own, probed)

    def length(value: float) -> Figure:
        return Figure(float(value) * unit, "length")

    for (table, *path), name in named_lengths(tomllib.loads(scenario.source)):
        if table == "parts":
            values["parts"] = _with_name(values["parts"], path, name)
    return values | {
        "parts": {
            str(part["name"]): part | {"only_in": _only_in(str(part["name"]), scenario)}
            for part in values["parts"]
        },
        "dimensions": {
            name: _figures(
                length, size if isinstance(size, float) else size.model_dump(exclude_none=True)
            )
            for name, size in text.dimensions.items()
        },
        "files": {name: digest(content) for name, content in scenario.files.items()},
        "picked": {
            name: _for_all(_figures(length, dict(by_label)))
            for name, by_label in scenario.chosen.items()
        },
    }


def _only_in(part: str, scenario: Scenario) -> Value:
    """Return the weights that a part stands in, as it or its host says."""
    stands = scenario.standing(part)
    return "every weight" if stands == scenario.labels else tuple(sorted(stands))


def _figures(figure: Callable[..., Figure], value: Any, *like: Any) -> Any:
    """Return a value, lists as tuples, with `figure` of every number in it.

    `like` are values of the same shape, whose numbers are handed to `figure` with its own.
    """
    match value:
        case dict():
            return {
                str(key): _figures(figure, value[key], *(v[key] for v in like)) for key in value
            }
        case list() | tuple():
            return tuple(_figures(figure, *each) for each in zip(value, *like, strict=True))
        case bool() | str():
            return value
        case _:
            return figure(value, *like)


def _of_kind(value: float, probed: float) -> Figure:
    """Return a number in our units, with the kind that the one in the probe's units tells."""
    return Figure(float(value), KINDS.get(round(value / probed) if probed else 0))


def _with_name(value: Any, path: list[str | int], name: str) -> Any:
    """Return a value with the one at `path` in it replaced by a name."""
    if not path:
        return name
    key, *rest = path
    if isinstance(value, dict):
        return {**value, key: _with_name(value[key], rest, name)}
    return tuple(_with_name(v, rest, name) if k == key else v for k, v in enumerate(value))


def _for_all(by_label: Mapping[str, Figure]) -> Value:
    """Return one figure where all weights have the same."""
    first, *others = by_label.values()
    return first if all(alike(first, figure) for figure in others) else dict(by_label)


def alike(old: Value, new: Value) -> bool:
    """Whether two values are the same, figures to nine digits."""
    match old, new:
        case Figure(a), Figure(b):
            return isclose(a, b, rel_tol=1e-9, abs_tol=1e-12)
        case tuple(), tuple():
            return len(old) == len(new) and all(map(alike, old, new))
        case Mapping(), Mapping():
            return old.keys() == new.keys() and all(alike(old[key], new[key]) for key in old)
    return type(old) is type(new) and old == new


def _between(path: tuple[str, ...], old: Value, new: Value) -> Iterator[Difference]:
    if alike(old, new):
        return
    if isinstance(old, Mapping) and isinstance(new, Mapping) and not _whole(path, old, new):
        if _all_axes(old) and _all_axes(new):
            yield from _between(path, old["x"], new["x"])
            return
        for key in (*old, *(key for key in new if key not in old)):
            yield from _between((*path, key), old.get(key), new.get(key))
        return
    yield Difference(path, *_with_kind(old, new))


def _whole(path: tuple[str, ...], old: Mapping[str, Value], new: Mapping[str, Value]) -> bool:
    """Whether two tables are compared whole: a span, or shapes of two kinds."""
    span = {"min", "max"}
    return (old.keys() == span and new.keys() == span) or (
        path[-1:] == ("shape",) and old.get("kind") != new.get("kind")
    )


def _all_axes(table: Mapping[str, Value]) -> bool:
    """Whether a table is the long form of one value for x, y and z."""
    return table.keys() == {"x", "y", "z"} and all(alike(table["x"], table[axis]) for axis in "yz")


def _with_kind(old: Value, new: Value) -> tuple[Value, Value]:
    """Return two figures with one kind: the probe can't tell that of a zero."""
    if isinstance(old, Figure) and isinstance(new, Figure):
        kind = old.kind or new.kind
        return replace(old, kind=kind), replace(new, kind=kind)
    return old, new

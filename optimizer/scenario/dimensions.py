"""Named dimensions: the value of each for one weight, where they are used, what is wrong there."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

from optimizer.scenario.content import Content, is_number, items, part_tables, table
from optimizer.scenario.positions import Path
from optimizer.scenario.wording import Mistake
from shared.models import suggestion


def values(content: Content, label: str) -> dict[str, float]:
    """Return the value of each dimension for the weight `label`, in the text's unit of length.

    A free one, which is refused anyway, has some value in its range, lest its users be blamed.
    """
    found = {name: _value(given, label) for name, given in table(content, "dimensions").items()}
    return {name: value for name, value in found.items() if value is not None}


def wrong_dimensions(content: Content) -> Iterator[Mistake]:
    """Yield dimensions that are free, and `each` that doesn't match the weights or its use."""
    each: set[str] = set()
    for name, dimension in table(content, "dimensions").items():
        path: Path = ("dimensions", name)
        if not isinstance(dimension, Mapping):
            continue
        if "each" in dimension:
            each.add(name)
            yield from _wrong_each(path, table(dimension, "each"), table(content, "weights"))
        elif "min" in dimension or "one_of" in dimension:
            yield Mistake(
                path,
                "is free, and this version solves densities only",
                "give it one value, or one for each weight with each = { … }",
            )
    for path, name in named_lengths(content):
        if name in each and path[0] != "parts":
            what = "differs from weight to weight, and this holds for all of them"
            yield Mistake(path, what, "give a number")


def named_lengths(content: Content) -> Iterator[tuple[Path, str]]:
    """Yield every text that stands where a length may, and so names a dimension."""
    for i, part in part_tables(content):
        for key in ("shape", "at"):
            yield from _texts(part.get(key), ("parts", i, key))
    for key in ("limits", "balance_arm"):
        yield from _texts(content.get(key), (key,))


def _texts(value: Any, path: Path) -> Iterator[tuple[Path, str]]:
    if isinstance(value, str):
        yield path, value
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            if key not in {"kind", "between", "rulebook"}:
                yield from _texts(inner, (*path, key))
    else:
        for i, inner in enumerate(items(value)):
            yield from _texts(inner, (*path, i))


def _value(given: Any, label: str) -> float | None:
    """Return the value of one dimension for one weight; None if it has none that is sound."""
    value = given
    if isinstance(given, Mapping):
        if "each" in given:
            value = table(given, "each").get(label)
        else:
            value = given.get("max", next(iter(items(given.get("one_of"))), None))
    try:
        return float(value) if is_number(value) and math.isfinite(value) else None
    except OverflowError:
        return None


def _wrong_each(path: Path, given: Content, labels: Content) -> Iterator[Mistake]:
    for label in given:
        if label not in labels:
            instead = suggestion(label, labels)
            yield Mistake((*path, "each", label), "is no weight", instead, shown=False)
    missing = ", ".join(f'"{label}"' for label in labels if label not in given)
    if missing:
        yield Mistake((*path, "each"), f"has no value for weight {missing}", "add one")

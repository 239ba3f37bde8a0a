"""Named dimensions: the value of each for one weight, where they are used, what is wrong there."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping
from typing import Any, Final

from optimizer.scenario.checks.mistakes import Mistake, written
from optimizer.scenario.source.content import (
    Content,
    is_number,
    items,
    part_hosts,
    part_tables,
    standing,
    table,
)
from shared.models import Path, suggestion

Chosen = Mapping[str, Mapping[str, float]]
"""Values picked for free dimensions, by name and weight label, in the text's unit of length."""

NAMES: Final = {"kind", "between", "rulebook", "file", "layer", "unit"}
"""Keys whose text is a name of something else; an outline that is no list is a file's."""


def values(
    content: Content, label: str, chosen: Chosen, have: Mapping[str, tuple[str, ...]]
) -> dict[str, float]:
    """Return the value of each dimension for the weight `label`, in the text's unit of length.

    A free one that isn't chosen has its `start`, else the middle of its range; one on the rack the
    first of its moulds. `have` is what `having` says: a dimension that the weight does not have is
    as in one that does, so that all parts can be read.
    """
    found = dict[str, float | None]()
    for name, given in table(content, "dimensions").items():
        at = label if label in have[name] else next(iter(have[name]), label)
        found[name] = chosen[name][at] if name in chosen else _value(given, at)
    return {name: value for name, value in found.items() if value is not None}


def having(content: Content) -> dict[str, tuple[str, ...]]:
    """Return the labels of the weights that have each dimension; of one that no part uses, all."""
    labels, where = tuple(table(content, "weights")), standing(content)
    parts, uses = dict(part_tables(content)), dict[str, set[str]]()
    for path, name in named_lengths(content):
        number = path[1] if path[0] == "parts" else None
        part = None if number is None else str(parts[int(number)].get("name"))
        uses.setdefault(name, set()).update(where.get(part or "", labels))
    return {
        name: tuple(label for label in labels if label in uses.get(name, labels))
        for name in table(content, "dimensions")
    }


def wrong_dimensions(content: Content) -> Iterator[Mistake]:
    """Yield dimensions that leave no choice, and weights that don't match, or a wrong use."""
    each: set[str] = set()
    labels, found = table(content, "weights"), having(content)
    for name, dimension in table(content, "dimensions").items():
        path: Path = ("dimensions", name)
        if not isinstance(dimension, Mapping):
            continue
        without = "is a weight in which no part with this dimension stands"
        there = found[name]
        yield from wrong_groups(dimension.get("same"), labels, (*path, "same"), there, without)
        if "each" in dimension:
            each.add(name)
            yield from _wrong_each(path, table(dimension, "each"), labels, there)
        elif "one_of" in dimension:
            yield from twice((*path, "one_of"), items(dimension["one_of"]))
        else:
            yield from _wrong_span(path, dimension)
        if {"min", "one_of", "each"} & dimension.keys() and dimension.get("same", "all") != "all":
            each.add(name)
    for path, name in named_lengths(content):
        if path[0] == "parts":
            continue
        if name in each:
            what = "differs from weight to weight, and this holds for all of them"
            yield Mistake(path, what, "give a number")
        elif isinstance(table(content, "dimensions").get(name), Mapping):
            yield Mistake(path, "is free, and a limit is not the solver's to pick", "give a number")


def free_where_set_in(content: Content) -> Iterator[Mistake]:
    """Yield free dimensions where a part is set into several: what they share has no gradient."""
    deep = {name: some for name, some in part_hosts(content).items() if len(some) > 1}
    still = {*deep, *(host for hosts in deep.values() for host in hosts[1:])}
    names: dict[Path, str] = {
        ("parts", i): str(part.get("name")) for i, part in part_tables(content)
    }
    dimensions = table(content, "dimensions")
    for path, name in named_lengths(content):
        part = names.get(path[:2])
        if part in still and "min" in table(dimensions, name):
            what = f'is free, and stands in "{part}", where a part is set into several'
            yield Mistake(path, what, "give it one value, or one for each weight")


def wrong_groups(
    groups: Any, labels: Content, path: Path, there: Collection[str], without: str
) -> Iterator[Mistake]:
    """Yield weights in groups that are unknown, stand twice or, told `without`, aren't `there`."""
    seen: set[str] = set()
    for g, group in enumerate(items(groups)):
        for k, label in enumerate(items(group)):
            where: Path = (*path, g, k)
            if not isinstance(label, str):
                continue
            if label not in labels:
                yield Mistake(where, "is no weight", suggestion(label, labels))
            elif label in seen:
                yield Mistake(where, "stands twice", "a weight is in one group at most")
            elif there and label not in there:
                told = ", ".join(f'"{one}"' for one in there)
                yield Mistake(where, without, f"take it out: there are {told}")
            seen.add(label)


def part_lengths(content: Content, *, core: bool = False) -> frozenset[str]:
    """Return the dimensions that parts use; with `core` those that the ball itself does not."""
    inner, ball = set[str](), set[str]()
    for path, name in named_lengths(content):
        if path[0] == "parts":
            (inner if "inside" in content["parts"][path[1]] else ball).add(name)
    return frozenset(inner - ball if core else inner | ball)


def named_lengths(content: Content) -> Iterator[tuple[Path, str]]:
    """Yield every text that stands where a length may, and so names a dimension."""
    for i, part in part_tables(content):
        for key in ("shape", "shapes", "minus", "at"):
            yield from _texts(part.get(key), ("parts", i, key))
    for key in ("limits", "balance_arm"):
        yield from _texts(content.get(key), (key,))


def _texts(value: Any, path: Path) -> Iterator[tuple[Path, str]]:
    if isinstance(value, str):
        yield path, value
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            if key not in NAMES and not (key == "outline" and not isinstance(inner, list)):
                yield from _texts(inner, (*path, key))
    else:
        for i, inner in enumerate(items(value)):
            yield from _texts(inner, (*path, i))


def _value(given: Any, label: str) -> float | None:
    """Return the value of one dimension for one weight; None if it has none that is sound."""
    match given:
        case {"each": dict(each)}:
            value = each.get(label)
        case {"start": value}:
            pass
        case {"min": low, "max": high} if is_number(low) and is_number(high):
            value = (low + high) / 2
        case {"one_of": [value, *_]}:
            pass
        case _:
            value = given
    try:
        return float(value) if is_number(value) and math.isfinite(value) else None
    except OverflowError:
        return None


def _wrong_span(path: Path, free: Content) -> Iterator[Mistake]:
    """Yield a range without room, and a start outside it; a reversed one is told elsewhere."""
    low, high, start = (free.get(key) for key in ("min", "max", "start"))
    if not is_number(low) or not is_number(high) or low > high:
        return
    if low == high:
        yield Mistake(path, f"has its min and max alike, {written(low)}", "give the number alone")
    elif is_number(start) and not low <= start <= high:
        instead = f"start between {written(low)} and {written(high)}"
        yield Mistake((*path, "start"), "is outside the range", instead)


def twice(path: Path, values: list[Any]) -> Iterator[Mistake]:
    """Yield values of a list that stand in it before."""
    for k, value in enumerate(values):
        if value in values[:k]:
            yield Mistake((*path, k), "stands twice", "keep one")


def _wrong_each(
    path: Path, given: Content, labels: Content, there: Collection[str]
) -> Iterator[Mistake]:
    for label in given:
        if label not in labels:
            instead = suggestion(label, labels)
            yield Mistake((*path, "each", label), "is no weight", instead, shown=False)
    if missing := ", ".join(f'"{label}"' for label in there if label not in given):
        yield Mistake((*path, "each"), f"has no value for weight {missing}", "add one")

"""Named dimensions: the value of each in one weight, where they are used, and mistakes in them."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping
from typing import Any, Final

from optimizer.scenario.checks.mistakes import Mistake, quoted, written
from optimizer.scenario.source.content import (
    Content,
    is_number,
    items,
    part_hosts,
    part_labels,
    part_tables,
    standing,
    table,
)
from shared.models import Path, suggestion

Chosen = Mapping[str, Mapping[str, float]]
"""Values picked for free dimensions, by name and weight label, in the text's unit of length."""

NAMES: Final = {"kind", "between", "rulebook", "file", "layer", "unit"}
"""Keys whose text names something else; so does an outline that is not a list."""


def values(
    content: Content, label: str, chosen: Chosen, have: Mapping[str, tuple[str, ...]]
) -> dict[str, float]:
    """Return the value of each dimension for the weight `label`, in the text's unit of length.

    A free one that isn't chosen has its `start`, else the middle of its range; one on the rack the
    first of its moulds. `have` comes from `having`: a dimension that the weight does not have takes
    its value from a weight that does, so that all parts can be read.
    """
    named = dict[str, float]()
    for name, given in table(content, "dimensions").items():
        at = label if label in have[name] else next(iter(have[name]), label)
        value = chosen[name][at] if name in chosen else _value(given, at)
        if value is not None:
            named[name] = value
    return named


def having(content: Content) -> dict[str, tuple[str, ...]]:
    """Return the labels of the weights that have each dimension; all, if no part uses it."""
    labels, where = tuple(table(content, "weights")), standing(content)
    parts, uses = part_labels(content), dict[str, set[str]]()
    for path, name in named_lengths(content):
        uses.setdefault(name, set()).update(where.get(parts.get(path[:2], ""), labels))
    return {
        name: tuple(label for label in labels if label in uses.get(name, labels))
        for name in table(content, "dimensions")
    }


def wrong_dimensions(content: Content) -> Iterator[Mistake]:
    """Yield dimensions that leave no choice, don't match the weights, or are used wrongly."""
    each: set[str] = set()
    labels, have = table(content, "weights"), having(content)
    for name, dimension in table(content, "dimensions").items():
        path: Path = ("dimensions", name)
        if not isinstance(dimension, Mapping):
            continue
        without = "is a weight with no part that uses this dimension"
        there = have[name]
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
            what = "differs between weights, but this applies to all of them"
            yield Mistake(path, what, "give a number")
        elif isinstance(table(content, "dimensions").get(name), Mapping):
            yield Mistake(path, "is free, but the solver picks no limits", "give a number")


def free_where_set_in(content: Content) -> Iterator[Mistake]:
    """Yield free dimensions of parts that share a volume with a plug: it has no gradient."""
    dimensions = table(content, "dimensions")
    for path, name, part in lengths_set_in(content):
        if "min" in table(dimensions, name):
            what = f'is free, but is used in "{part}", where a part is set into several'
            yield Mistake(path, what, "give it one value, or one for each weight")


def lengths_set_in(content: Content) -> Iterator[tuple[Path, str, str]]:
    """Yield path, dimension and part of lengths whose volume has no gradient: those of a plug."""
    deep = {name: hosts for name, hosts in part_hosts(content).items() if len(hosts) > 1}
    still = {*deep, *(host for hosts in deep.values() for host in hosts[1:])}
    parts = part_labels(content)
    for path, name in named_lengths(content):
        part = parts.get(path[:2])
        if part in still:
            yield path, name, str(part)


def wrong_groups(
    groups: Any, labels: Content, path: Path, there: Collection[str], without: str
) -> Iterator[Mistake]:
    """Yield weights in groups that are unknown, repeated, or not `there` (message `without`)."""
    seen: set[str] = set()
    for g, group in enumerate(items(groups)):
        for k, label in enumerate(items(group)):
            where: Path = (*path, g, k)
            if not isinstance(label, str):
                continue
            if label not in labels:
                yield Mistake(where, "is not a weight", suggestion(label, labels))
            elif label in seen:
                yield Mistake(where, "is listed twice", "a weight is in one group at most")
            elif there and label not in there:
                yield Mistake(where, without, f"leave it out; known: {quoted(there)}")
            seen.add(label)


def part_lengths(content: Content, *, core: bool = False) -> frozenset[str]:
    """Return the dimensions that parts use; with `core`, not those of the ball itself."""
    inner, ball = set[str](), set[str]()
    for path, name in named_lengths(content):
        if path[0] == "parts":
            (inner if "inside" in content["parts"][path[1]] else ball).add(name)
    return frozenset(inner - ball if core else inner | ball)


def named_lengths(content: Content) -> Iterator[tuple[Path, str]]:
    """Yield every text in place of a length, which names a dimension."""
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
    """Return the value of one dimension in one weight; None without a valid one."""
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
    """Yield an empty range, and a start outside it; a reversed range is reported elsewhere."""
    low, high, start = (free.get(key) for key in ("min", "max", "start"))
    if not is_number(low) or not is_number(high) or low > high:
        return
    if low == high:
        yield Mistake(path, f"has the same min and max, {written(low)}", "give just the number")
    elif is_number(start) and not low <= start <= high:
        instead = f"start between {written(low)} and {written(high)}"
        yield Mistake((*path, "start"), "is outside the range", instead)


def twice(path: Path, values: list[Any]) -> Iterator[Mistake]:
    """Yield repeated values of a list."""
    for k, value in enumerate(values):
        if value in values[:k]:
            yield Mistake((*path, k), "is listed twice", "keep one")


def _wrong_each(
    path: Path, given: Content, labels: Content, there: Collection[str]
) -> Iterator[Mistake]:
    for label in given:
        if label not in labels:
            instead = suggestion(label, labels)
            yield Mistake((*path, "each", label), "is not a weight", instead, shown=False)
    if missing := quoted(label for label in there if label not in given):
        yield Mistake((*path, "each"), f"has no value for weight {missing}", "add one")

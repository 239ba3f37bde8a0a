"""Where each key is in a TOML text: a second parse, since tomllib keeps no positions.

The walk assumes a text that tomllib has accepted. If its keys still differ from tomllib's, no key
has a place: none rather than a wrong one.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from optimizer.scenario.source.walk import Lost, Table, Walk
from shared.errors import Problem
from shared.models import Path


@dataclass(frozen=True)
class Place:
    """Where a key is in the file, both from 1; None if not known.

    A key that isn't the file's is `said` elsewhere, such as in an option.
    """

    line: int | None = None
    column: int | None = None
    said: str | None = None


NOWHERE = Place()


def problem_at(
    place: Place, file: str | None, what: str, value: str | None, instead: str | None
) -> Problem:
    """Return a problem at a place of `file`, or of what is said elsewhere."""
    if place.said is not None:
        return Problem(f"{place.said}: {what}", value, instead)
    return Problem(what, value, instead, file, place.line, place.column)


def places(source: str, content: Mapping[str, Any]) -> dict[Path, Place]:
    """Return the place of each key and element, by path; none if tomllib's keys differ."""
    starts = _line_starts(source)
    return {path: _place(offset, starts) for path, offset in layout(source, content).keys.items()}


@dataclass(frozen=True)
class Layout:
    """Where each key begins, each value is from and to, and each table has its lines, by path."""

    keys: Mapping[Path, int] = field(default_factory=dict)
    values: Mapping[Path, tuple[int, int]] = field(default_factory=dict)
    tables: Mapping[Path, Table] = field(default_factory=dict)


def layout(source: str, content: Mapping[str, Any]) -> Layout:
    """Return where everything stands; nothing if tomllib's keys differ."""
    walk = _walked(source)
    return Layout(walk.offsets, walk.spans, walk.tables) if _agrees(walk, content) else Layout()


def given_twice(source: str) -> tuple[Path, Place] | None:
    """Return the first key or heading that is given a second time, and its place."""
    for path, offset in _walked(source).twice:
        return path, _place(offset, _line_starts(source))
    return None


@lru_cache(maxsize=4)
def _walked(source: str) -> Walk:
    """Return the walk through a text, the last few remembered: a search reads one many times."""
    walk = Walk(source)
    with suppress(Lost, RecursionError):
        walk.document()
    return walk


def _line_starts(source: str) -> list[int]:
    return [0, *(match.end() for match in re.finditer("\n", source))]


def _place(offset: int, starts: list[int]) -> Place:
    line = bisect_right(starts, offset)
    return Place(line, offset - starts[line - 1] + 1)


def nodes(value: Any, path: Path = ()) -> Iterator[tuple[Path, Any]]:
    """Yield the path and value of `value` itself, and of everything below it."""
    yield path, value
    inner: Any = value.items() if isinstance(value, Mapping) else ()
    for key, item in enumerate(value) if isinstance(value, list) else inner:
        yield from nodes(item, (*path, key))


def _agrees(walk: Walk, content: Mapping[str, Any]) -> bool:
    """Whether a walk has found exactly the keys and array elements of `content`."""
    return walk.whole and set(walk.offsets) == set(paths(content))


def paths(value: Any) -> Iterator[Path]:
    """Yield the path of every key and array element below `value`."""
    return (path for path, _ in nodes(value) if path)


def value_at(value: Any, path: Path) -> tuple[bool, Any]:
    """Return whether there is a value at `path` below `value`, and this value."""
    for key in path:
        if isinstance(value, list):
            there = isinstance(key, int) and 0 <= key < len(value)
        else:
            there = isinstance(value, Mapping) and key in value
        if not there:
            return False, None
        value = value[key]
    return True, value

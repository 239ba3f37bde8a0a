"""Where each key is in a TOML text: a second parse, since tomllib keeps no positions.

The walk assumes a text that tomllib has accepted. If its keys still differ from tomllib's, no key
has a place: none rather than a wrong one.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from shared.models import Path

BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
KEY = re.compile(r"""[A-Za-z0-9_-]+|"(?:[^"\\\n]|\\.)*"|'[^'\n]*'""")
DOT = re.compile(r"[ \t]*\.[ \t]*")
EQUALS = re.compile(r"[ \t]*=[ \t]*")
SCALAR = re.compile(
    r'''"""(?:\\.|[^\\])*?"""(?:"{0,2})'''  # up to two quotes may precede the closing three
    r"""|'{3}.*?'{3}(?:'{0,2})"""
    r'''|"(?:\\.|[^"\\\n])*"'''
    r"""|'[^'\n]*'"""
    r"""|[^\s,\]}#][^,\]}#\n]*""",
    re.DOTALL,
)


@dataclass(frozen=True)
class Place:
    """Where a key is in the file, both from 1; None if not known."""

    line: int | None = None
    column: int | None = None


NOWHERE = Place()


def places(source: str, content: Mapping[str, Any]) -> dict[Path, Place]:
    """Return the place of each key and element, by path; none if tomllib's keys differ."""
    walk = _walked(source)
    if not _agrees(walk, content):
        return {}
    starts = _line_starts(source)
    return {path: _place(offset, starts) for path, offset in walk.offsets.items()}


def spans(source: str, content: Mapping[str, Any]) -> dict[Path, tuple[int, int]]:
    """Return the start and end of each value, by path; none if tomllib's keys differ."""
    walk = _walked(source)
    return walk.spans if _agrees(walk, content) else {}


def given_twice(source: str) -> tuple[Path, Place] | None:
    """Return the first key or heading that is given a second time, and its place."""
    for path, offset in _walked(source).twice:
        return path, _place(offset, _line_starts(source))
    return None


@lru_cache(maxsize=4)
def _walked(source: str) -> _Walk:
    """Return the walk through a text, the last few remembered: a search reads one many times."""
    walk = _Walk(source)
    with suppress(_Lost, RecursionError):
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


def _agrees(walk: _Walk, content: Mapping[str, Any]) -> bool:
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


class _Lost(Exception):  # noqa: N818 - not an error: the walk gives up
    """The walk can't follow the text."""


@dataclass
class _Walk:
    """A walk over the text; `offsets` maps the paths found so far to offsets in the text.

    `spans` are the starts and ends of values. `given` are the paths that have their value or
    [heading], `twice` those given again. `last` is the index of the last element of each [[array]].
    `whole`: the end was reached.
    """

    text: str
    at: int = 0
    offsets: dict[Path, int] = field(default_factory=dict)
    spans: dict[Path, tuple[int, int]] = field(default_factory=dict)
    given: set[Path] = field(default_factory=set)
    twice: list[tuple[Path, int]] = field(default_factory=list)
    last: dict[Path, int] = field(default_factory=dict)
    whole: bool = False

    def document(self) -> None:
        """Walk the whole text: headers, and keys under them."""
        table: Path = ()
        while self.skip(BLANK) < len(self.text):
            if self.text[self.at] == "[":
                table = self.header()
            else:
                self.pair(table)
        self.whole = True

    def skip(self, pattern: re.Pattern[str]) -> int:
        """Skip `pattern`, which must match here; return the new offset."""
        match = pattern.match(self.text, self.at)
        if match is None:
            raise _Lost
        self.at = match.end()
        return self.at

    def sees(self, sign: str) -> bool:
        """Skip blanks, then `sign` if it is here; return whether it is."""
        self.skip(BLANK)
        here = self.text.startswith(sign, self.at)
        self.at += len(sign) if here else 0
        return here

    def header(self) -> Path:
        """Walk [a.b] or [[a.b]] and return the table it opens."""
        start = self.at
        array = self.sees("[[")
        if not array:
            self.sees("[")
        path: Path = ()
        keys = self.keys()
        for i, key in enumerate(keys):
            path = (*path, key)
            self.offsets.setdefault(path, start)
            if i == len(keys) - 1 and path in (self.given if array else self.last):
                self.twice.append((path, start))
            if i == len(keys) - 1 and array:
                self.last[path] = self.last.get(path, -1) + 1
            if path in self.last:
                path = (*path, self.last[path])
                self.offsets.setdefault(path, start)
        if not array:
            self.give(path, start)
        if not self.sees("]]" if array else "]"):
            raise _Lost
        return path

    def give(self, path: Path, start: int) -> None:
        """Record that the value of `path`, or its heading, is at `start`."""
        if path in self.given:
            self.twice.append((path, start))
        self.given.add(path)

    def keys(self) -> list[str]:
        """Walk a dotted key and return its parts."""
        keys = []
        while True:
            self.skip(BLANK)
            start = self.at
            token = self.text[start : self.skip(KEY)]
            quoted = token[0] in "\"'"
            keys.append(next(iter(tomllib.loads(f"{token} = 0"))) if quoted else token)
            if not DOT.match(self.text, self.at):
                return keys
            self.skip(DOT)

    def pair(self, table: Path) -> None:
        """Walk key = value in `table`."""
        self.skip(BLANK)
        start, path = self.at, table
        keys = self.keys()
        for i, key in enumerate(keys, 1):
            path = (*path, key)
            if path in (self.given if i < len(keys) else self.offsets):
                self.twice.append((path, start))
            self.offsets.setdefault(path, start)
        self.given.add(path)
        start = self.skip(EQUALS)
        self.spanned(path, start)

    def spanned(self, path: Path, start: int) -> None:
        """Walk the value at `path`, which begins at `start`, and record where it ends."""
        self.value(path)
        self.spans[path] = start, start + len(self.text[start : self.at].rstrip())

    def value(self, path: Path) -> None:
        """Walk the value of the key at `path`."""
        if self.sees("{"):
            while not self.sees("}"):
                self.pair(path)
                self.sees(",")
        elif self.sees("["):
            index = 0
            while not self.sees("]"):
                self.offsets[*path, index] = self.at
                self.spanned((*path, index), self.at)
                self.sees(",")
                index += 1
        else:
            self.skip(SCALAR)

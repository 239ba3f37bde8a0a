"""Where each key stands in a TOML text: a walk beside tomllib, which keeps no places.

The walk takes the text to be what tomllib has accepted already. If its keys still differ from
tomllib's, no key has a place: none rather than a wrong one.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeAlias

Path: TypeAlias = tuple[str | int, ...]
"""The way to a value, such as ("parts", 2, "shape", "height")."""

BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
KEY = re.compile(r"""[A-Za-z0-9_-]+|"(?:[^"\\\n]|\\.)*"|'[^'\n]*'""")
DOT = re.compile(r"[ \t]*\.[ \t]*")
EQUALS = re.compile(r"[ \t]*=[ \t]*")
SCALAR = re.compile(
    r'''"""(?:\\.|[^\\])*?"""(?:"{0,2})'''  # up to two quotes may stand before the closing three
    r"""|'{3}.*?'{3}(?:'{0,2})"""
    r'''|"(?:\\.|[^"\\\n])*"'''
    r"""|'[^'\n]*'"""
    r"""|[^\s,\]}#][^,\]}#\n]*""",
    re.DOTALL,
)


@dataclass(frozen=True)
class Place:
    """Where a key stands in the file, both from 1; None where it is not known."""

    line: int | None
    column: int | None


def places(source: str, content: Mapping[str, Any]) -> dict[Path, Place]:
    """Return the place of every key and array element of TOML `source`, by its path.

    `content` is what tomllib made of `source`. Empty if the walk and tomllib don't agree.
    """
    walk = _Walk(source)
    try:
        walk.document()
    except (_Lost, RecursionError):
        return {}
    if set(walk.found) != set(paths(content)):
        return {}
    starts = [0, *(match.end() for match in re.finditer("\n", source))]
    lines = {path: bisect_right(starts, offset) for path, offset in walk.found.items()}
    return {
        path: Place(line, walk.found[path] - starts[line - 1] + 1) for path, line in lines.items()
    }


def paths(value: Any, above: Path = ()) -> Iterator[Path]:
    """Yield the path of every key and array element below `value`."""
    inner: Any = ()
    if isinstance(value, Mapping):
        inner = value.items()
    elif isinstance(value, list):
        inner = enumerate(value)
    for key, item in inner:
        yield (*above, key)
        yield from paths(item, (*above, key))


def value_at(value: Any, path: Path) -> tuple[bool, Any]:
    """Return whether there is something at `path` below `value`, and what."""
    for key in path:
        if isinstance(value, list):
            there = isinstance(key, int) and key < len(value)
        else:
            there = isinstance(value, Mapping) and key in value
        if not there:
            return False, None
        value = value[key]
    return True, value


class _Lost(Exception):  # noqa: N818 - not an error: the walk gives up
    """The text isn't what the walk expects."""


@dataclass
class _Walk:
    """A walk over the text; `found` maps the paths met so far to offsets in the text."""

    text: str
    at: int = 0
    found: dict[Path, int] = field(default_factory=dict)
    tables: dict[Path, int] = field(default_factory=dict)  # elements of each [[array]] so far

    def document(self) -> None:
        """Walk the whole text: headers, and keys under them."""
        table: Path = ()
        while self.skip(BLANK) < len(self.text):
            if self.text[self.at] == "[":
                table = self.header()
            else:
                self.pair(table)

    def skip(self, pattern: re.Pattern[str]) -> int:
        """Go past `pattern`, which must stand here; return the new offset."""
        match = pattern.match(self.text, self.at)
        if match is None:
            raise _Lost
        self.at = match.end()
        return self.at

    def sees(self, sign: str) -> bool:
        """Go past `sign` if it stands here, after blanks."""
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
            self.found.setdefault(path, start)
            if array and i == len(keys) - 1:
                self.tables[path] = self.tables.get(path, -1) + 1
            if path in self.tables:
                path = (*path, self.tables[path])
                self.found.setdefault(path, start)
        if not self.sees("]]" if array else "]"):
            raise _Lost
        return path

    def keys(self) -> list[str]:
        """Walk a dotted key and return its parts."""
        keys = []
        while True:
            self.skip(BLANK)
            start = self.at
            token = self.text[start : self.skip(KEY)]
            keys.append(next(iter(tomllib.loads(f"{token} = 0"))))
            if not DOT.match(self.text, self.at):
                return keys
            self.skip(DOT)

    def pair(self, table: Path) -> None:
        """Walk key = value in `table`."""
        self.skip(BLANK)
        start, path = self.at, table
        for key in self.keys():
            path = (*path, key)
            self.found.setdefault(path, start)
        self.skip(EQUALS)
        self.value(path)

    def value(self, path: Path) -> None:
        """Walk the value of the key at `path`."""
        if self.sees("{"):
            while not self.sees("}"):
                self.pair(path)
                self.sees(",")
        elif self.sees("["):
            index = 0
            while not self.sees("]"):
                self.found[*path, index] = self.at
                self.value((*path, index))
                self.sees(",")
                index += 1
        else:
            self.skip(SCALAR)

"""The walk through a TOML text that tomllib has accepted: where its keys and values stand."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field

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
class Table:
    """The keys of one table that stand in lines of their own: below which `heading`, and where.

    `start` and `end` are the first letter of the last of them and the end of its value; of a
    heading without keys, its own.
    """

    heading: Path
    start: int
    end: int


class Lost(Exception):  # noqa: N818 - not an error: the walk gives up
    """The walk can't follow the text."""


@dataclass
class Walk:
    """A walk over the text; `offsets` maps the paths found so far to offsets in the text.

    `spans` are the starts and ends of values. `given` are the paths that have their value or
    [heading], `twice` those given again. `last` is the index of the last element of each [[array]].
    `tables` are those with lines of their own. `whole`: the end was reached.
    """

    text: str
    at: int = 0
    offsets: dict[Path, int] = field(default_factory=dict)
    spans: dict[Path, tuple[int, int]] = field(default_factory=dict)
    given: set[Path] = field(default_factory=set)
    twice: list[tuple[Path, int]] = field(default_factory=list)
    last: dict[Path, int] = field(default_factory=dict)
    tables: dict[Path, Table] = field(default_factory=dict)
    whole: bool = False

    def document(self) -> None:
        """Walk the whole text: headers, and keys under them."""
        table: Path = ()
        while self.skip(BLANK) < len(self.text):
            if self.text[self.at] == "[":
                table = self.header()
            else:
                start, path = self.at, self.pair(table)
                for k in range(len(table), len(path)):
                    self.tables[path[:k]] = Table(table, start, self.spans[path][1])
        self.whole = True

    def skip(self, pattern: re.Pattern[str]) -> int:
        """Skip `pattern`, which must match here; return the new offset."""
        match = pattern.match(self.text, self.at)
        if match is None:
            raise Lost
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
            raise Lost
        self.tables[path] = Table(path, start, self.at)
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

    def pair(self, table: Path) -> Path:
        """Walk key = value in `table`, and return its path."""
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
        return path

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

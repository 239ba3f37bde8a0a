"""A scenario's text with some values changed and every other byte kept."""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from optimizer.scenario.source.positions import layout, value_at
from optimizer.scenario.source.toml_text import toml_key, toml_value
from shared.errors import InputError, Problem
from shared.models import Path

REMOVED: Final = object()
"""The value of a key that is to go."""

Splice = tuple[int, int, str]
"""From, to, and what stands there instead."""


def edited(
    source: str, changes: Mapping[Path, Any], *, below: str = "", file: str | None = None
) -> str:
    """Return the TOML text `source` with the values at some paths changed.

    A table that has lines of its own is changed key by key. A missing key is added below its
    neighbour `below`, else below the last of its table; a missing table is added at the end. Of a
    key that is REMOVED the comment stays. The result is parsed and compared before it is returned.
    Raises InputError, naming `file`, if a key can't be placed.
    """
    content = tomllib.loads(source)
    wanted, text = copy.deepcopy(content), _Text(source, content, below)
    each = [
        one for change in changes.items() for one in _by_key(content, text.layout.values, *change)
    ]
    each.sort(key=lambda change: change[1] is not REMOVED)  # their places are free for others
    for path, value in each:
        table = _table(wanted, path[:-1])
        if value is REMOVED:
            del table[path[-1]]
            if not table and text.dotted(path[:-1]):  # it was there by its keys alone
                del _table(wanted, path[:-2])[path[-2]]
        else:
            table[path[-1]] = value
        if not text.changed(path, value):
            raise _unplaced(path, file)
    new = text.spliced()
    try:
        same = tomllib.loads(new) == wanted
    except tomllib.TOMLDecodeError:
        same = False
    if not same:
        raise _unplaced(next(iter(changes)), file)
    return new


def _by_key(
    content: Mapping[str, Any], values: Mapping[Path, Any], path: Path, value: Any
) -> Iterator[tuple[Path, Any]]:
    """Yield a change, that of a table with lines of its own as those of its keys."""
    known, had = value_at(content, path)
    if not (known and isinstance(had, Mapping) and isinstance(value, Mapping)) or path in values:
        yield path, value
        return
    for key in dict.fromkeys([*had, *value]):
        new = value.get(key, REMOVED)
        if key not in had or new != had[key]:
            yield from _by_key(content, values, (*path, key), new)


def _table(content: Any, path: Path) -> Any:
    """Return the table at `path`, which is added if it isn't there."""
    for key in path:
        content = content[key] if isinstance(key, int) else content.setdefault(key, {})
    return content


def _unplaced(path: Path, file: str | None) -> InputError:
    what = f"{next(key for key in reversed(path) if isinstance(key, str))} can't be written"
    instead = "write each key on a line of its own, as samespin new does"
    return InputError([Problem(f"{what} into this file", instead=instead, file=file)])


@dataclass
class _Text:
    """A text and its `pieces` to be changed; `below` is the neighbour of keys that are added.

    `added` are keys to be added to tables in braces, `headed` those to be added below new headings.
    """

    source: str
    content: Mapping[str, Any]
    below: str
    pieces: list[Splice] = field(default_factory=list)
    added: dict[Path, list[str]] = field(default_factory=dict)
    headed: dict[Path, list[str]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.layout = layout(self.source, self.content)

    def dotted(self, table: Path) -> bool:
        """Whether a table has neither a heading nor braces: `density.mantle = 1` below [spread]."""
        own = self.layout.tables.get(table)
        return table not in self.layout.values and own is not None and own.heading != table

    def changed(self, path: Path, value: Any) -> bool:
        """Change one value; return whether there is a place for it."""
        if path not in self.layout.values:
            return value is not REMOVED and self._add(path, toml_value(value))
        start, end = self.layout.values[path]
        if value is REMOVED:
            self.pieces.append(self._without(self.layout.keys[path], end))
        else:
            self.pieces.append((start, end, toml_value(value)))
        return True

    def _add(self, path: Path, value: str) -> bool:
        values = self.layout.values
        if (*path[:-1], self.below) in values:
            neighbour, line = values[*path[:-1], self.below], f"{_dotted(path[-1:])} = {value}"
            inline = any(path[:k] in values for k in range(1, len(path)))
            end = neighbour[1]
            self.pieces.append((end, end, f", {line}") if inline else self._line(*neighbour, line))
            return True
        table = next(
            path[:k] for k in range(len(path) - 1, -1, -1) if value_at(self.content, path[:k])[0]
        )
        if table in values:
            self.added.setdefault(table, []).append(f"{_dotted(path[len(table) :])} = {value}")
        elif table in self.layout.tables and table:
            place = self.layout.tables[table]
            line = f"{_dotted(path[len(place.heading) :])} = {value}"
            self.pieces.append(self._line(place.start, place.end, line))
        else:
            heading = table or path[:1]
            self.headed.setdefault(heading, []).append(f"{_dotted(path[len(heading) :])} = {value}")
            return len(path) > 1 and all(isinstance(key, str) for key in heading)
        return True

    def _line(self, start: int, end: int, line: str) -> Splice:
        """Return the splice that adds a line below what stands from `start` to `end`."""
        head = self.source[self.source.rfind("\n", 0, start) + 1 : start]
        indent = head[: len(head) - len(head.lstrip())]
        stop = self.source.find("\n", end)
        if stop < 0:
            return len(self.source), len(self.source), f"\n{indent}{line}"
        return stop + 1, stop + 1, f"{indent}{line}{self._newline(stop)}"

    def _newline(self, stop: int) -> str:
        """Return how the line ends whose line feed is at `stop`."""
        return "\r\n" if stop > 0 and self.source[stop - 1] == "\r" else "\n"

    def _without(self, start: int, end: int) -> Splice:
        """Return the splice that removes a key, with its line where nothing else is on it."""
        first, stop = self.source.rfind("\n", 0, start) + 1, self.source.find("\n", end)
        stop = len(self.source) if stop < 0 else stop + 1
        if not (self.source[first:start] + self.source[end:stop]).strip():
            return first, stop, ""
        return start, end, ""

    def _inline(self, table: Path) -> Splice:
        """Return the splice that adds keys at the end of a table in braces."""
        start, end = self.layout.values[table]
        last = len(self.source[: end - 1].rstrip())
        comma = "" if last == start + 1 else ","
        return last, end - 1, f"{comma} {', '.join(self.added[table])} "

    def spliced(self) -> str:
        """Return the new text."""
        text, pieces = self.source, [*self.pieces, *map(self._inline, self.added)]
        for start, end, piece in sorted(pieces, key=lambda piece: piece[:2])[::-1]:
            text = text[:start] + piece + text[end:]  # from the end, to keep offsets valid
        newline = self._newline(self.source.find("\n"))
        for heading, lines in self.headed.items():
            gap = newline if text.endswith("\n") else newline * 2
            text += newline.join([f"{gap}[{_dotted(heading)}]", *lines, ""])
        return text


def _dotted(path: Sequence[str | int]) -> str:
    return ".".join(toml_key(str(key)) for key in path)

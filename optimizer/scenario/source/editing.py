"""A scenario's text with some values changed and every other byte kept."""

from __future__ import annotations

import copy
import json
import tomllib
from collections.abc import Mapping
from typing import Any

from optimizer.scenario.source.positions import spans, value_at
from shared.errors import InputError, Problem
from shared.models import Path


def edited(
    source: str, changes: Mapping[Path, Any], *, below: str = "", file: str | None = None
) -> str:
    """Return the TOML text `source` with the values at some paths changed.

    A missing key is added on a line below its neighbour `below`. The result is parsed and compared
    before it is returned. Raises InputError, naming `file`, if a key can't be placed.
    """
    content = tomllib.loads(source)
    wanted, known = copy.deepcopy(content), spans(source, content)
    pieces: list[tuple[int, int, str]] = []
    for path, value in changes.items():
        table, key = value_at(wanted, path[:-1])[1], path[-1]
        text = json.dumps(value, ensure_ascii=False)
        if path in known:
            pieces.append((*known[path], text))
        elif (*path[:-1], below) in known:
            inline = any(path[:k] in known for k in range(1, len(path)))
            line = f"{key} = {text}"
            pieces.append(_added(source, known[*path[:-1], below], line, inline=inline))
        else:
            raise _unplaced(path, file)
        table[key] = value
    text = source
    for start, end, piece in sorted(pieces, reverse=True):  # from the end, to keep offsets valid
        text = text[:start] + piece + text[end:]
    try:
        same = tomllib.loads(text) == wanted
    except tomllib.TOMLDecodeError:
        same = False
    if not same:
        raise _unplaced(next(iter(changes)), file)
    return text


def _unplaced(path: Path, file: str | None) -> InputError:
    what = f"{next(key for key in reversed(path) if isinstance(key, str))} can't be written"
    instead = "write each key on a line of its own, as samespin new does"
    return InputError([Problem(f"{what} into this file", instead=instead, file=file)])


def _added(
    source: str, neighbour: tuple[int, int], line: str, *, inline: bool
) -> tuple[int, int, str]:
    """Return the splice that adds a key after its neighbour's value, or on the line below it."""
    start, end = neighbour
    if inline:
        return end, end, f", {line}"
    head = source[source.rfind("\n", 0, start) + 1 : start]
    indent = head[: len(head) - len(head.lstrip())]
    stop = source.find("\n", end)
    if stop < 0:
        return len(source), len(source), f"\n{indent}{line}"
    newline = "\r\n" if source[stop - 1] == "\r" else "\n"
    return stop + 1, stop + 1, f"{indent}{line}{newline}"

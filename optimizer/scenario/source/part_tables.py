"""Parts added to a scenario's text, or taken out of it; every other byte is kept."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

from optimizer.scenario.dimensions import named_lengths
from optimizer.scenario.source.content import (
    Content,
    hosts_of,
    items,
    part_tables,
    standing,
    table,
)
from optimizer.scenario.source.editing import edited
from optimizer.scenario.source.positions import Layout, layout
from optimizer.scenario.source.toml_text import toml_key, toml_value
from shared.errors import InputError, Problem
from shared.models import Path


def with_part(
    source: str,
    part: Mapping[str, Any],
    *,
    dimensions: Mapping[str, Any],
    adopted: frozenset[str] = frozenset(),
    file: str | None = None,
) -> str:
    """Return the text with a [[parts]] table below the last one, and its named `dimensions`.

    The parts that are `adopted` lie inside it from now on. Raises InputError, naming `file`, where
    the parts have no lines of their own.
    """
    content = tomllib.loads(source)
    changes = dict[Path, Any]({("dimensions", name): value for name, value in dimensions.items()})
    for i, own in part_tables(content):
        if own.get("name") in adopted:
            changes["parts", i, "inside"] = part["name"]
    changes |= _walls_to(content, str(part["name"]), adopted)
    text = edited(source, changes, file=file)
    content = tomllib.loads(text)
    _, end = _lines(text, layout(text, content), len(content["parts"]) - 1, file)
    newline = "\r\n" if "\r\n" in text else "\n"
    lines = [f"{toml_key(key)} = {toml_value(value)}" for key, value in part.items()]
    head = "" if text[:end].endswith("\n") else newline
    new = newline.join([f"{text[:end]}{head}", "[[parts]]", *lines, ""]) + text[end:]
    content["parts"].append(dict(part))
    return _checked(new, content, file)


def _walls_to(content: Content, new: str, adopted: frozenset[str]) -> dict[Path, Any]:
    """Return the exceptions of walls: what bounded an adopted part bounds the `new` one."""
    changed = dict[Path, Any]()
    for k, pair in enumerate(items(table(content, "limits", "wall").get("except"))):
        ours = adopted & set(pair["between"])
        if len(ours) == 1:
            between = [new if name in adopted else name for name in pair["between"]]
            changed["limits", "wall", "except", k, "between"] = between
    return changed


def without_part(source: str, name: str, file: str | None = None) -> str:
    """Return the text without the part `name`; what lies in it lies in its host from then on.

    With it goes what is said of it alone: its dimensions, its spread, its casting, its walls.
    Raises InputError, naming `file`, where the parts have no lines of their own.
    """
    content = tomllib.loads(source)
    text = edited(source, dict(_let_go(content, name)), file=file)
    content = tomllib.loads(text)
    number = next(i for i, part in part_tables(content) if part.get("name") == name)
    start, end = _lines(text, layout(text, content), number, file)
    while text[:start].rstrip(" \t").endswith("\n") and _comment_above(text, start):
        start = text.rfind("\n", 0, start - 1) + 1
    while text[end : end + 1] in ("\n", "\r"):
        end += 1
    del content["parts"][number]
    return _checked(text[:start] + text[end:], content, file)


def _lines(text: str, where: Layout, number: int, file: str | None) -> tuple[int, int]:
    """Return from where to where a part's lines go. Raises InputError where it has none."""
    ends = [own.end for path, own in where.tables.items() if path[:2] == ("parts", number)]
    start = where.keys.get(("parts", number))
    if not ends or start is None or ("parts",) in where.values:
        instead = "write each part as a table of its own, [[parts]], as samespin new does"
        raise InputError([Problem("parts stand in one line here", instead=instead, file=file)])
    stop = text.find("\n", max(ends))
    return text.rfind("\n", 0, start) + 1, len(text) if stop < 0 else stop + 1


def _comment_above(text: str, start: int) -> bool:
    """Whether the line above the one that begins at `start` is a comment."""
    above = text[text.rfind("\n", 0, max(start - 1, 0)) + 1 : start]
    return above.lstrip().startswith("#")


def _let_go(content: Content, name: str) -> Iterator[tuple[Path, Any]]:
    """Yield what must change before a part can go."""
    (own,) = (part for _, part in part_tables(content) if part.get("name") == name)
    host, stands = hosts_of(own)[0], list(standing(content)[name])
    for i, part in part_tables(content):
        hosts = hosts_of(part)
        if name in hosts:
            others = list(dict.fromkeys(host if each == name else each for each in hosts))
            yield ("parts", i, "inside"), others if len(others) > 1 else others[0]
            if "only_in" in own and "only_in" not in part:
                yield ("parts", i, "only_in"), stands
    number = next(i for i, part in part_tables(content) if part is own)
    uses = [(path[:2] == ("parts", number), used) for path, used in named_lengths(content)]
    alone = {used for mine, used in uses if mine} - {used for mine, used in uses if not mine}
    for path, names in (
        (("dimensions",), alone),
        (("spread", "dimensions"), alone),
        *((("spread", key), {name}) for key in ("density", "position", "tilt")),
        (("foundry", "cast"), {name}),
    ):
        every = table(content, *path)
        if names & set(every):
            yield path, {key: value for key, value in every.items() if key not in names}
    for path, names in (
        (("limits", "wall", "except"), {name}),
        (("spread", "correlation"), {f"{name} {what}" for what in ("density", "position", "tilt")}),
    ):
        pairs = items(table(content, *path[:-1]).get(path[-1]))
        kept = [pair for pair in pairs if not names & set(pair["between"])]
        if len(kept) < len(pairs):
            yield path, kept


def _checked(text: str, wanted: Any, file: str | None) -> str:
    """Return the text once it reads as wanted. Raises InputError."""
    try:
        if tomllib.loads(text) == wanted:
            return text
    except tomllib.TOMLDecodeError:
        pass
    raise InputError([Problem("its parts can't be changed", instead="see samespin new", file=file)])

"""Mistakes in a scenario: where, what is wrong, the value as written, what would be right."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from optimizer.scenario.source.content import Content
from optimizer.scenario.source.positions import NOWHERE, Place, problem_at, value_at
from shared.errors import Problem
from shared.letters import short
from shared.models import Path

NAMED = 150
"""The most letters by which an error names its subject."""
AXES = {"at": "xyz", "rotate": "xyz", "stretch": "xyz", "diameters": "xyz", "size": "xyz"}


@dataclass(frozen=True)
class Mistake:
    """What is wrong at `path`, its value if `shown`, and the path whose echoes it `covers`."""

    path: Path
    what: str
    instead: str | None = None
    shown: bool = True
    covers: Path | None = None


def without_echoes(mistakes: Iterable[Mistake]) -> list[Mistake]:
    """Return the mistakes, each once, without those that only follow from others."""
    mistakes = list(dict.fromkeys(mistakes))
    covers = [mistake.covers for mistake in mistakes if mistake.covers is not None]
    return [
        mistake
        for mistake in mistakes
        if mistake.covers is not None
        or not any(mistake.path[: len(path)] == path for path in covers)
    ]


def problem(mistake: Mistake, content: Content, places: Mapping[Path, Place], file: str) -> Problem:
    """Return a mistake as a problem, with its place in the file."""
    ends = range(len(mistake.path), 0, -1)
    place = next((places[p] for k in ends if (p := mistake.path[:k]) in places), NOWHERE)
    head, rest = (short(words, NAMED) for words in _subject(mistake.path, content))
    there, value = value_at(content, mistake.path)
    return problem_at(
        place,
        file,
        f"{head} {rest}: {mistake.what}".lstrip() if rest else f"{head} {mistake.what}",
        written(value) if there and mistake.shown else None,
        mistake.instead,
    )


def quoted(names: Iterable[str]) -> str:
    """Return names in quotes, with commas between."""
    return ", ".join(f'"{name}"' for name in names)


def written(value: Any) -> str | None:
    """Return a value as TOML writes it; None for a table or a long list."""
    if isinstance(value, list):
        items = [written(item) for item in value]
        return None if len(items) > 4 or None in items else f"[{', '.join(map(str, items))}]"
    if isinstance(value, Mapping):
        return None
    if isinstance(value, int) and value.bit_length() > 100:
        return "a number of more than 30 digits"
    if isinstance(value, str | bool):
        return json.dumps(value, ensure_ascii=False)
    return str(value)


def in_file_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Return the problems by line and column, those without a place last."""
    last = float("inf")
    return tuple(sorted(problems, key=lambda p: (p.line or last, p.column or last)))


def _subject(path: Path, content: Content) -> tuple[str, str]:
    """Return the subject of a path (a part, material, weight … by name) and the rest in words."""
    match path:
        case ("parts", int(i), *rest):
            _, name = value_at(content, ("parts", i, "name"))
            head = f'part "{name}"' if isinstance(name, str) else f"part number {i + 1}"
            if rest[:1] == ["shape"] and len(rest) > 1:
                rest = rest[1:]
        case (("materials" | "ingredients" | "weights" | "dimensions") as table, str(name), *rest):
            head = f'{table.removesuffix("s")} "{name}"'
        case (("units" | "target" | "limits" | "expected") as table, key, *rest):
            head, rest = "", [table, key, *rest]
        case _:
            head, rest = (str(path[0]), list(path[1:])) if path else ("the file", [])
    words: list[str] = []
    for key in rest:
        if isinstance(key, str):
            words.append(key)
        elif words and words[-1] in AXES and key < 3:
            words.append(AXES[words[-1]][key])
        else:
            words.append(f"[{key + 1}]")
    return head, " ".join(words)

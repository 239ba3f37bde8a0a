"""A tolerant look into the parsed text: a value of the wrong kind is taken for nothing."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeAlias, TypeGuard

Content: TypeAlias = Mapping[str, Any]
"""What tomllib makes of a scenario file."""


def table(content: Content, *keys: str) -> Content:
    """Return the table at `keys`, an empty one if there is none."""
    value: Any = content
    for key in keys:
        value = value.get(key) if isinstance(value, Mapping) else None
    return value if isinstance(value, Mapping) else {}


def items(value: Any) -> list[Any]:
    """Return a list as it is, and an empty one for anything else."""
    return value if isinstance(value, list) else []


def is_number(value: Any) -> TypeGuard[int | float]:
    """Tell whether a value is a number; true and false are none."""
    return isinstance(value, int | float) and not isinstance(value, bool)


def part_tables(content: Content) -> list[tuple[int, Content]]:
    """Return the parts that are tables, each with its index in the file."""
    parts = enumerate(items(content.get("parts")))
    return [(i, part) for i, part in parts if isinstance(part, Mapping)]


def part_names(content: Content) -> list[str]:
    """Return the names of the parts."""
    names = (part.get("name") for _, part in part_tables(content))
    return [name for name in names if isinstance(name, str)]


def part_hosts(content: Content) -> dict[str, str | None]:
    """Return the host of each part by its name, None for the ball; of two namesakes the first."""
    hosts: dict[str, str | None] = {}
    for _, part in part_tables(content):
        name, host = part.get("name"), part.get("inside")
        if isinstance(name, str):
            hosts.setdefault(name, host if isinstance(host, str) else None)
    return hosts


def standing(content: Content) -> dict[str, tuple[str, ...]]:
    """Return the labels of the weights that each part stands in, by its name.

    Those under `only_in`, as far as the part's host stands there; all that its host has where the
    key is left out. The ball itself stands in all. This is the only place that knows.
    """
    labels, hosts = tuple(table(content, "weights")), part_hosts(content)
    only: dict[str, Any] = {}
    for _, part in part_tables(content):
        if isinstance(part.get("name"), str):
            only.setdefault(part["name"], part.get("only_in"))

    def of(name: str, below: tuple[str, ...]) -> tuple[str, ...]:
        host, own = hosts[name], only[name]
        if host is None:
            return labels
        lost = host not in hosts or host in below
        around = labels if lost else of(host, (*below, host))
        return tuple(x for x in around if not isinstance(own, list) or x in own)

    return {name: of(name, (name,)) for name in hosts}

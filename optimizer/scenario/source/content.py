"""Tolerant access to the parsed text: a value of the wrong type counts as absent."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeAlias, TypeGuard

from shared.models import Path

Content: TypeAlias = Mapping[str, Any]
"""A scenario file as tomllib parses it."""


def table(content: Content, *keys: str) -> Content:
    """Return the table at `keys`, an empty one if there is none."""
    value: Any = content
    for key in keys:
        value = value.get(key) if isinstance(value, Mapping) else None
    return value if isinstance(value, Mapping) else {}


def items(value: Any) -> list[Any]:
    """Return a list itself, and an empty one for anything else."""
    return value if isinstance(value, list) else []


def is_number(value: Any) -> TypeGuard[int | float]:
    """Whether a value is a number; true and false are not."""
    return isinstance(value, int | float) and not isinstance(value, bool)


def part_tables(content: Content) -> list[tuple[int, Content]]:
    """Return the parts that are tables, each with its index in the file."""
    parts = enumerate(items(content.get("parts")))
    return [(i, part) for i, part in parts if isinstance(part, Mapping)]


def part_labels(content: Content) -> dict[Path, str]:
    """Return the name of each part that is a table, as text, by its path."""
    return {("parts", i): str(part.get("name")) for i, part in part_tables(content)}


def hosts_of(part: Content) -> list[str]:
    """Return the names of the parts that a part says it is inside, from the outside in."""
    inside = part.get("inside")
    return [host for host in (items(inside) or [inside]) if isinstance(host, str)]


def named_parts(content: Content) -> dict[str, Content]:
    """Return the parts by their names, in file order; the first, if two have the same name."""
    parts: dict[str, Content] = {}
    for _, part in part_tables(content):
        if isinstance(part.get("name"), str):
            parts.setdefault(part["name"], part)
    return parts


def part_hosts(content: Content) -> dict[str, list[str]]:
    """Return the hosts of each part by its name; the ball has none."""
    return {name: hosts_of(part) for name, part in named_parts(content).items()}


def standing(content: Content) -> dict[str, tuple[str, ...]]:
    """Return the labels of the weights that each part is in, by its name.

    Those in `only_in` that its hosts are in; all those, if the key is left out. The ball itself is
    in all. Nothing else decides this.
    """
    labels, hosts = tuple(table(content, "weights")), part_hosts(content)
    only: dict[str, Any] = {n: part.get("only_in") for n, part in named_parts(content).items()}

    def of(name: str, below: tuple[str, ...]) -> tuple[str, ...]:
        own = only[name] if isinstance(only[name], list) and hosts[name] else labels
        known = [host for host in hosts[name] if host in hosts and host not in below]
        around = [of(host, (*below, host)) for host in known]
        return tuple(x for x in labels if x in own and all(x in weights for weights in around))

    return {name: of(name, (name,)) for name in hosts}

"""Which parts lie in which, and the orders of casting and painting that follow."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from geometry.parts import Part


def children(parts: Sequence[Part]) -> Mapping[str, tuple[Part, ...]]:
    """Return for every part's name the parts directly (or partly) inside it, in file order.

    Raises ValueError if the parts are not a tree: a repeated name, an unknown host, a cycle, not
    exactly one outermost part, or one that goes through parts that aren't in each other.
    """
    tree: dict[str, list[Part]] = {part.name: [] for part in parts}
    hosts = {part.name: part.inside for part in parts}
    if len(tree) < len(parts):
        raise ValueError("two parts have the same name")
    outermost = [part.name for part in parts if part.inside is None]
    if len(outermost) != 1:
        raise ValueError(f"exactly one part must be outermost, not {len(outermost)}")
    for part, host in [(p, host) for p in parts for host in p.hosts]:
        if host not in tree:
            raise ValueError(f'"{part.name}" is inside "{host}", which is not a part')
        tree[host].append(part)
    for outer, inner in (pair for part in parts for pair in pairwise(part.hosts)):
        if hosts[inner] != outer:
            raise ValueError(f'"{inner}" isn\'t directly inside "{outer}"')
    for name in hosts:
        way: list[str] = [name]
        while (around := hosts[way[-1]]) is not None and around not in way:
            way.append(around)
        if around is not None:
            raise ValueError(f'"{name}" is inside itself, by way of the parts around it')
    return {name: tuple(inner) for name, inner in tree.items()}


def outermost(parts: Sequence[Part]) -> Part:
    """Return the outermost part: the ball. Raises ValueError as `children` does."""
    children(parts)
    return next(part for part in parts if part.inside is None)


def casting_order(parts: Sequence[Part]) -> tuple[Part, ...]:
    """Return the parts innermost first: each before its host, siblings in file order.

    Parts set into several others come last, each after its contents. Raises as `children` does.
    """
    return tuple(part for piece in pieces(parts) for part in piece)


def painting_order(parts: Sequence[Part]) -> tuple[Part, ...]:
    """Return the parts from the outside in, as they are painted. Raises as `children` does."""
    return tuple(part for piece in pieces(parts) for part in piece[::-1])


def pieces(parts: Sequence[Part]) -> tuple[tuple[Part, ...], ...]:
    """Return the parts in pieces cast as one, innermost first: the ball, then those set into it.

    Raises as `children` does.
    """
    ball, tree = outermost(parts), children(parts)
    set_in = (part for part in parts if part.through)
    return tuple((*_below(part.name, tree), part) for part in (ball, *set_in))


def _below(name: str, tree: Mapping[str, tuple[Part, ...]]) -> tuple[Part, ...]:
    """Return all parts cast inside the part `name`, at any depth, each before its host."""
    return tuple(
        part
        for child in tree[name]
        if not child.through
        for part in (*_below(child.name, tree), child)
    )

"""Mistakes between parts: names, hosts, weights, materials, groups."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from optimizer.scenario.checks.mistakes import Mistake, quoted
from optimizer.scenario.dimensions import wrong_groups
from optimizer.scenario.source.content import (
    Content,
    hosts_of,
    items,
    part_hosts,
    part_tables,
    standing,
    table,
)
from shared.models import Path, suggestion


def wrong_parts(content: Content) -> Iterator[Mistake]:
    """Yield mistakes in the parts' tables, alone and together."""
    for check in (_names, _shapes, _hosts, _only_in, _materials, _sharing):
        yield from check(content)


def _names(content: Content) -> Iterator[Mistake]:
    """Yield parts that have another part's name."""
    seen = list[str]()
    for i, part in part_tables(content):
        name = part.get("name")
        if name in seen:
            what = "has the name of an earlier part"
            yield Mistake(("parts", i), what, "give each part its own", shown=False)
        if isinstance(name, str):
            seen.append(name)


def _shapes(content: Content) -> Iterator[Mistake]:
    """Yield parts without a shape or with two, and cuts from a single solid."""
    for i, part in part_tables(content):
        path: Path = ("parts", i)
        if "shape" not in part and "shapes" not in part:
            what = 'kind and dimensions, such as { kind = "sphere", diameter = 8.5 }'
            yield Mistake((*path, "shape"), "is missing", f"add it: {what}")
        elif "shape" in part and "shapes" in part:
            instead = "write one solid as shape, several as shapes"
            yield Mistake((*path, "shapes"), "is given as well as shape", instead, shown=False)
        elif "shape" in part and "minus" in part:
            what = "is cut from shapes, but there is only a shape"
            yield Mistake((*path, "minus"), what, "write shapes = [ { … } ] for it", shown=False)


def _hosts(content: Content) -> Iterator[Mistake]:
    """Yield unknown hosts, parts inside themselves, and a second outermost part."""
    parts, hosts = part_tables(content), part_hosts(content)
    outer = [i for i, part in parts if "inside" not in part]
    ball = 'only the ball itself has no "inside"'
    for i, part in parts:
        unknown = [host for host in hosts_of(part) if host not in hosts]
        if unknown:
            instead = suggestion(unknown[0], hosts) if outer else f"{ball}; leave it out there"
            yield Mistake(("parts", i, "inside"), "names no part", instead)
        for around, inner in pairwise(hosts_of(part)):
            if not unknown and hosts.get(inner) != [around]:
                what = f'goes on into "{inner}", which isn\'t directly inside "{around}"'
                instead = "name hosts from the outside in, each directly inside the one before"
                yield Mistake(("parts", i, "inside"), what, instead)
    for i in outer[1:]:
        first = dict(parts)[outer[0]]
        what = f'has no "inside", and neither has "{first.get("name")}"'
        yield Mistake(("parts", i), what, f"{ball}: say which part this lies in", shown=False)
    reported: set[str] = set()
    for i, part in parts:
        way = _circle(part.get("name"), hosts)
        if not reported.issuperset(way):
            reported |= set(way)
            what = "is inside itself: " + " in ".join([*way, way[0]])
            yield Mistake(("parts", i, "inside"), what, ball, shown=False)


def _circle(name: Any, hosts: Mapping[str, Sequence[str]]) -> list[str]:
    """Return the parts from `name` outward back to itself; none if it isn't inside itself."""
    way = [name] if isinstance(name, str) else []
    while way and len(way) <= len(hosts):
        around = list(hosts.get(way[-1], ()))[:1]
        if around == [name]:
            return way
        way = [*way, *around] if around else []
    return []


def _only_in(content: Content) -> Iterator[Mistake]:
    """Yield an `only_in` of the ball, and labels that are not weights of the part's host."""
    labels, where = table(content, "weights"), standing(content)
    for i, part in part_tables(content):
        path: Path = ("parts", i, "only_in")
        hosts, only = hosts_of(part), part.get("only_in")
        if only is None:
            continue
        if "inside" not in part:
            what = "can't be given for the outermost part, the ball: it is in every weight"
            yield Mistake(path, what, "leave it out", covers=path)
            continue
        if only == []:
            yield Mistake(path, "is empty", "name the weights, or leave it out", covers=path)
        lacking = {x: h for h in hosts[::-1] if h in where for x in labels if x not in where[h]}
        for k, label in enumerate(items(only)):
            if not isinstance(label, str):
                continue
            if label not in labels:
                yield Mistake((*path, k), "is not a weight", suggestion(label, labels))
            elif label in only[:k]:
                yield Mistake((*path, k), "is listed twice", "keep one")
            elif label in lacking and where[host := lacking[label]]:
                what = f'is a weight without "{host}", which it is inside'
                yield Mistake((*path, k), what, f'"{host}" is only in {quoted(where[host])}')


def _materials(content: Content) -> Iterator[Mistake]:
    """Yield unknown materials."""
    known = table(content, "materials")
    for i, part in part_tables(content):
        material = part.get("material")
        if isinstance(material, str) and material not in known:
            what = "is not in [materials]"
            yield Mistake(("parts", i, "material"), what, suggestion(material, known))


def _sharing(content: Content) -> Iterator[Mistake]:
    """Yield unknown weights in groups, those without the part, and repeated ones."""
    labels, where = table(content, "weights"), standing(content)
    for i, part in part_tables(content):
        path, there = ("parts", i, "same_density"), where.get(str(part.get("name")), ())
        without = "is a weight that this part is not in"
        yield from wrong_groups(part.get("same_density"), labels, path, there, without)

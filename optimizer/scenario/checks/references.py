"""Whether the tables of a scenario fit together: labels, ranges, limits, unused entries.

The checks read the parsed text, so that their mistakes are reported together with those in single
fields. They ignore values of the wrong type, which the models report.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from itertools import combinations
from typing import Any

from optimizer.scenario.checks.mistakes import Mistake, written
from optimizer.scenario.checks.part_checks import wrong_parts
from optimizer.scenario.checks.spread_checks import wrong_spread
from optimizer.scenario.dimensions import free_where_set_in, having, named_lengths, wrong_dimensions
from optimizer.scenario.recipes import used_ingredients, wrong_recipes
from optimizer.scenario.source.content import (
    Content,
    is_number,
    items,
    named_parts,
    part_hosts,
    part_tables,
    standing,
    table,
)
from optimizer.scenario.source.positions import nodes
from optimizer.scenario.source.what_if import wrong_record
from shared.models import Path, suggestion


def references(content: Content, *, target_required: bool) -> Iterator[Mistake]:
    """Yield what doesn't fit together in a scenario's parsed text."""
    if target_required and "target" not in content:
        yield Mistake(("target",), "is missing", "add [target] with rg, differential and tolerance")
    checks = (_target, _labels, _ranges, wrong_parts, wrong_dimensions, free_where_set_in)
    for check in (*checks, wrong_recipes, _limits, _foundry, wrong_spread, wrong_record):
        yield from check(content)


def unused(content: Content) -> Iterator[Mistake]:
    """Yield unused entries, and an `only_in` without effect: warnings."""
    poured = [part.get("material") for _, part in part_tables(content)]
    named = {value for _, value in named_lengths(content)}
    uses: list[tuple[str, Collection[Any]]] = [
        ("materials", poured),
        ("ingredients", used_ingredients(content)),
        ("dimensions", named),
    ]
    for key, used in uses:
        for name in table(content, key):
            if name not in used:
                yield Mistake((key, name), "is not used", shown=False)
    for name, labels in having(content).items():
        for label in table(content, "dimensions", name, "each"):
            if label not in labels:
                what = "is not used: no part with this dimension is in that weight"
                yield Mistake(("dimensions", name, "each", label), what, shown=False)
    for i, part in part_tables(content):
        if set(items(part.get("only_in"))) == set(table(content, "weights")):
            yield Mistake(("parts", i, "only_in"), "names every weight", "it can be left out")


def _target(content: Content) -> Iterator[Mistake]:
    """Yield mistakes in the figures that a target need not have."""
    target = table(content, "target")
    for key in ("intermediate_differential", "cg_offset"):
        if key in target and "tolerance" in target and key not in table(target, "tolerance"):
            yield Mistake(("target", "tolerance", key), "is missing", f"the target asks for {key}")
    key = "intermediate_differential"
    if key not in target:
        return
    least, most = _ends(target[key])[0], _ends(target.get("differential"))[1]
    if is_number(least) and is_number(most) and bool(least > most):
        what = f"is above the differential, {written(most)}"
        instead = "it is high − intermediate, a part of high − low"
        yield Mistake(("target", key), what, instead)


def _ends(value: Any) -> tuple[Any, Any]:
    return (value.get("min"), value.get("max")) if isinstance(value, Mapping) else (value, value)


def _labels(content: Content) -> Iterator[Mistake]:
    """Yield labels with a dot but no quotes: TOML reads 15.5 = … as a table 15."""
    labelled: list[tuple[Path, Content]] = [(("weights",), table(content, "weights"))]
    for name in table(content, "dimensions"):
        path: Path = ("dimensions", name, "each")
        labelled.append((path, table(content, "dimensions", name, "each")))
    for above, values in labelled:
        for label, value in values.items():
            for tail in filter(str.isdigit, value if isinstance(value, Mapping) else ()):
                what = "is read as a table, since its label has a dot"
                instead = f'put the label in quotes: "{label}.{tail}" = …'
                yield Mistake((*above, label), what, instead, covers=(*above, label))


def _ranges(content: Content) -> Iterator[Mistake]:
    """Yield ranges that end below their start."""
    for name, material in table(content, "materials").items():
        density = material.get("density") if isinstance(material, Mapping) else None
        match density:
            case [low, high] if is_number(low) and is_number(high) and low > high:
                yield Mistake(("materials", name, "density"), "range is reversed", "lowest first")
    for path, value in nodes(content):
        match value:
            case {"min": low, "max": high} if is_number(low) and is_number(high) and low > high:
                yield Mistake(path, f"min {written(low)} is above max {written(high)}", "swap them")


def _limits(content: Content) -> Iterator[Mistake]:
    """Yield limits without a bound, and mistakes in those on named pairs of parts."""
    limits = table(content, "limits")
    for key, ends, instead in (
        ("top_weight", {"min", "max"}, "give it a min, a max or both"),
        ("pin_distance", {"min", "max"}, "give it a min, a max or both"),
        ("density_step", {"max", "between"}, "give it a max, or pairs under between, or both"),
    ):
        if key in limits and not any(table(limits, key).get(end) not in (None, []) for end in ends):
            yield Mistake(("limits", key), "limits nothing", instead)
    walls, where = _pairs(content), standing(content)
    seen: set[frozenset[str]] = set()
    for i, exception in enumerate(items(table(limits, "wall").get("except"))):
        path: Path = ("limits", "wall", "except", i, "between")
        match exception:
            case {"between": [str(a), str(b)]}:
                pair = frozenset((a, b))
                if pair <= where.keys() and pair not in walls:
                    what = "have no wall between them"
                    instead = "name a part and its host, or two parts in one host"
                    yield Mistake(path, what, instead)
                else:
                    yield from _wrong_pair(path, {(*path, 0): a, (*path, 1): b}, where, seen)
    yield from _denser(table(limits, "density_step"), where, part_hosts(content))


def _wrong_pair(
    path: Path,
    names: Mapping[Path, str],
    where: Mapping[str, tuple[str, ...]],
    seen: set[frozenset[str]],
) -> Iterator[Mistake]:
    """Yield mistakes in a pair of parts, given with the place of each name; it is then `seen`."""
    for at, name in names.items():
        if name not in where:
            yield Mistake(at, "is not a part", suggestion(name, where))
    pair = frozenset(names.values())
    own = [set(where[name]) for name in pair if name in where]
    if len(own) == 2 and all(own) and not own[0] & own[1]:
        yield Mistake(path, "are in no weight together", "leave this out")
    elif pair in seen:
        yield Mistake(path, "is listed twice", "keep one")
    seen.add(pair)


def _denser(
    step: Content, where: Mapping[str, tuple[str, ...]], hosts: Mapping[str, list[str]]
) -> Iterator[Mistake]:
    """Yield mistakes in the pairs of which one part is to be denser."""
    most = step.get("max")
    seen: set[frozenset[str]] = set()
    for i, pair in enumerate(items(step.get("between"))):
        path: Path = ("limits", "density_step", "between", i)
        match pair:
            case {"denser": str(a), "than": str(b)} if a == b:
                yield Mistake((*path, "than"), "is the same part", "name another")
            case {"denser": str(a), "than": str(b)}:
                names = {(*path, "denser"): a, (*path, "than"): b}
                yield from _wrong_pair(path, names, where, seen)
                least, touch = pair.get("min"), a in hosts.get(b, ()) or b in hosts.get(a, ())
                if touch and is_number(least) and is_number(most) and least > most:
                    what = f"is above the max of parts that touch, {written(most)}"
                    yield Mistake((*path, "min"), what, "a smaller one, or a larger max")


def _foundry(content: Content) -> Iterator[Mistake]:
    """Yield mistakes in [foundry]: unknown parts, parts cast smaller than drawn, scales."""
    parts = named_parts(content)
    for name, diameter in table(content, "foundry", "cast").items():
        at: Path = ("foundry", "cast", name)
        if name not in parts:
            yield Mistake(at, "is not a part", suggestion(name, parts))
            continue
        shape = table(parts[name], "shape")
        if shape.get("kind") != "sphere":
            yield Mistake(at, "is not a sphere: only a sphere is turned down", shown=False)
            continue
        drawn = shape.get("diameter")
        if is_number(drawn) and is_number(diameter) and diameter <= drawn:
            instead = f"cast it larger than it is drawn, {written(drawn)}, or leave it out"
            yield Mistake(at, "leaves nothing to turn down", instead)
    scale, fine = (table(content, "foundry").get(key) for key in ("scale", "fine_scale"))
    reads, most = (table(content, "foundry", "fine_scale").get(k) for k in ("readability", "up_to"))
    if fine is not None and scale is None:
        yield Mistake(("foundry", "scale"), "is missing", "a fine scale needs a coarser one")
    elif is_number(reads) and is_number(scale) and reads >= scale > 0:
        what = f"is no finer than the scale's {written(scale)} g"
        yield Mistake(("foundry", "fine_scale", "readability"), what, "give a smaller one")
    if is_number(reads) and is_number(most) and 0 < most <= reads:
        what = f"is no more than one step of it, {written(reads)} g"
        yield Mistake(("foundry", "fine_scale", "up_to"), what, "the most it is used for")


def _pairs(content: Content) -> set[frozenset[str]]:
    """Return the pairs of parts that have a wall: a part and its host, two parts in one host."""
    hosts = part_hosts(content)
    inner = [(name, around[0]) for name, around in hosts.items() if around]
    beside = [
        (a, b)
        for a, b in combinations(hosts, 2)
        if set(hosts[a]) & set(hosts[b]) and a not in hosts[b] and b not in hosts[a]
    ]
    return {frozenset(pair) for pair in (*inner, *beside)}

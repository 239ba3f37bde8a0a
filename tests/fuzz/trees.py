"""Changes of a tree of tables, lists and values, such as a TOML or JSON file holds."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from copy import deepcopy
from random import Random
from typing import Any, Final, NamedTuple

from fuzz import values

DEEP: Final = (1, 3, 40, 60, 300)
"""How many lists are put around a value."""
LONG: Final = 400


class Place(NamedTuple):
    """Where a value stands: the table or list that it is in, and its key."""

    holder: Any
    key: Any

    @property
    def value(self) -> Any:
        """What stands there."""
        return self.holder[self.key]

    def put(self, value: Any) -> None:
        """Put another value there."""
        self.holder[self.key] = value


class Grown(NamedTuple):
    """Where a tree may take something from: other trees, and the schema of its own."""

    donors: Sequence[Any]
    schema: Mapping[str, Any] | None = None


def places(tree: Any) -> Iterator[Place]:
    """Yield the place of every value in a tree."""
    pairs = tree.items() if isinstance(tree, dict) else enumerate(tree)
    for key, value in list(pairs):
        yield Place(tree, key)
        if isinstance(value, dict | list):
            yield from places(value)


def mutated(random: Random, tree: Any, grown: Grown) -> Any:
    """Return a changed copy of a tree: mostly one change, sometimes several."""
    tree = deepcopy(tree)
    for _ in range(random.choice((1, 1, 1, 2, 2, 3, 6))):
        every = list(places(tree))
        if not every:
            break
        random.choice(CHANGES)(random, every, grown)
    return tree


def _leaf(random: Random, every: list[Place], _: Grown) -> None:
    leaves = [place for place in every if not isinstance(place.value, dict | list)]
    place = random.choice(leaves or every)
    place.put(values.other(random, place.value))


def _any(random: Random, every: list[Place], _: Grown) -> None:
    place = random.choice(every)
    place.put(values.other(random, place.value))


def _dropped(random: Random, every: list[Place], _: Grown) -> None:
    place = random.choice(every)
    del place.holder[place.key]


def _renamed(random: Random, every: list[Place], _: Grown) -> None:
    named = [place for place in every if isinstance(place.holder, dict)]
    if named:
        holder, key = random.choice(named)
        known = [place.key for place in named]
        name = random.choice(known) if random.random() < 0.5 else values.text(random, str(key))
        renamed = {(name if k == key else k): v for k, v in holder.items()}
        holder.clear()
        holder.update(renamed)


def _moved(random: Random, every: list[Place], grown: Grown) -> None:
    first, second = random.choice(every), random.choice(every)
    value = deepcopy(first.value)
    if random.random() < 0.5:
        second.put(value)
    elif isinstance(second.holder, dict):
        second.holder[first.key if isinstance(first.key, str) else "x"] = value
    else:
        second.holder.insert(second.key, value)


def _swapped(random: Random, every: list[Place], _: Grown) -> None:
    first, second = random.choice(every), random.choice(every)
    one, two = deepcopy(first.value), deepcopy(second.value)
    first.put(two)
    second.put(one)


def _grafted(random: Random, every: list[Place], grown: Grown) -> None:
    donor = random.choice(list(places(random.choice(grown.donors))))
    same = [place for place in every if place.key == donor.key and isinstance(donor.key, str)]
    random.choice(same or every).put(deepcopy(donor.value))


def _added(random: Random, every: list[Place], grown: Grown) -> None:
    if grown.schema is None:
        return _grafted(random, every, grown)
    root, holder = grown.schema, every[0].holder
    node = root
    for _ in range(random.randint(0, 4)):
        node = _resolved(random, node, root)
        own = node.get("properties", {})
        if isinstance(holder, dict) and (
            inner := [k for k in own if isinstance(holder.get(k), dict | list)]
        ):
            key = random.choice(inner)
            node, holder = own[key], holder[key]
        elif isinstance(holder, dict) and isinstance(node.get("additionalProperties"), dict):
            tables = [v for v in holder.values() if isinstance(v, dict)]
            if not tables:
                break
            node, holder = node["additionalProperties"], random.choice(tables)
        elif isinstance(holder, list) and (tables := [v for v in holder if isinstance(v, dict)]):
            node, holder = node.get("items", {}), random.choice(tables)
        else:
            break
    own = _resolved(random, node, root).get("properties", {})
    if isinstance(holder, dict) and own:
        key = random.choice(list(own))
        holder[key] = values.of_schema(random, own[key], root)
    return None


def _resolved(
    random: Random, node: Mapping[str, Any], root: Mapping[str, Any]
) -> Mapping[str, Any]:
    """Return the schema behind references and choices."""
    while "properties" not in node:
        if "$ref" in node:
            node = root["$defs"][node["$ref"].rpartition("/")[2]]
        elif choices := node.get("anyOf") or node.get("oneOf"):
            node = random.choice(choices)
        else:
            break
    return node


def _lists(random: Random, every: list[Place], _: Grown) -> None:
    lists = [place.value for place in every if isinstance(place.value, list) and place.value]
    if not lists:
        return
    of = random.choice(lists)
    match random.randrange(5):
        case 0:
            of.append(deepcopy(random.choice(of)))
        case 1:
            of.reverse()
        case 2:
            of.extend(deepcopy(of) * random.choice((1, 3, LONG // len(of))))
        case 3:
            del of[random.randrange(len(of)) :]
        case _:
            random.shuffle(of)


def _wrapped(random: Random, every: list[Place], _: Grown) -> None:
    place = random.choice(every)
    value = place.value
    for _level in range(random.choice(DEEP)):
        value = [value] if random.random() < 0.5 else {"x": value}
    place.put(value)


CHANGES: Final[Sequence[Callable[[Random, list[Place], Grown], None]]] = (
    *[_leaf] * 8, _any, _dropped, _dropped, _renamed, _moved, _swapped, _grafted, _grafted,
    *[_added] * 4,
    _lists, _lists, _wrapped,
)  # fmt: skip

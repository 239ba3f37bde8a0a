"""Values that a careful user would not write, each seen to upset some program somewhere."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, time
from random import Random
from typing import Any, Final

NUMBERS: Final = (
    0, -0.0, 1, -1, 2, 0.5, 100, 1e-9, 1e-30, 5e-324, 1e9, 1e30, 1e160, 1.7976931348623157e308,
    -1e308, 2**31, 2**63, -(2**63) - 1, 10**25, 10**400, float("inf"), -float("inf"), float("nan"),
)  # fmt: skip
STRINGS: Final = (
    "", " ", "\t", "\n", "a\nb", "\r", "\x00", "\x07", "\x1b[31mred\x1b[0m", "\x1b]0;title\x07",
    "\x7f",
    "\x85", "\x9b2J", "\u202emirrored", "\u2028", "\ufeff", "\ufffd", "é", "e\u0301", "ß", "İ",
    "\U0001f3b3",
    "中文", "a" * 300, "a b" * 2000, "nan", "inf", "true", "null", "1.5", "-1", "0x10", "1e999",
    "=1+1", "@x",
    "+1", "'", '"', "\\", "`", "<script>alert(7)</script>", "</script>", "]]>", "&amp;", "{0}",
    "{name}", "%s",
    "%n", "$(x)", "[bold]", "[/]", "../x", "/", ".", "..", "con", "x.stl", "cover", "all", "none",
    "cg", "in", "mm",
    "16", "15.5", "-", "_", "#", ",", ";", "NaN", "Infinity", "__class__",
)  # fmt: skip
OTHERS: Final = (
    True,
    False,
    date(1979, 5, 27),
    time(7, 32),
    [],
    {},
    [[]],
    [{}],
    [1, 2, 3],
    ["a"],
    {"min": 0},
)


def number(random: Random, value: float) -> Any:
    """Return another number, often one near a limit or of another size."""
    match random.randrange(8):
        case 0 | 1:
            return random.choice(NUMBERS)
        case 2:
            return -value
        case 3:
            return random.choice(
                (value * 10.0 ** random.randint(-12, 12), value * 25.4, value / 25.4)
            )
        case 4:
            return value * random.uniform(0.5, 1.5)
        case 5:
            return value * (1 + random.choice((-1, 1)) * 10.0 ** random.randint(-16, -2))
        case 6:
            return round(value, random.randint(0, 2)) if abs(value) < 1e300 else value
        case _:
            return random.uniform(-10, 10)


def text(random: Random, value: str) -> str:
    """Return another text: an odd one, or this with a letter changed or an odd one in it."""
    if not value or random.random() < 0.5:
        return random.choice(STRINGS)
    at = random.randrange(len(value))
    match random.randrange(4):
        case 0:
            return value[:at] + value[at + 1 :]
        case 1:
            return value[:at] + random.choice(STRINGS) + value[at:]
        case 2:
            return value.swapcase()
        case _:
            return value[:at] + value[at] * 2 + value[at + 1 :]


def other(random: Random, value: Any) -> Any:
    """Return something in place of a value, mostly of the same type."""
    if random.random() < 0.2:
        return random.choice((*NUMBERS, *STRINGS, *OTHERS))
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float):
        return number(random, float(value))
    return text(random, value) if isinstance(value, str) else random.choice(OTHERS)


def of_schema(
    random: Random, node: Mapping[str, Any], root: Mapping[str, Any], depth: int = 0
) -> Any:
    """Return a value that a JSON Schema allows, more or less."""
    if "$ref" in node:
        return of_schema(random, root["$defs"][node["$ref"].rpartition("/")[2]], root, depth)
    if "const" in node:
        return node["const"]
    if "enum" in node:
        return random.choice(node["enum"])
    kind = node.get("type")
    if kind is None and (choices := node.get("anyOf") or node.get("oneOf")):
        return of_schema(random, random.choice(choices), root, depth)
    if kind == "object":
        return _table(random, node, root, depth)
    if kind == "array":
        items = node.get("prefixItems") or [node.get("items", {})] * random.randint(0, 3)
        return [of_schema(random, item, root, depth + 1) for item in items]
    if kind in {"number", "integer"}:
        low = node.get("minimum", node.get("exclusiveMinimum", 0))
        return random.choice((low, low + 0.1, low + 1, random.uniform(0, 5), random.randint(1, 20)))
    if kind == "boolean":
        return random.random() < 0.5
    return random.choice(("cover", "mantle", "block", "heart", "shell", "filled", "16", "all", "x"))


def _table(random: Random, node: Mapping[str, Any], root: Mapping[str, Any], depth: int) -> Any:
    own, needed = node.get("properties", {}), node.get("required", ())
    wanted = [key for key in own if key in needed or random.random() < 0.3 / (1 + depth)]
    table = {key: of_schema(random, own[key], root, depth + 1) for key in wanted}
    more = node.get("additionalProperties")
    if isinstance(more, dict):
        table[random.choice(("16", "15", "shell", "belly"))] = of_schema(
            random, more, root, depth + 1
        )
    return table

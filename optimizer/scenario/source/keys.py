"""KEY=VALUE as it is typed: a dotted key, where it stands in a scenario, and its value."""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Mapping
from typing import Any, Final

from optimizer.scenario.source.content import Content, part_tables, table
from optimizer.scenario.source.positions import nodes
from optimizer.scenario.source.toml_text import toml_key
from optimizer.scenario.source.walk import DOT, KEY
from shared.models import Path, suggestion

NAMED: Final = ("materials", "ingredients", "weights", "dimensions")
"""Tables whose keys are the user's own names."""
PAIR: Final = re.compile(rf"\s*((?:{KEY.pattern})(?:{DOT.pattern}(?:{KEY.pattern}))*)\s*=\s*")
WORD: Final = re.compile(r"[^\W\d][\w-]*(?: [\w-]+)*")
"""What may be text without quotes: TOML has no such value."""
SUCH: Final = "such as --set materials.dense.density=[1.2,3.0]"

Keys = tuple[str, ...]
"""A key as it is typed: a part by its name, not by its number."""


class WrongKeyError(ValueError):
    """A key or value that can't be set: what is wrong, its value, and what would be right."""


def dotted(keys: Keys) -> str:
    """Return a key as it is typed."""
    return ".".join(map(toml_key, keys))


def pair(text: str) -> tuple[Keys, Any]:
    """Return the key and the value of "KEY=VALUE". Raises WrongKeyError."""
    match = PAIR.match(text)
    if match is None:
        raise WrongKeyError("is not KEY=VALUE", None, SUCH)
    value = _value(text[match.end() :].strip(), match[1])
    check_plain(value)
    return keys_of(match[1]), value


def _value(written: str, key: str) -> Any:
    """Return a value of TOML; a word without quotes is text. Raises WrongKeyError."""
    try:
        written.encode()
        content = tomllib.loads(f"value = {written}")
    except (ValueError, RecursionError):
        if WORD.fullmatch(written):
            return written
        instead = f"text goes in quotes: --set '{key}=\"…\"'; a list is [1.2, 3.0]"
        raise WrongKeyError("is no value of TOML", written or "nothing", instead) from None
    if len(content) > 1:
        raise WrongKeyError("is more than one KEY=VALUE", None, "use --set for each")
    return content["value"]


def keys_of(text: str) -> Keys:
    """Return the parts of a dotted key. Raises WrongKeyError."""
    keys = list[str]()
    try:
        inner: Any = tomllib.loads(f"{text} = 0")
    except (ValueError, RecursionError):
        inner = {}
    while isinstance(inner, Mapping):
        if len(inner) != 1:
            raise WrongKeyError("is not a key of TOML", None, SUCH)
        ((key, inner),) = inner.items()
        keys.append(key)
    return tuple(keys)


def check_plain(value: Any) -> None:
    """Refuse a value that no scenario has. Raises WrongKeyError."""
    for _, inner in nodes(value):
        plain = isinstance(inner, str | bool | int | float | list | dict)
        if not plain or (isinstance(inner, float) and not math.isfinite(inner)):
            raise WrongKeyError("is not a value that a scenario has", str(inner), "see its grammar")


def path_of(keys: Keys, content: Content) -> Path:
    """Return the path of a key in `content`, where it need not be. Raises WrongKeyError."""
    path: Path = ()
    value: Any = content
    for k, key in enumerate(keys):
        if path == ("parts",) and isinstance(value, list):
            parts = {str(part.get("name")): i for i, part in reversed(part_tables(content))}
            if key not in parts:
                raise WrongKeyError(f'there is no part "{key}"', None, suggestion(key, parts))
            path, value = (*path, parts[key]), value[parts[key]]
            continue
        if value is not None and not isinstance(value, Mapping):
            label = f'{dotted(keys[: k - 1])}."{keys[k - 1]}.{key}"'
            instead = f"set it whole: {dotted(keys[:k])}=…; or is it a name with a dot? {label}"
            raise WrongKeyError(f"{dotted(keys[:k])} is not a table", None, instead)
        path, value = (*path, key), None if value is None else value.get(key)
        if k == 1 and path[0] in NAMED and value is None and len(keys) > k + 1:
            raise _unknown(str(path[0]), key, keys[2], content)
    return path


def _unknown(named: str, name: str, below: str, content: Content) -> WrongKeyError:
    """Return the error that a table has no such name; it may be half of one with a dot."""
    known, whole = table(content, named), f"{name}.{below}"
    meant = f'put it in quotes: {named}."{whole}"' if whole in known else suggestion(name, known)
    return WrongKeyError(f'there is no {named.removesuffix("s")} "{name}"', None, meant)

"""Keys and values as TOML writes them."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from typing import Any


def toml_key(name: str) -> str:
    """Return a name as a key of TOML, quoted where it must be."""
    return name if re.fullmatch("[A-Za-z0-9_-]+", name) else toml_value(name)


def toml_value(value: Any) -> str:
    """Return a number, text, list or table as a value on one line.

    >>> toml_value({"sd": 0.01, "batch": [["16", "15"]]})
    '{ sd = 0.01, batch = [["16", "15"]] }'
    """
    if isinstance(value, Mapping):
        pairs = ", ".join(f"{toml_key(key)} = {toml_value(item)}" for key, item in value.items())
        return f"{{ {pairs} }}" if pairs else "{}"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return f"[{', '.join(map(toml_value, value))}]"
    return json.dumps(value, ensure_ascii=False)

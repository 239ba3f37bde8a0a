"""Published figures, one table a file, each row with its source and its grade."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any


@cache
def table(name: str) -> dict[str, Any]:
    """Return the table `shared/reference/<name>.toml`, shared by all callers: don't change it.

    Raises FileNotFoundError for an unknown name.
    """
    return tomllib.loads((files(__name__) / f"{name}.toml").read_text(encoding="utf-8"))

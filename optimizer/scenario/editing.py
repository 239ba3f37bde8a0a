"""A scenario's text with some values changed, everything else as it stands, comments too."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from optimizer.scenario.positions import Path


def edited(source: str, changes: Mapping[Path, Any]) -> str:
    """Return the TOML text `source` with the values at some paths changed or added.

    Raises KeyError where a path leads nowhere.
    """
    import tomlkit  # noqa: PLC0415 - only when something is written

    document = tomlkit.parse(source)
    for path, value in changes.items():
        place: Any = document
        for key in path[:-1]:
            place = place[key]
        place[path[-1]] = value
    return tomlkit.dumps(document)

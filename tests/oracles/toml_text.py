"""A writer of inline TOML, from the language's specification (toml.io, version 1.0)."""

from __future__ import annotations

from collections.abc import Mapping


def quoted(text: str) -> str:
    """Return a text as a basic string."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def inline(value: object) -> str:
    """Return a value as TOML; lists stand over several lines."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, list):
        return "[" + ",\n ".join(map(inline, value)) + "]"
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{quoted(k)} = {inline(v)}" for k, v in value.items()) + "}"
    return str(value)


def document(content: Mapping[str, object]) -> str:
    """Return a table as a document, a line a key, each with a comment."""
    return "".join(f"{quoted(key)} = {inline(value)} # {key}\n" for key, value in content.items())

"""What no scenario needs: refused at once, before every entry is read."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from optimizer.scenario.checks.mistakes import Mistake
from optimizer.scenario.source.content import Content
from optimizer.scenario.source.positions import nodes
from shared.models import Path

VALUES: Final = 20_000
"""The most values of a scenario: an outline of 4000 vertices, and the rest of a long line."""
LONGEST: Final = 500
"""The most letters of a key or a text: a path to a file is the longest."""
ENTRIES: Final = {("weights",): 1000, ("parts",): 100}
"""The most entries of what each is measured with all the others."""


def too_many(content: Content) -> Iterator[Mistake]:
    """Yield the longest table or list if there are too many values in all."""
    count, most = 0, 0
    longest: Path = ()
    for path, value in nodes(content):
        count += 1
        if isinstance(value, dict | list) and len(value) > most:
            most, longest = len(value), path
    if count > VALUES:
        instead = f"a scenario has at most {VALUES}; an outline may be a DXF file"
        yield Mistake(longest, f"has {most} of {count} values", instead, shown=False)


def too_long(content: Content) -> Iterator[Mistake]:
    """Yield keys, texts and tables that are too long."""
    for path, value in nodes(content):
        if path and len(str(path[-1])) > LONGEST:
            yield Mistake(path, f"is a key of more than {LONGEST} letters", shown=False)
        if isinstance(value, str) and len(value) > LONGEST:
            yield Mistake(path, "is too long", f"write at most {LONGEST} letters")
        if path in ENTRIES and isinstance(value, dict | list) and len(value) > ENTRIES[path]:
            yield Mistake(path, f"has {len(value)} entries", f"at most {ENTRIES[path]}")

"""Whose sheet it is: the name, revision and fingerprint of a scenario, found in rows of cells.

Where the document says one of them, another sheet of its kind says its own in the same words: the
document's row with gaps in it is a pattern for the sheet's.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Any, Final

LABELS: Final = {"name": "scenario", "revision": "revision", "sha256": "fingerprint"}
"""What tells one scenario from another, and what it is called."""


@dataclass(frozen=True)
class Other:
    """What a sheet says of itself, where the scenario says something else."""

    what: str
    sheet: str
    scenario: str

    def __str__(self) -> str:
        """Return it in words."""
        label = LABELS[self.what]
        return f'this sheet belongs to {label} "{self.sheet}", here it is {label} "{self.scenario}"'


def said(row: Sequence[str]) -> str:
    """Return a row of cells as patterns match it."""
    return "\t".join(row)


def pattern(scenario: Mapping[str, Any], row: Sequence[str]) -> re.Pattern[str] | None:
    """Return a document's row with a gap where it says one of them, None where it says none."""
    text, rest, made, at = said(row), "", "", 0
    gaps = dict[str, str]()
    for what, start, end in sorted(_places(scenario, row), key=lambda place: place[1]):
        value = text[start:end]
        if start < at or gaps.setdefault(what, value) != value:
            continue
        gap = f"[0-9a-f]{{{len(value)}}}" if what == "sha256" else ".+?"
        again = f"(?P<{what}>" in made
        made += re.escape(text[at:start]) + (f"(?P={what})" if again else f"(?P<{what}>{gap})")
        rest, at = rest + text[at:start], end
    if not gaps or not re.search(r"[^\W\d]{4}", rest + text[at:]):
        return None  # without words of its own it would be any row's
    return re.compile(made + re.escape(text[at:]))


def others(scenario: Mapping[str, Any], says: Iterable[Mapping[str, str]]) -> Iterator[Other]:
    """Yield each thing that a sheet, whose patterns' gaps are `says`, tells otherwise, once."""
    told = set[str]()
    for what, value in chain.from_iterable(one.items() for one in says):
        ours = str(scenario[what])[: len(value) if what == "sha256" else None]
        if value != ours and what not in told:
            told.add(what)
            yield Other(what, value, ours)


def _places(scenario: Mapping[str, Any], row: Sequence[str]) -> Iterator[tuple[str, int, int]]:
    """Yield what stands where in a row: the name only in a line, or beside one other cell."""
    text = said(row)
    name, revision, sha256 = (str(scenario.get(what, "")) for what in LABELS)
    if name and len(row) <= 2:
        for match in re.finditer(rf"(?<!\w){re.escape(name)}(?!\w)", text):
            yield "name", *match.span()
    if revision:
        for match in re.finditer(rf"(?<=\brevision[ \t]){re.escape(revision)}(?!\w)", text):
            yield "revision", *match.span()
    for match in re.finditer(r"\b[0-9a-f]{8,64}\b", text):
        if sha256.startswith(match[0]):
            yield "sha256", *match.span()

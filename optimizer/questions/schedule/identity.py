"""The scenario of a sheet: its name, revision and fingerprint, found in rows of cells.

Where the document states one of them, another sheet of its kind states its own in the same words:
the document's row, with gaps for them, is a pattern for the sheet's.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Any, Final

LABELS: Final = {"name": "scenario", "revision": "revision", "sha256": "fingerprint"}
"""What identifies a scenario, and its name in words."""


@dataclass(frozen=True)
class Other:
    """An identification of a sheet that differs from the scenario's."""

    what: str
    sheet: str
    scenario: str

    def __str__(self) -> str:
        """Return it in words."""
        label = LABELS[self.what]
        return f'this sheet belongs to {label} "{self.sheet}", here it is {label} "{self.scenario}"'


def joined(row: Sequence[str]) -> str:
    """Return a row of cells as one text, for patterns."""
    return "\t".join(row)


def pattern(scenario: Mapping[str, Any], row: Sequence[str]) -> re.Pattern[str] | None:
    """Return a document's row with gaps for its identification, None where it has none."""
    text, rest, made, at = joined(row), "", "", 0
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
        return None  # without words of its own it would match any row
    return re.compile(made + re.escape(text[at:]))


def others(scenario: Mapping[str, Any], gaps: Iterable[Mapping[str, str]]) -> Iterator[Other]:
    """Yield where the texts in a sheet's `gaps` differ from the scenario's, each only once."""
    seen = set[str]()
    for what, value in chain.from_iterable(each.items() for each in gaps):
        ours = str(scenario[what])[: len(value) if what == "sha256" else None]
        if value != ours and what not in seen:
            seen.add(what)
            yield Other(what, value, ours)


def _places(scenario: Mapping[str, Any], row: Sequence[str]) -> Iterator[tuple[str, int, int]]:
    """Yield each identification in a row and its span; the name only in rows of up to two cells."""
    text = joined(row)
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

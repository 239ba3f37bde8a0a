"""Notes on a mould that was picked: how it was sought, and where a search range stops it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from optimizer.lineup.result import LineupResult
from optimizer.paper.quantities import Units
from optimizer.paper.words import listed, plural
from optimizer.scenario.text.scenario_text import FreeDimension

ENDS: Final = {"least": "lower", "most": "upper"}
"""Ends of a search range in words."""


def mould_notes(result: LineupResult, names: Mapping[str, str], units: Units) -> Iterator[str]:
    """Yield how the mould was sought, and which dimensions are at an end of their range."""
    search = result.search
    if search.moulds:
        starts = plural(search.moulds, "start")
        if not search.complete:
            yield f"Interrupted: the mould is the best of {starts}."
        elif search.moulds > 1:
            yield (
                f"The mould is the best found from {starts}, of which {search.agreed} led to one "
                "as good. A better one may exist."
            )
        else:
            yield "The mould was searched from one start. A better one may exist."
    elif result.scenario.chosen and not search.starts:
        of = "" if search.complete else ", from a search that was interrupted"
        yield f"The mould is as it was saved{of}. A better one may exist."
    ends: dict[str, list[str]] = {}
    for name, by_label in result.scenario.chosen.items():
        free = result.scenario.text.dimensions[name]
        if not isinstance(free, FreeDimension):
            continue
        for word, end in (("least", free.min), ("most", free.max)):
            if at := [names[label] for label, value in by_label.items() if value == end]:
                where = "" if len(at) == len(by_label) else f" in {listed(at)}"
                ends.setdefault(word, []).append(f"{name} ({end:g}{where})")
    for word, names_ in ends.items():
        yield (
            f"At the {ENDS[word]} end of their search range, {units.length.name}: "
            f"{listed(names_)}. A wider range may give more room."
        )

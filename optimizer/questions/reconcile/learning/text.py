"""The scenario's text with the spreads that were learned."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from optimizer.questions.reconcile.learning.learned import LearnedSpread
from optimizer.scenario import Scenario
from optimizer.scenario.checks.spread_checks import SIGMAS
from optimizer.scenario.read import read_again
from optimizer.scenario.source.editing import edited
from optimizer.scenario.text.spread_text import KINDS, SpreadOf, SpreadText
from shared.models import Path


def with_learned(scenario: Scenario, learned: Sequence[LearnedSpread]) -> str:
    """Return the scenario's text with what was learned under [spread] density, all else unchanged.

    Each part has an entry; what else one says stays. Raises InputError if it can't be placed, or if
    the scenario couldn't be read with it.
    """
    known = scenario.text.spread or SpreadText()
    entries = dict[str, dict[str, Any]]()
    for each in learned:
        for part in each.parts if each.usable else ():
            had = known.density.get(part)
            entry = entries.get(part) or _entry(scenario, part)
            if each.within:
                inner = entry.get("within", {})
                inner = inner if isinstance(inner, dict) else {"declared": inner}
                spread = None if had is None else had.within
                entry = entry | {"within": _measured(scenario, inner, spread, each)}
            else:
                entry = _measured(scenario, entry, had, each)
            entries[part] = entry
    changes: dict[Path, Any] = {
        ("spread", "density", part): entry for part, entry in entries.items()
    }
    text = edited(scenario.source, changes, file=scenario.file)
    read_again(replace(scenario.written, source=text), scenario.chosen)
    return text


def _entry(scenario: Scenario, part: str) -> dict[str, Any]:
    """Return what the scenario says of a part's spread; of none, its material's ±."""
    entry = scenario.source_value(("spread", "density", part))
    if entry is None:
        (pour,) = (pour for pour in scenario.pours if pour.part == part)
        entry = float(f"{(pour.tolerance or 0.0) / _size(scenario):.12g}")
    return dict(entry) if isinstance(entry, Mapping) else {"declared": entry}


def _size(scenario: Scenario) -> float:
    return scenario.text.units.by("density").size


def _measured(
    scenario: Scenario, entry: Mapping[str, Any], had: SpreadOf[Any] | None, learned: LearnedSpread
) -> dict[str, Any]:
    """Return an entry with its width replaced by what was learned.

    A `bound` that would cut it off goes, and so does a `least` that the shop holds already.
    """
    if learned.spread is None:
        raise ValueError("nothing was learned")
    size = _size(scenario)
    sd = float(f"{learned.spread.sd / size:.3g}")
    new = {k: v for k, v in entry.items() if k not in {*KINDS, "measured", "bound", "least"}}
    if entry.get("bound", 0.0) >= SIGMAS * sd:
        new = {"bound": entry["bound"]} | new
    if had is not None and had.least is not None:
        how = (scenario.text.spread or SpreadText()).declared
        least = float(f"{had.reach(1.0) * had.distribution(how).sd / size:.3g}")
        if least <= sd:
            new["least"] = least
    return {"sd": sd, "measured": learned.count} | new

"""From a scenario back to its text: parts in its grammar, edits in place, a fingerprint."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any

from pydantic import TypeAdapter

from geometry.parts import SEVERAL, Part
from geometry.placement import Placement
from geometry.solids.joined import Joined
from optimizer.scenario.scenario import Scenario
from optimizer.scenario.source.attachments import digest
from optimizer.scenario.source.content import Content
from optimizer.scenario.source.editing import edited
from shared.models import Coordinate, Path

_POINT: TypeAdapter[tuple[float, float, float]] = TypeAdapter(
    tuple[Coordinate, Coordinate, Coordinate]
)


def part_text(part: Part, scenario: Scenario) -> dict[str, Any]:
    """Return a part as its scenario writes it, in its unit of length, without redundant keys."""
    placement, plain = part.placement, Placement()
    text: dict[str, Any] = {"name": part.name}
    if part.inside is not None:
        text["inside"] = list(part.hosts) if part.through else part.inside
    shape = part.shape.model_dump(mode="json", context=scenario.reading)
    if isinstance(part.shape, Joined):
        text |= {key: shape[key] for key in SEVERAL if shape[key]}
    else:
        text["shape"] = shape
    text["at"] = _POINT.dump_python(placement.at, mode="json", context=scenario.reading)
    for key in ("rotate", "stretch"):
        if getattr(placement, key) != getattr(plain, key):
            text[key] = list(getattr(placement, key))
    materials = {pour.part: pour.material for pour in scenario.pours}
    return {**text, "material": materials[part.name]}


Groups = Sequence[Sequence[str]]
"""Groups of weight labels that pour one density; a weight in none of them pours its own."""


def same_density(groups: Groups, labels: Sequence[str]) -> str | list[list[str]]:
    """Return a part's `same_density` for these groups; `labels` are all its weights."""
    known = [[label for label in labels if label in group] for group in groups]
    if any(len(group) == len(labels) for group in known):
        return "all"
    return [group for group in known if len(group) > 1] or "none"


def with_same_density(scenario: Scenario, sharing: Mapping[str, Groups]) -> str:
    """Return the scenario's text with the `same_density` of these parts, all else unchanged.

    If a part has the key, its value is replaced, else a line is added below its material; a part
    that already has these groups is left alone. Raises InputError if the keys can't be placed.
    """
    changes = dict[Path, Any]()
    for i, pour in enumerate(scenario.pours):
        labels = scenario.standing(pour.part)
        had = same_density(scenario.sharing[pour.part], labels)
        asked = same_density(sharing.get(pour.part, scenario.sharing[pour.part]), labels)
        if asked != had:
            changes["parts", i, "same_density"] = asked
    return edited(scenario.source, changes, below="material", file=scenario.file)


def fingerprint(content: Content, files: Mapping[str, bytes] = MappingProxyType({})) -> str:
    """Return the SHA-256, in hex, of the canonical JSON of a parsed scenario.

    Comments, blanks and the order of keys don't change it; every byte of the `files` that the text
    names does: their own SHA-256 are under "files", which is not a key of the grammar.
    """
    if files:
        content = {**content, "files": {name: digest(data) for name, data in files.items()}}
    canonical = json.dumps(
        content, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )
    return hashlib.sha256(canonical.encode()).hexdigest()

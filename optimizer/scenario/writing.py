"""From a scenario back to its text: parts in its own grammar and unit, and its fingerprint."""

from __future__ import annotations

import hashlib
import json
from typing import Any

from pydantic import TypeAdapter

from geometry.parts import Part
from geometry.placement import Placement
from optimizer.scenario.content import Content
from optimizer.scenario.scenario import Scenario
from shared.models import Coordinate

_POINT: TypeAdapter[tuple[float, float, float]] = TypeAdapter(
    tuple[Coordinate, Coordinate, Coordinate]
)


def part_text(part: Part, scenario: Scenario) -> dict[str, Any]:
    """Return a part as its scenario would write it, in its unit of length, nothing left named.

    `inside` is left out for the ball, `rotate` and `stretch` where they do nothing.
    """
    placement, plain = part.placement, Placement()
    text: dict[str, Any] = {"name": part.name}
    if part.inside is not None:
        text["inside"] = part.inside
    text["shape"] = part.shape.model_dump(mode="json", context=scenario.reading)
    text["at"] = _POINT.dump_python(placement.at, mode="json", context=scenario.reading)
    for key in ("rotate", "stretch"):
        if getattr(placement, key) != getattr(plain, key):
            text[key] = list(getattr(placement, key))
    materials = {pour.part: pour.material for pour in scenario.pours}
    return {**text, "material": materials[part.name]}


def fingerprint(content: Content) -> str:
    """Return the SHA-256, in hex, of the canonical JSON of a parsed scenario.

    It doesn't change with comments, blanks or the order of keys.
    """
    canonical = json.dumps(
        content, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )
    return hashlib.sha256(canonical.encode()).hexdigest()

"""The text of each weight: named dimensions resolved, equal ones read once; and its mould."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from pydantic import ValidationError

from geometry.parts import Part
from optimizer.scenario.checks.by_weight import by_weight
from optimizer.scenario.checks.mistakes import Mistake
from optimizer.scenario.checks.wording import invalid
from optimizer.scenario.dimensions import Chosen, values
from optimizer.scenario.source.attachments import Files
from optimizer.scenario.source.content import Content, table
from optimizer.scenario.text.scenario_text import ScenarioText
from shared.models import Reading
from shared.units import DENSITIES, LENGTHS, WEIGHTS, LengthUnit, UnitOf


def texts(
    content: Content, chosen: Chosen, have: Mapping[str, tuple[str, ...]], files: Files
) -> tuple[dict[str, ScenarioText], list[Mistake]]:
    """Return the text for each weight, dimensions resolved, equal ones once; and all mistakes."""
    read, wrong = dict[str, ScenarioText](), dict[str, list[Mistake]]()
    same = dict[tuple[tuple[str, float], ...], str]()
    for label in table(content, "weights") or [""]:
        named = values(content, label, chosen, have)
        first = same.setdefault(tuple(named.items()), label)
        if first == label:
            try:
                units = reading(content, named, files)
                read[label] = ScenarioText.model_validate(content, context=units)
                wrong[label] = []
            except ValidationError as error:
                wrong[label] = list(invalid(error, content))
        else:
            read |= {label: read[first]} if first in read else {}
            wrong[label] = wrong[first]
    return read, by_weight(wrong, content)


def reading(content: Content, named: Mapping[str, float], files: Files) -> Reading:
    """Return the reading of the numbers, with our own unit in place of an invalid one."""
    units = table(content, "units")

    def size(key: str, known: Mapping[str, UnitOf | LengthUnit]) -> float:
        unit = known.get(str(units.get(key)))
        return 1.0 if unit is None else unit.size

    return Reading(
        length=size("length", LENGTHS),
        weight=size("weight", WEIGHTS),
        density=size("density", DENSITIES),
        rg=size("rg", LENGTHS),
        named=named,
        files=files,
    )


def moulds(
    read: Mapping[str, ScenarioText], stands: Mapping[str, Collection[str]]
) -> dict[str, tuple[Part, ...]]:
    """Return the parts of each weight, by its label; equal moulds are one object."""
    known: dict[tuple[Part, ...], tuple[Part, ...]] = {}
    own = {}
    for label, text in read.items():
        parts = tuple(part.part for part in text.parts if label in stands[part.name])
        own[label] = known.setdefault(parts, parts)
    return own

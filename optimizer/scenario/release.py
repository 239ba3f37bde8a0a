"""Named dimensions that are settled, let go again: for questions about a mould that is known."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import replace

from optimizer.ball.sought import Dimension
from optimizer.scenario.dimensions import named_lengths
from optimizer.scenario.left_open import groups
from optimizer.scenario.scenario import Scenario
from optimizer.scenario.text.scenario_text import EachDimension, FreeDimension, RackDimension


def released(scenario: Scenario) -> Scenario:
    """Return the scenario with all lengths of parts alone free, within their ranges or values."""
    return replace(scenario, free=tuple(_dimensions(scenario)))


def unheld(scenario: Scenario) -> Scenario:
    """Return the scenario with those dimensions free that its text leaves free in a range."""
    return replace(
        scenario,
        free=tuple(dimension for dimension in _dimensions(scenario) if dimension.span > 0.0),
    )


def searched(scenario: Scenario, name: str) -> bool:
    """Whether the text leaves the dimension `name` free in a range."""
    return isinstance(scenario.text.dimensions[name], FreeDimension)


def _dimensions(scenario: Scenario) -> Iterator[Dimension]:
    uses: dict[str, set[object]] = {}
    for path, name in named_lengths(tomllib.loads(scenario.source)):
        uses.setdefault(name, set()).add(path[0])
    unit = scenario.reading.length
    for name, one in scenario.text.dimensions.items():
        if uses.get(name) != {"parts"}:
            continue
        labels = scenario.having(name)
        values = [scenario.named(label)[name] * unit for label in labels]
        low, high = min(values), max(values)
        if isinstance(one, FreeDimension):
            low, high = one.min * unit, one.max * unit
        match one:
            case FreeDimension() | RackDimension():
                alike = groups(one.same, labels)
            case EachDimension():
                alike = ()
            case _:
                alike = (labels,)
        yield Dimension(name, low, high, values[0], alike)

"""Named dimensions freed again, for questions about a known mould."""

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
    """Return the scenario with all dimensions that only parts use free, within their ranges."""
    return replace(scenario, free=tuple(_dimensions(scenario)))


def unheld(scenario: Scenario) -> Scenario:
    """Return the scenario with those dimensions free whose ranges or values differ."""
    return replace(scenario, free=tuple(free for free in _dimensions(scenario) if free.span > 0.0))


def searched(scenario: Scenario, name: str) -> bool:
    """Whether the text leaves the dimension `name` free in a range."""
    return isinstance(scenario.text.dimensions[name], FreeDimension)


def _dimensions(scenario: Scenario) -> Iterator[Dimension]:
    uses = {(name, path[0]) for path, name in named_lengths(tomllib.loads(scenario.source))}
    beside = {name for name, table in uses if table != "parts"}
    unit = scenario.reading.length
    for name, dimension in scenario.text.dimensions.items():
        if (name, "parts") not in uses or name in beside:
            continue
        labels = scenario.having(name)
        values = [scenario.named(label)[name] * unit for label in labels]
        low, high = min(values), max(values)
        alike: tuple[tuple[str, ...], ...] = (labels,)
        match dimension:
            case FreeDimension():
                low, high = dimension.min * unit, dimension.max * unit
                alike = groups(dimension.same, labels)
            case RackDimension():
                alike = groups(dimension.same, labels)
            case EachDimension():
                alike = ()
        yield Dimension(name, low, high, values[0], alike)

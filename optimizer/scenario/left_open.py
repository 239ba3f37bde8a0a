"""Dimensions that a text leaves open, to be picked, and the weights that have something alike."""

from __future__ import annotations

from collections.abc import Container, Mapping

from optimizer.ball.sought import Dimension
from optimizer.scenario.dimensions import Chosen
from optimizer.scenario.scenario import Rack
from optimizer.scenario.text.scenario_text import (
    FreeDimension,
    RackDimension,
    SameDensity,
    ScenarioText,
)
from shared.units import LENGTHS


def left_open(
    text: ScenarioText,
    used: Container[str],
    have: Mapping[str, tuple[str, ...]],
    chosen: Chosen,
    opened: Mapping[str, tuple[float, float]],
) -> tuple[tuple[Dimension, ...], tuple[Rack, ...]]:
    """Return the dimensions to be picked, free in a range or on the rack, that parts have used."""
    free, rack = list[Dimension](), list[Rack]()
    unit = LENGTHS[text.units.length].size
    for name, one in text.dimensions.items():
        if name in chosen or name not in used:
            continue
        labels = have[name]
        if name in opened and isinstance(one, float):
            low, high = opened[name]
            free.append(Dimension(name, low * unit, high * unit, one * unit, (labels,)))
        elif isinstance(one, FreeDimension):
            start = (one.min + one.max) / 2 if one.start is None else one.start
            ends = (one.min * unit, one.max * unit, start * unit)
            free.append(Dimension(name, *ends, groups(one.same, labels)))
        elif isinstance(one, RackDimension):
            rack.append(Rack(name, one.one_of, groups(one.same, labels)))
    return tuple(free), tuple(rack)


def groups(same: SameDensity, labels: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    """Return the groups of weights that have something alike."""
    match same:
        case "all":
            return (labels,)
        case "none":
            return ()
        case groups:
            return groups

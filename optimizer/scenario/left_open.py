"""What a text leaves open, and the groups of weights that share a value."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping

from optimizer.ball.sought import Dimension
from optimizer.scenario.dimensions import Chosen
from optimizer.scenario.scenario import Rack, Scenario
from optimizer.scenario.text.material_text import SameDensity
from optimizer.scenario.text.scenario_text import FreeDimension, RackDimension, ScenarioText
from shared.errors import Problem
from shared.units import LENGTHS


def left_open(
    text: ScenarioText,
    used: Container[str],
    have: Mapping[str, tuple[str, ...]],
    chosen: Chosen,
    opened: Mapping[str, tuple[float, float]],
) -> tuple[tuple[Dimension, ...], tuple[Rack, ...]]:
    """Return the dimensions to pick that parts use: those with a range, and those on the rack."""
    free, rack = list[Dimension](), list[Rack]()
    unit = LENGTHS[text.units.length].size
    for name, dimension in text.dimensions.items():
        if name in chosen or name not in used:
            continue
        labels = have[name]
        match dimension:
            case float() if name in opened:
                low, high = opened[name]
                free.append(Dimension(name, low * unit, high * unit, dimension * unit, (labels,)))
            case FreeDimension(min=low, max=high, start=start):
                start = (low + high) / 2 if start is None else start
                ends = (low * unit, high * unit, start * unit)
                free.append(Dimension(name, *ends, groups(dimension.same, labels)))
            case RackDimension(one_of=values):
                rack.append(Rack(name, values, groups(dimension.same, labels)))
    return tuple(free), tuple(rack)


def still_open(scenario: Scenario, *, mould: bool, share: bool) -> Iterator[Problem]:
    """Yield a problem for what `solve` is to pick, where a command asks about one `mould` or blend.

    That of a blend with one share for the line, which either asks for; then each open dimension.
    """
    instead = "give it one value; samespin solve finds the best"
    if (mould or share) and scenario.alike is not None:
        at = ("materials", scenario.alike, "recipe", "share")
        what = "is still to be found, and this command asks about one blend"
        yield scenario.problem(at, f'material "{scenario.alike}" share: {what}', instead)
    for name in scenario.to_pick if mould else ():
        what = f'dimension "{name}" is free, and this command asks about one mould'
        yield scenario.problem(("dimensions", name), what, instead)


def groups(same: SameDensity, labels: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    """Return the groups of weights that share a value."""
    match same:
        case "all":
            return (labels,)
        case "none":
            return ()
        case groups:
            return groups

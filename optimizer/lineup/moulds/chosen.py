"""A scenario with its dimensions chosen, rounded as printed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from optimizer.ball.sought import Dimension
from optimizer.lineup.moulds.starts import Outcome
from optimizer.scenario import Scenario, read_again
from optimizer.scenario.dimensions import Chosen
from shared.errors import InputError
from shared.units import LENGTHS


@dataclass(frozen=True)
class Picked:
    """A scenario with its mould chosen.

    Of the `starts`, `agreed` led to a mould as good as the best, to a hundredth of a tolerance.
    `exact`: only the exact target was accepted.
    """

    scenario: Scenario
    starts: int
    agreed: int
    programs: int
    exact: bool


def stated(scenario: Scenario, outcomes: Sequence[Outcome]) -> Scenario | None:
    """Return the scenario with its free dimensions as printed, to the decimals of its unit.

    None if parts then cross: the dimensions make no mould.
    """
    chosen: dict[str, dict[str, float]] = {dimension.name: {} for dimension in scenario.free}
    free = {weight_class.label: scenario.free_in(weight_class) for weight_class in scenario.classes}
    for outcome in outcomes:
        for label, lengths in outcome.dimensions.items():
            for dimension, length in zip(free[label], lengths, strict=True):
                chosen[dimension.name][label] = as_cut(scenario, dimension, length)
    return with_chosen(scenario, chosen)


def as_cut(scenario: Scenario, dimension: Dimension, length: float) -> float:
    """Return a free dimension (cm) as printed, in the scenario's unit.

    It has the unit's decimals and is never rounded out of its range.
    """
    unit, digits = scenario.reading.length, LENGTHS[scenario.text.units.length].digits
    low, high = dimension.low / unit, dimension.high / unit
    return float(f"{min(max(round(length / unit, digits), low), high):.12g}")


def with_chosen(asked: Scenario, chosen: Chosen) -> Scenario | None:
    """Return the scenario with more of its dimensions chosen, or None if parts don't fit."""
    if not chosen:
        return asked
    more = {**asked.chosen, **chosen}
    try:
        return read_again(asked.written, more)
    except InputError:
        return None

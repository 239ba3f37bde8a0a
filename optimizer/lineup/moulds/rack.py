"""Choices of moulds from the rack, and an upper bound on a partial choice.

A line is no better than its weakest weight, and a weight no better than when solved alone. So a
partial choice is bounded by the weights alone, each with the best value still open to it.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from optimizer.ball.sought import Dimension
from optimizer.lineup.moulds.starts import Rank
from optimizer.scenario import Scenario
from optimizer.scenario.dimensions import Chosen
from optimizer.scenario.scenario import Rack

Choice = tuple[float, ...]
"""A value for each slot, in order; a partial choice has fewer."""


@dataclass(frozen=True)
class Slot:
    """One value to pick: a dimension, for the weights that share it."""

    of: Dimension | Rack
    labels: tuple[str, ...]

    @property
    def values(self) -> Sequence[float]:
        """The values on the rack; none for a free dimension."""
        return self.of.values if isinstance(self.of, Rack) else ()


def slots(asked: Scenario, dimensions: Iterable[Dimension | Rack]) -> list[Slot]:
    """Return the slots of these dimensions; a weight in no group has its own."""
    return [
        Slot(each, group)
        for each in dimensions
        for group in (
            *each.groups,
            *((x,) for x in asked.having(each.name) if not any(x in g for g in each.groups)),
        )
    ]


def chosen(slots: Sequence[Slot], values: Sequence[float]) -> Chosen:
    """Return one value for each slot, by name and weight label."""
    by_name: dict[str, dict[str, float]] = {}
    for slot, value in zip(slots, values, strict=True):
        by_name.setdefault(slot.of.name, {}).update(dict.fromkeys(slot.labels, value))
    return by_name


class Choices:
    """All choices from the rack: a value for each dimension and group of weights."""

    def __init__(self, asked: Scenario) -> None:
        self.rack, self.labels, self.slots = asked.rack, asked.labels, slots(asked, asked.rack)
        self.having = {rack.name: asked.having(rack.name) for rack in asked.rack}

    @property
    def every(self) -> Iterator[Choice]:
        """All of them, in file order."""
        return itertools.product(*(slot.values for slot in self.slots))

    def one_for_all(self) -> Iterator[Choice]:
        """Yield every set of values, one for each dimension on the rack."""
        return itertools.product(*(rack.values for rack in self.rack))

    def everywhere(self, values: Choice) -> Chosen:
        """Return the choice that gives every weight the same values, one for each dimension."""
        return {
            rack.name: dict.fromkeys(self.having[rack.name], value)
            for rack, value in zip(self.rack, values, strict=True)
        }

    def bound(self, made: Choice, alone: Mapping[tuple[str, Choice], Rank]) -> Rank:
        """Return an upper bound on a partial choice; `alone` holds bounds by label and values."""
        return min(
            max(alone[label, values] for values in self._left(label, made)) for label in self.labels
        )

    def _left(self, label: str, made: Choice) -> Iterator[Choice]:
        """Yield the values still open to one weight, one for each dimension.

        A dimension that the weight doesn't have has no effect; its first value is used.
        """
        open_: dict[str, Sequence[float]] = {}
        for k, slot in enumerate(self.slots):
            if label in slot.labels:
                open_[slot.of.name] = (made[k],) if k < len(made) else slot.values
        return itertools.product(*(open_.get(rack.name, rack.values[:1]) for rack in self.rack))

    def descend(
        self,
        made: Choice,
        alone: Mapping[tuple[str, Choice], Rank],
        beaten: Callable[[Rank], bool],
    ) -> Iterator[Choice]:
        """Yield complete choices, the most promising first, without those `beaten` by then."""
        if beaten(self.bound(made, alone)):
            return
        if len(made) == len(self.slots):
            yield made
            return
        values = self.slots[len(made)].values
        for value in sorted(values, key=lambda x: self.bound((*made, x), alone), reverse=True):
            yield from self.descend((*made, value), alone, beaten)

"""The moulds on the rack: every choice of them, and a bound on what part of a choice can give.

A line is no better than its weakest weight, and a weight no better than alone. So a choice that is
made in part is bounded by the weights alone, each with the best that is left to it.
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
"""A value for each slot, in their order; fewer values: made in part."""


@dataclass(frozen=True)
class Slot:
    """One value to pick: a dimension for the weights that have it alike."""

    of: Dimension | Rack
    labels: tuple[str, ...]

    @property
    def values(self) -> Sequence[float]:
        """What there is on the rack; nothing of a dimension that is free."""
        return self.of.values if isinstance(self.of, Rack) else ()


def slots(asked: Scenario, dimensions: Iterable[Dimension | Rack]) -> list[Slot]:
    """Return what is to be picked of these, a weight that is in no group by itself."""
    return [
        Slot(one, group)
        for one in dimensions
        for group in (
            *one.groups,
            *((x,) for x in asked.having(one.name) if not any(x in g for g in one.groups)),
        )
    ]


def chosen(some: Sequence[Slot], values: Sequence[float]) -> Chosen:
    """Return values, one for each slot, by name and weight label."""
    found: dict[str, dict[str, float]] = {}
    for slot, value in zip(some, values, strict=True):
        found.setdefault(slot.of.name, {}).update(dict.fromkeys(slot.labels, value))
    return found


class Choices:
    """What is to be chosen from the rack: a value for each dimension and each group of weights."""

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
        """Return what a choice made in part can give at most; `alone` by label and values."""
        return min(
            max(alone[label, values] for values in self._left(label, made)) for label in self.labels
        )

    def _left(self, label: str, made: Choice) -> Iterator[Choice]:
        """Yield the values that are left to one weight, one for each dimension.

        One that the weight does not have has no effect: it is its first.
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
        """Yield whole choices, the most promising first, leaving out what is `beaten` by then."""
        if beaten(self.bound(made, alone)):
            return
        if len(made) == len(self.slots):
            yield made
            return
        values = self.slots[len(made)].values
        for value in sorted(values, key=lambda x: self.bound((*made, x), alone), reverse=True):
            yield from self.descend((*made, value), alone, beaten)

"""The moulds on the rack: every choice of them, and a bound on what part of a choice can give.

A line is no better than its weakest weight, and a weight no better than alone. So a choice that is
made in part is bounded by the weights alone, each with the best that is left to it.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cached_property

from optimizer.lineup.starts import Rank
from optimizer.scenario import Scenario
from optimizer.scenario.dimensions import Chosen

Choice = tuple[float, ...]
"""A value for each slot, in their order; fewer values: made in part."""


class Slots:
    """What is to be chosen from the rack: a value for each dimension and each group of weights."""

    def __init__(self, asked: Scenario) -> None:
        self.rack, self.labels = asked.rack, asked.labels
        self.having = {rack.name: asked.having(rack.name) for rack in asked.rack}

    @cached_property
    def slots(self) -> Sequence[tuple[str, tuple[str, ...], Sequence[float]]]:
        """Name, weights and values of each slot, in file order."""
        return [
            (rack.name, group, rack.values)
            for rack in self.rack
            for group in (
                *rack.groups,
                *((x,) for x in self.having[rack.name] if not any(x in g for g in rack.groups)),
            )
        ]

    def chosen(self, choice: Choice) -> Chosen:
        """Return a whole choice by name and weight label."""
        found: dict[str, dict[str, float]] = {}
        for (name, group, _), value in zip(self.slots, choice, strict=True):
            found.setdefault(name, {}).update(dict.fromkeys(group, value))
        return found

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

        One that the weight does not have is all one to it: the first will do.
        """
        open_: dict[str, Sequence[float]] = {}
        for k, (name, group, values) in enumerate(self.slots):
            if label in group:
                open_[name] = (made[k],) if k < len(made) else values
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
        _, _, values = self.slots[len(made)]
        ranked = sorted(values, key=lambda value: self.bound((*made, value), alone), reverse=True)
        for value in ranked:
            yield from self.descend((*made, value), alone, beaten)

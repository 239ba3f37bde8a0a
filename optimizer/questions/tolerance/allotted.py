"""Tolerances of a line's inputs, with what they cost and the good balls that they make."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from optimizer.scatter.inputs import Input
from optimizer.spread.distribution import Distribution
from optimizer.spread.simulation import Share


@dataclass(frozen=True, eq=False)
class Allotted:
    """The tolerance of one input: `width`, over its present one (1.0: the present is enough)."""

    input: Input
    width: float

    @property
    def law(self) -> Distribution:
        """Its distribution at that width."""
        return self.input.law if self.enough else self.input.law.scaled(self.width)

    @property
    def enough(self) -> bool:
        """Whether the present tolerance is enough."""
        return self.width == 1.0

    @property
    def tightest(self) -> bool:
        """Whether it is the tightest that the shop could hold."""
        return self.width <= self.input.least

    @property
    def cost(self) -> float:
        """Its price (1 where there are none), over its width."""
        return (1.0 if self.input.price is None else self.input.price) / self.width


@dataclass(frozen=True, eq=False)
class Allocation:
    """Tolerances that reach the `wanted` share of good balls in the weight with the fewest.

    An input has one tolerance in all weights. `good` is the share of good balls of each weight, and
    `line` that of lines of which all are good: simulated at the tolerances as stated, which are
    round in the scenario's units: to one digit more than figures on paper have.
    """

    wanted: float
    each: tuple[Allotted, ...]
    good: Mapping[str, Share]
    line: Share

    @property
    def worst(self) -> str:
        """The label of the weight with the fewest good balls."""
        return min(self.good, key=lambda label: self.good[label].value)

    @property
    def reached(self) -> bool:
        """Whether every weight has the wanted share of good balls."""
        return self.good[self.worst].value >= self.wanted

    @property
    def cost(self) -> float:
        """The cost of all tolerances."""
        return sum(allotted.cost for allotted in self.each)

    @property
    def present_cost(self) -> float:
        """The cost of the present tolerances."""
        return sum(allotted.cost * allotted.width for allotted in self.each)

    @property
    def priced(self) -> bool:
        """Whether costs are the scenario's prices; else each present tolerance costs 1."""
        return all(allotted.input.price is not None for allotted in self.each)

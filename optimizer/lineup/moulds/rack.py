"""Choices of moulds from the rack: which to try first, and which are proven not to be worth it.

A line is no better than its weakest weight, and a weight no better than when solved alone. What
each weight alone was found to reach, with the best value still open to it, gives the order. Only a
proof cuts a choice off.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from optimizer.ball.sought import Dimension
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.moulds.chosen import with_chosen
from optimizer.lineup.moulds.starts import MET, MISSED, Rank, groups, still
from optimizer.lineup.proof.proof import EARLY, Relaxation
from optimizer.lineup.rows import Lineup
from optimizer.scenario import Scenario
from optimizer.scenario.dimensions import Chosen
from optimizer.scenario.scenario import Rack

CUT = 1e-3
"""Tolerances: a choice that is proven to gain no more than this isn't tried."""

UNKNOWN = (MISSED, -math.inf)
"""The promise of values with which not every weight can be made: the others were not solved."""

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

    @property
    def every(self) -> Iterator[Choice]:
        """All of them, in file order."""
        return itertools.product(*(slot.values for slot in self.slots))

    def alone(self, asked: Scenario) -> Iterator[tuple[Choice, Lineup]]:
        """Yield each weight alone with each set of values, one for each dimension on the rack.

        Without those sets with which some weight can't be made.
        """
        for values in itertools.product(*(rack.values for rack in self.rack)):
            everywhere = {
                rack.name: dict.fromkeys(asked.having(rack.name), value)
                for rack, value in zip(self.rack, values, strict=True)
            }
            scenario = with_chosen(asked, everywhere)
            for group in [] if scenario is None else groups(scenario):
                yield from ((values, Lineup.of([one], {}, asked.goal)) for one in group.maps)

    def promise(self, made: Choice, found: Mapping[tuple[str, Choice], Rank]) -> Rank:
        """Return how good a partial choice may be; `found` is by label and values."""
        return min(
            max(found.get((label, values), UNKNOWN) for values in self._left(label, made))
            for label in self.labels
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

    def descend(self, made: Choice, alone: Alone) -> Iterator[Choice]:
        """Yield complete choices, the most promising first, without those proven no better by then.

        A choice is no better if one weight isn't, whatever the values that are still open to it.
        """
        if any(
            all(alone.no_better(label, values) for values in self._left(label, made))
            for label in self.labels
        ):
            return
        if len(made) == len(self.slots):
            yield made
            return
        values = self.slots[len(made)].values
        for value in sorted(
            values, key=lambda x: self.promise((*made, x), alone.found), reverse=True
        ):
            yield from self.descend((*made, value), alone)


class Alone:
    """What each weight alone can reach with the values of a choice, by its label and these.

    `found` is the best that was found, `best` tells the best line so far, and `within` whether it
    may be within tolerance.
    """

    def __init__(self, best: Callable[[], Rank], *, within: bool) -> None:
        self._best, self._within = best, within
        self.found: dict[tuple[str, Choice], Rank] = {}
        self._lineups: dict[tuple[str, Choice], Lineup] = {}
        self._asked: dict[tuple[str, Choice], tuple[Rank, bool]] = {}

    def add(self, values: Choice, lineup: Lineup, found: Rank) -> None:
        """Add what one weight was found to reach with these values."""
        of = (lineup.labels[0], values)
        self.found[of], self._lineups[of] = found, lineup

    def no_better(self, label: str, values: Choice) -> bool:
        """Whether a weight alone is proven to reach no more than the best line so far.

        To CUT; if that one is none within its limits, then no more than that.
        """
        of, best = (label, values), self._best()
        if self.found.get(of, best) > best or of not in self._lineups:
            return False
        if self._lineups[of].sought is not None:  # no proof is about a goal
            return False
        asked, proven = self._asked.get(of, (None, False))
        if asked != best and not (proven and asked is not None and asked[0] == MET):
            proven = _proven(self._lineups[of], best, within=self._within)
            self._asked[of] = best, proven
        return proven


def _proven(lineup: Lineup, best: Rank, *, within: bool) -> bool:
    met, level = best
    if met != MET:
        asked = replace(lineup, within=within)
    elif still(lineup, lineup.columns.middle) <= level + CUT:
        return True
    else:
        asked = raised(lineup, level + CUT)
    return Relaxation(asked, LinearSolver()).verdict(EARLY).proven


def raised(lineup: Lineup, level: float) -> Lineup:
    """Return the line-up with every limit that has a tolerance tighter by `level` of them."""
    maps = tuple(
        replace(
            linear_map,
            bounds=tuple(
                bound.moved(bound.way * level * bound.tolerance)
                if bound.tolerance is not None and bound.held(linear_map)
                else bound
                for bound in linear_map.bounds
            ),
        )
        for linear_map in lineup.maps
    )
    return replace(lineup, maps=maps)

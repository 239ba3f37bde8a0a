"""The margin that one mould for all weights costs, against two or three groups of weights.

Neighbours in order of weight form groups. Every dimension that is free or on the rack follows the
groups, whatever its own `same` says.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from contextlib import nullcontext
from dataclasses import dataclass, replace

import numpy as np

from optimizer.lineup.moulds.search import MouldSearch, Walked
from optimizer.lineup.moulds.starts import Rank, Starts
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.result import LineupResult
from optimizer.questions.sharing.pours import Groups
from optimizer.scenario import Scenario, read_again
from optimizer.scenario.source.editing import edited
from optimizer.scenario.text.scenario_text import RackDimension
from shared import activity

MOST = 3
"""The most groups of weights."""


@dataclass(frozen=True, eq=False)
class MouldPoint:
    """The line-up with these groups of weights, each with its own mould; its scenario as text."""

    groups: Groups
    result: LineupResult
    text: str

    @property
    def found(self) -> bool:
        """Whether a line-up was found."""
        return self.result.status == "feasible"

    @property
    def level(self) -> float:
        """The smallest margin in tolerances, walls included; −inf where nothing was found."""
        smallest = self.result.smallest
        return smallest.tolerances or 0.0 if self.found and smallest is not None else -np.inf


@dataclass(frozen=True, eq=False)
class MouldFrontier:
    """The best grouping for each number of moulds, fewest first; how many groupings were tried."""

    points: tuple[MouldPoint, ...]
    tried: int

    @property
    def able(self) -> tuple[MouldPoint, ...]:
        """The points with a line-up."""
        return tuple(point for point in self.points if point.found)

    @property
    def best(self) -> MouldPoint | None:
        """The point with the largest margin to 0.01 tolerances, of equal ones the fewest moulds."""
        return max(self.able, key=lambda point: round(point.level, 2), default=None)

    def with_moulds(self, count: int) -> MouldPoint | None:
        """Return the point with `count` moulds, if a line-up was found."""
        return next((point for point in self.able if len(point.groups) == count), None)


def mould_frontier(asked: Scenario, how: Starts) -> MouldFrontier:
    """Return the best of one, two and three moulds for a scenario with open dimensions.

    Every way to group neighbours is searched; a group that recurs is not searched again. Raises
    InputError where no mould is possible, SolverError as `solve_lineup` does.
    """
    with how.pool() as workers:  # one for all searches
        return _frontier(asked, replace(how, pool=lambda: nullcontext(workers)))


def _frontier(asked: Scenario, how: Starts) -> MouldFrontier:
    walked: Walked = {}
    points, tried = [], 0
    for count in range(1, min(MOST, len(asked.classes)) + 1):
        best: tuple[Rank, str, Scenario, Groups] | None = None
        for groups in partitions(_by_weight(asked), count):
            tried += 1
            activity.at(f"moulds: {count}, way {tried} of grouping the weights")
            text = with_moulds(asked, groups)
            scenario = read_again(replace(asked.written, source=text), {})
            search = MouldSearch(scenario, how, walked, exact=True)
            with activity.within():
                picked = search.picked()
            if best is None or search.rank > best[0]:
                best = (search.rank, text, picked.scenario, groups)
        if best is not None:
            _, text, settled, groups = best
            points.append(MouldPoint(groups, solve_lineup(settled, exact=True), text))
    return MouldFrontier(tuple(points), tried)


def with_moulds(asked: Scenario, groups: Groups) -> str:
    """Return the scenario's text with every open dimension alike in these groups of weights."""
    text = asked.source
    for name in (*(free.name for free in asked.free), *(rack.name for rack in asked.rack)):
        having = asked.having(name)
        own = [[label for label in group if label in having] for group in groups]
        same = "all" if len(groups) == 1 else [group for group in own if group]
        rack = isinstance(asked.text.dimensions[name], RackDimension)
        path = ("dimensions", name, "same")
        text = edited(text, {path: same}, below="one_of" if rack else "max", file=asked.file)
    return text


def partitions(labels: Sequence[str], count: int) -> Iterator[Groups]:
    """Yield the ways to cut a row of labels into `count` groups of neighbours.

    >>> list(partitions(["16", "15", "14"], 2))
    [(('16',), ('15', '14')), (('16', '15'), ('14',))]
    """
    for cuts in itertools.combinations(range(1, len(labels)), count - 1):
        ends = (0, *cuts, len(labels))
        yield tuple(tuple(labels[a:b]) for a, b in itertools.pairwise(ends))


def _by_weight(asked: Scenario) -> list[str]:
    """Return the labels, heaviest first."""
    return [drawing.label for drawing in sorted(asked.classes, key=lambda drawing: -drawing.mass)]

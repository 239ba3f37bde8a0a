"""Which neighbouring pours of a part may be one: proposed by a program, confirmed by the engine.

Beside the columns of the line-up, the program has a 0/1 column "the same as the next weight's" for
each part and each two weights that are neighbours in order of target. Its rows are the line-up's
own, made at a point, and

    s = 1 → ρ[part, weight] = ρ[part, next]:    |ρ − ρ'| ≤ (highest − lowest)·(1 − s)
    pours saved:                                Σ s ≥ saved

A proposal counts only once the engine has solved the scenario with that `same_density`: the figures
shown are that solution's, and the next rows are made at its point.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.lineup.engine.linear_solver import LinearSolver, Rows
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.rows import Lineup
from optimizer.lineup.target_rows import PRICE
from optimizer.questions.sharing.pours import Groups, Point
from optimizer.scenario import Scenario, linear_maps
from shared.arrays import Array

SAME = 1e-3
"""Tolerances: two margins closer than this are equal, after the densities' rounding."""
REFUSED = 4
"""Choices that the engine may fail to confirm before the search for a number of pours stops: each
takes seconds."""

Choice = frozenset[int]
"""The numbers of the links that hold."""


@dataclass(frozen=True)
class Link:
    """Two neighbouring pours of one part that may be one: their columns, and their largest step."""

    part: str
    first: int
    second: int
    widest: float


class LinkSearch:
    """Choices of links, proposed by the program and each solved once by the engine."""

    def __init__(self, scenario: Scenario, own: Point) -> None:
        self.scenario, self.solver = scenario, LinearSolver()
        maps = linear_maps(scenario)
        self.lineup = Lineup.of(maps, scenario.sharing)
        self.links = tuple(links(self.lineup))
        self.tried: dict[Choice, Point] = {frozenset(): own}

    def best(self, saved: int, start: Point, among: Sequence[int] | None = None) -> Point | None:
        """Return the best point found from `start` with at least `saved` links, or None.

        Only the links `among` count; all if not given. The rows are made at the best point so far,
        or at the last proposal if the engine can't confirm it, until the program promises no more
        than what is known.
        """
        among = range(len(self.links)) if among is None else among
        x, best = self.lineup.point_of(start.result), None
        proposed, refused = set[Choice](), 0
        while refused < REFUSED:
            promised, choice, there = self._proposal(saved, among, x)
            if promised <= (-SAME if best is None else best.level + SAME) or choice in proposed:
                return best
            proposed.add(choice)
            point = self.point(choice)
            if not point.found:
                x, refused = there, refused + 1
            elif best is None or point.level > best.level:
                best, x = point, self.lineup.point_of(point.result)
        return best

    def _proposal(self, saved: int, among: Sequence[int], x: Array) -> tuple[float, Choice, Array]:
        """Return the margin that the program at `x` promises, its choice and its columns."""
        own, links = self.lineup.columns, len(self.links)
        fixed = (own.lower == own.upper) | (np.arange(own.count) >= own.figures)
        lower = np.where(fixed, own.lower, own.middle - own.spread / 2)
        upper = np.where(fixed, own.upper, own.middle + own.spread / 2)
        rows = [
            replace(row, coefficients=np.pad(row.coefficients, (0, links)))
            for row in self.lineup.margin_rows(x)
        ]
        rows += [*self._link_rows(), *self._choice_rows(saved, among)]
        optimum = self.solver.best(
            Rows.of(rows),
            np.pad(lower, (0, links)),
            np.pad(upper, (0, links), constant_values=1.0),
            whole=links,
        )
        chosen = np.flatnonzero(optimum.x[own.count :] > 0.5)
        return optimum.objective, frozenset(chosen.tolist()), optimum.x[: own.count]

    def _choice_rows(self, saved: int, among: Sequence[int]) -> Iterator[LinearRow]:
        """Yield the count of links, and rows that exclude failed choices and all that contain them.

        Where these leave no choice, the count is violated at its price, and nothing is promised.
        """
        yield LinearRow(Name("pours saved"), self._over(among), float(saved), np.inf, price=PRICE)
        for choice, point in self.tried.items():
            if not point.found:
                most = float(len(choice) - 1)
                yield LinearRow(Name("not found"), self._over(choice), -np.inf, most)

    def _over(self, links: Iterable[int]) -> Array:
        row = np.zeros(self.lineup.columns.count + len(self.links))
        row[[self.lineup.columns.count + k for k in links]] = 1.0
        return row

    def _link_rows(self) -> Iterator[LinearRow]:
        """Yield both sides of each link: it makes the two densities equal where it holds."""
        for k, link in enumerate(self.links):
            step = np.zeros(self.lineup.columns.count + len(self.links))
            step[[link.first, link.second]] = 1.0, -1.0
            for sign in (1.0, -1.0):
                row = sign * step
                row[self.lineup.columns.count + k] = link.widest
                yield LinearRow(Name(f"{link.part} the same"), row, -np.inf, link.widest)

    def point(self, choice: Choice) -> Point:
        """Return the engine's line-up for a choice, found or not."""
        if choice not in self.tried:
            sharing = self._sharing(choice)
            result = solve_lineup(replace(self.scenario, sharing=sharing), exact=True)
            self.tried[choice] = Point(sharing, result)
        return self.tried[choice]

    def _sharing(self, choice: Choice) -> dict[str, Groups]:
        """Return the groups of each part: the scenario's own, joined by the links of a choice."""
        root: dict[int, int] = {}
        for link in (self.links[k] for k in sorted(choice)):  # in order along each part's chain
            root[link.second] = root.get(link.first, link.first)
        sharing = {}
        for pour in self.scenario.pours:
            groups: dict[int, list[str]] = {}
            for label, column in self.lineup.pouring(pour.part).items():
                groups.setdefault(root.get(column, column), []).append(label)
            sharing[pour.part] = tuple(tuple(group) for group in groups.values() if len(group) > 1)
        return sharing


def links(lineup: Lineup) -> Iterator[Link]:
    """Yield the links of each part: its pours in the order of the weights, heaviest first."""
    order = sorted(lineup.maps, key=lambda linear_map: -linear_map.mass)
    pours = {pour.part: pour for m in lineup.maps for pour in m.pours if not pour.fixed}
    for pour in pours.values():
        columns = lineup.pouring(pour.part)
        own = dict.fromkeys(columns[m.label] for m in order if m.label in columns)
        for first, second in pairwise(own):
            yield Link(pour.part, first, second, pour.high - pour.low)

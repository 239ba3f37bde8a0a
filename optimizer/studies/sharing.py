"""How few different pours a line can do with, and what that costs in margin.

A pour is a material at one density: whatever is poured of it, into whichever part and weight, is one
recipe. Each choice is a 0/1 column "same as the next weight's" for each part and each two weights
next to each other in order of target; a mixed-integer program over the line-up's own rows, made at
a point, proposes the best choices for a number of pours:

    s = 1 → ρ[part, weight] = ρ[part, next]:    |ρ − ρ'| ≤ (highest − lowest)·(1 − s)
    pours saved:                                Σ s ≥ saved

A proposal counts only once the engine has solved the scenario with that `same_density`: the figures
told are that solution's, and its point is where the rows are made next.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

import numpy as np

from optimizer.linear.rows import LinearRow, Margin
from optimizer.lineup.columns import columns
from optimizer.lineup.pipeline import Told, solve_lineup
from optimizer.lineup.result import LineupResult
from optimizer.lineup.rows import Lineup
from optimizer.lineup.solve import LinearSolver, Rows
from optimizer.scenario import Scenario, linear_maps
from shared.arrays import Array

GAIN = 0.05
"""Tolerances. A pour that brings less than this is not worth a line: a screen shows tenths."""
SAME = 1e-3
"""Tolerances: two margins nearer than this are the same, after the densities' rounding."""
MOVES = 4
"""How often the rows are made anew, while the program at them promises no line-up at all."""

Groups = tuple[tuple[str, ...], ...]
Choice = frozenset[int]
"""The numbers of the links that hold."""


@dataclass(frozen=True)
class Recipe:
    """One pour: a material at a density (g/cm³, as stated), and the parts and weights it is for."""

    material: str
    density: float
    poured: tuple[tuple[str, str], ...]


@dataclass(frozen=True, eq=False)
class Point:
    """A line-up with some densities in common: per part, the groups that `sharing` asks for."""

    sharing: Mapping[str, Groups]
    result: LineupResult

    @property
    def found(self) -> bool:
        """Whether the engine has found it, all targets met inside all limits."""
        return self.result.status == "feasible"

    @cached_property
    def recipes(self) -> tuple[Recipe, ...]:
        """What has to be mixed for the whole line, equal densities of one material once."""
        found: dict[tuple[str, float], list[tuple[str, str]]] = {}
        for weight in self.result.weights:
            for pour, density in zip(
                weight.ball.map.pours, weight.ball.densities.tolist(), strict=True
            ):
                found.setdefault((pour.material, density), []).append((pour.part, weight.label))
        return tuple(Recipe(*key, tuple(poured)) for key, poured in found.items())

    @property
    def pours(self) -> int:
        """How many different pours the line takes."""
        return len(self.recipes)

    @property
    def smallest(self) -> Margin | None:
        """The smallest margin that a density moves, or None where none has a tolerance."""
        return next((margin for margin in self.result.margins if margin.movable), None)

    @property
    def level(self) -> float:
        """The smallest margin in tolerances; 0 where none has a tolerance, and all are alike."""
        return 0.0 if self.smallest is None else self.smallest.tolerances or 0.0


@dataclass(frozen=True, eq=False)
class Frontier:
    """The line-up as the scenario has it, and what fewer pours cost.

    `points` go from the most pours to the fewest, each with less margin than the one before; none
    where the scenario's own line-up was not found. `alone` are, by part, the line-ups with one
    density of that part in every weight, for parts that don't have it anyway; None: none found.
    """

    own: Point
    points: tuple[Point, ...]
    alone: Mapping[str, Point | None]

    def at_most(self, pours: int) -> Point | None:
        """Return the point with the most margin of those with at most so many pours."""
        return next((point for point in self.points if point.pours <= pours), None)


def frontier(scenario: Scenario, told: Told = lambda _choice, _level: None) -> Frontier:
    """Return the largest smallest margin that was found for each number of pours.

    Densities that the scenario shares stay shared. Raises SolverError as `solve_lineup` does.
    """
    own = Point(scenario.sharing, solve_lineup(scenario))
    if not own.found:
        return Frontier(own, (), {})
    search = _Search(scenario, own)
    alone = {}
    for part in dict.fromkeys(link.part for link in search.links):
        told(f"with one density of {part}", own.level)
        links = [k for k, link in enumerate(search.links) if link.part == part]
        alone[part] = search.best(len(links), own, among=links)
    best: Point | None = own
    for saved in range(1, len(search.links) + 1):
        told(f"{saved} of {len(search.links)} densities saved", best.level)
        best = search.best(saved, best)
        if best is None:
            break
    return Frontier(own, _worth(point for point in search.tried.values() if point.found), alone)


def _worth(found: Iterable[Point]) -> tuple[Point, ...]:
    """Return the points, most pours first, leaving out pours that bring no margin."""
    kept: list[Point] = []
    for point in sorted(found, key=lambda one: (one.pours, -one.level)):
        if not kept or point.level >= kept[-1].level + GAIN:
            kept.append(point)
    return tuple(reversed(kept))


@dataclass(frozen=True)
class _Link:
    """Two neighbouring pours of one part that may be one: their columns, and the widest step."""

    part: str
    first: int
    second: int
    widest: float


class _Search:
    """Choices of links, proposed by the program and put to the engine, each once."""

    def __init__(self, scenario: Scenario, own: Point) -> None:
        self.scenario, self.solver = scenario, LinearSolver()
        maps = linear_maps(scenario)
        self.lineup = Lineup(maps, scenario.limits, columns(maps, scenario.sharing))
        self.links = tuple(_links(self.lineup))
        self.tried: dict[Choice, Point] = {frozenset(): own}

    def best(self, saved: int, start: Point, among: Sequence[int] | None = None) -> Point | None:
        """Return the best point found with so many links at least, looked for from `start`.

        Links `among` those named are counted, or all; None where nothing is found.

        The rows are made at the best point so far, or where the last proposal was if the engine
        can't confirm it, until what is promised is no more than there is.
        """
        among = range(len(self.links)) if among is None else among
        x, best = self._columns(start), None
        proposed = set[Choice]()
        while True:
            promised, choice, there = self._proposal(saved, among, x)
            if promised <= (-SAME if best is None else best.level + SAME) or choice in proposed:
                return best
            proposed.add(choice)
            point = self.point(choice)
            if not point.found:
                x = there
            elif best is None or point.level > best.level:
                best, x = point, self._columns(point)

    def _proposal(self, saved: int, among: Sequence[int], x: Array) -> tuple[float, Choice, Array]:
        """Return what the program promises, near `x`, for which choice, and its columns."""
        own, links = self.lineup.columns, len(self.links)
        fixed = (own.lower == own.upper) | (np.arange(own.count) >= own.figures)
        lower = np.where(fixed, own.lower, own.middle - own.spread / 2)
        upper = np.where(fixed, own.upper, own.middle + own.spread / 2)
        choices = [*self._link_rows(), *self._choice_rows(saved, among)]
        for _ in range(MOVES):
            rows = [
                replace(row, coefficients=np.pad(row.coefficients, (0, links)))
                for row in self.lineup.margin_rows(x)
            ]
            found = self.solver.best(
                Rows.of([*rows, *choices]),
                np.pad(lower, (0, links)),
                np.pad(upper, (0, links), constant_values=1.0),
                whole=links,
            )
            x = found.x[: own.count]
            if found.objective > -SAME:
                break
        return found.objective, frozenset(np.flatnonzero(found.x[own.count :] > 0.5).tolist()), x

    def _choice_rows(self, saved: int, among: Sequence[int]) -> Iterator[LinearRow]:
        """Yield the count of links, and that what was not found is not asked for again, nor more."""
        yield LinearRow("pours saved", self._over_links(among), float(saved), np.inf)
        for choice in (choice for choice, point in self.tried.items() if not point.found):
            row = self._over_links(choice)
            yield LinearRow("not found", row, -np.inf, float(len(choice) - 1))

    def _over_links(self, links: Iterable[int]) -> Array:
        row = np.zeros(self.lineup.columns.count + len(self.links))
        row[[self.lineup.columns.count + k for k in links]] = 1.0
        return row

    def _link_rows(self) -> Iterator[LinearRow]:
        """Yield both sides of each link: the two densities are the same where it holds."""
        for k, link in enumerate(self.links):
            step = np.zeros(self.lineup.columns.count + len(self.links))
            step[[link.first, link.second]] = 1.0, -1.0
            for sign in (1.0, -1.0):
                row = sign * step
                row[self.lineup.columns.count + k] = link.widest
                yield LinearRow(f"{link.part} the same", row, -np.inf, link.widest)

    def point(self, choice: Choice) -> Point:
        """Return the line-up of a choice as the engine finds it, or not."""
        if choice not in self.tried:
            sharing = self._sharing(choice)
            result = solve_lineup(replace(self.scenario, sharing=sharing))
            self.tried[choice] = Point(sharing, result)
        return self.tried[choice]

    def _sharing(self, choice: Choice) -> dict[str, Groups]:
        """Return the groups of each part: the scenario's own, joined by the links of a choice."""
        root: dict[int, int] = {}
        for link in (self.links[k] for k in sorted(choice)):  # in order along each part's chain
            root[link.second] = root.get(link.first, link.first)
        sharing = {}
        for i, pour in enumerate(self.scenario.pours):
            groups: dict[int, list[str]] = {}
            for column, label in zip(
                self.lineup.columns.place[:, i].tolist(), self.lineup.labels, strict=True
            ):
                groups.setdefault(root.get(column, column), []).append(label)
            sharing[pour.part] = tuple(tuple(group) for group in groups.values() if len(group) > 1)
        return sharing

    def _columns(self, point: Point) -> Array:
        """Return the columns of a point."""
        own, x = self.lineup.columns, np.zeros(self.lineup.columns.count)
        for k, weight in enumerate(point.result.weights):
            x[own.place[k]] = weight.ball.densities
        x[own.figures :] = point.result.figures
        return x


def _links(lineup: Lineup) -> Iterator[_Link]:
    """Yield the links of each part: its pours in the order of the weights, heaviest first."""
    order = sorted(range(len(lineup.maps)), key=lambda k: -lineup.maps[k].mass)
    for i, pour in enumerate(lineup.maps[0].pours):
        if pour.fixed:
            continue
        own = list(dict.fromkeys(lineup.columns.place[order, i].tolist()))
        for first, second in pairwise(own):
            yield _Link(pour.part, first, second, pour.high - pour.low)

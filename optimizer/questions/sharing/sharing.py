"""How few different pours a line can do with, and what that costs in margin.

A pour is a material at one density: whatever is poured of it, into whichever part and weight, is
one recipe.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from optimizer.lineup.pipeline import solve_lineup
from optimizer.questions.sharing.links import LinkSearch
from optimizer.questions.sharing.pours import Point
from optimizer.scenario import Scenario
from shared import activity

GAIN = 0.05
"""Tolerances. A pour that brings less than this is not worth a line: a screen shows tenths."""


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


def frontier(scenario: Scenario) -> Frontier:
    """Return the largest smallest margin that was found for each number of pours.

    Densities that the scenario shares stay shared. Raises SolverError as `solve_lineup` does.
    """
    own = Point(scenario.sharing, solve_lineup(scenario))
    if not own.found:
        return Frontier(own, (), {})
    search = LinkSearch(scenario, own)
    alone = {}
    for part in dict.fromkeys(link.part for link in search.links):
        activity.at(f"with one density of {part}", own.level)
        links = [k for k, link in enumerate(search.links) if link.part == part]
        alone[part] = search.best(len(links), own, among=links)
    best, saved = own, 0
    while saved < len(search.links):
        saved += 1
        activity.at(f"with {saved} of {len(search.links)} densities saved", best.level)
        found = search.best(saved, best)
        if found is None:
            break
        best = found
    return Frontier(own, worth(point for point in search.tried.values() if point.found), alone)


def worth(points: Iterable[Point]) -> tuple[Point, ...]:
    """Return the points, most pours first, leaving out pours that bring no margin."""
    kept: list[Point] = []
    for point in sorted(points, key=lambda one: (one.pours, -one.level)):
        if not kept or point.level >= kept[-1].level + GAIN:
            kept.append(point)
    return tuple(reversed(kept))

"""How few different pours a line needs, and what that costs in margin.

A pour is a material at one density: all parts and weights cast from it count as one recipe.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from optimizer.lineup.pipeline import solve_lineup
from optimizer.questions.sharing.fewest import QUICK, Fewest, fewest
from optimizer.questions.sharing.pour_links import LinkSearch
from optimizer.questions.sharing.pours import Point
from optimizer.scenario import Scenario
from shared import activity

GAIN = 0.05
"""Tolerances. A pour that gains less than this isn't shown: a screen shows tenths."""


@dataclass(frozen=True, eq=False)
class Frontier:
    """The line-up as the scenario has it, and what fewer pours cost.

    `points` go from the most pours to the fewest, each with less margin than the one before; empty
    where the scenario's own line-up was not found. `alone` has, for each part that doesn't share
    one density yet, the line-up with one in every weight; None if none was found. `fewest` is what
    is proven of their number; None where nothing is.
    """

    own: Point
    points: tuple[Point, ...]
    alone: Mapping[str, Point | None]
    fewest: Fewest | None = None

    def at_most(self, pours: int) -> Point | None:
        """Return the point with the most margin of those with at most `pours` pours."""
        return next((point for point in self.points if point.pours <= pours), None)


def frontier(scenario: Scenario, effort: int = QUICK) -> Frontier:
    """Return the largest smallest margin found for each number of pours.

    Densities that the scenario shares stay shared. `effort` is the number of programs for a proof
    that fewer pours won't do. Raises SolverError as `solve_lineup` does.
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
    best: Point | None = own
    for saved in range(1, len(search.links) + 1):
        if best is None:
            break
        activity.at(f"with {saved} of {len(search.links)} densities saved", best.level)
        best = search.best(saved, best)
    tried = [point for point in search.tried.values() if point.found]
    bound = fewest(scenario, tried, effort)
    if bound is not None and bound.point is not None and not bound.across:
        tried.append(bound.point)
    return Frontier(own, worthwhile(tried), alone, bound)


def worthwhile(points: Iterable[Point]) -> tuple[Point, ...]:
    """Return the points, most pours first, without pours that gain no margin."""
    kept: list[Point] = []
    for point in sorted(points, key=lambda point: (point.pours, -point.level)):
        if not kept or point.level >= kept[-1].level + GAIN:
            kept.append(point)
    return tuple(reversed(kept))

"""What comes back from a solve: balls as stated, measured exactly, with their margins."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from math import inf
from typing import TYPE_CHECKING, Literal

from optimizer.ball.bounds import Margin
from optimizer.ball.weight_class import Ball
from optimizer.lineup.margins import Deviation
from optimizer.lineup.shown import Shown
from optimizer.scenario.scenario import Scenario

if TYPE_CHECKING:  # a group's rows know what a result is
    from optimizer.lineup.goals import Reached
    from optimizer.lineup.group import Solution

Status = Literal["feasible", "within_tolerance", "infeasible", "undecided"]
"""Within tolerance: every limit is kept, and each target that can't be met exactly is met within
its declared tolerance."""


@dataclass(frozen=True, eq=False)
class WeightResult:
    """One weight class: the ball at the densities as printed, and all its margins.

    `within`: it meets the target only within the declared tolerances; what is left of them is then
    among the margins.
    """

    ball: Ball
    margins: tuple[Margin, ...]
    deviations: tuple[Deviation, ...]
    within: bool = False

    def roomed(self) -> WeightResult:
        """Return this ball as one that may miss the target by its tolerances."""
        if self.within:
            return self
        rooms = tuple(room for off in self.deviations if (room := off.room(self.label)))
        return replace(self, margins=(*self.margins, *rooms), within=True)

    @property
    def label(self) -> str:
        """The label of the weight class."""
        return self.ball.map.label


def ranked(weights: Iterable[WeightResult]) -> list[Margin]:
    """Return the balls' binding margins that have tolerances, the smallest first."""
    every = (margin for weight in weights for margin in weight.margins if not margin.rule_only)
    ranked = ((m.tolerances, m) for m in every if m.tolerances is not None)
    return [margin for _, margin in sorted(ranked, key=lambda pair: pair[0])]


@dataclass(frozen=True, eq=False)
class Infeasible:
    """Why there is no line-up: how that is known, and what stops the nearest one.

    `proof` says in words what was proven and how. `broken` are violated limits that no density
    moves (a wall); `stops` the limits that bind the nearest line-up. `loose` are the weights whose
    nearest ball misses even the class weight. `shared` are the figures (cm) of the nearest target
    that the whole line can share, which the nearest line-up then has. It is None if no such target
    is known: each weight then comes as near as it can, and `unshared` says whether it is proven
    that none exists, or None if none was sought.
    """

    proof: str
    broken: tuple[Margin, ...]
    stops: tuple[Margin, ...]
    loose: tuple[str, ...] = ()
    shared: tuple[float, ...] | None = None
    unshared: bool | None = None


@dataclass(frozen=True)
class Search:
    """How the search went.

    `work` counts the rows of all `programs`; `moulds` the starts of the search for a mould (0
    without free dimensions), and `agreed` those that led to one as good as the best.
    """

    complete: bool
    starts: int
    programs: int
    solver: str
    moulds: int = 0
    agreed: int = 0
    work: int = 0


@dataclass(frozen=True, eq=False)
class LineupResult(Shown):
    """A line-up. `figures` are the target's RG, differential (, intermediate) as met, in cm.

    If infeasible or undecided, `weights` holds the nearest line-up that can be poured. If within
    tolerance, `inexact` says in words what is known about the exact target. `exact`: only the exact
    target was accepted. `groups` are the search's answers for the groups of coupled weights, before
    densities were rounded; none where the line-up comes from a file. `goal` is what became of a
    number that was sought.
    """

    scenario: Scenario
    status: Status
    figures: tuple[float, ...]
    weights: tuple[WeightResult, ...]
    infeasible: Infeasible | None
    search: Search
    warnings: tuple[str, ...]
    inexact: str = ""
    exact: bool = False
    groups: tuple[Solution, ...] = ()
    goal: Reached | None = None

    @property
    def accepted(self) -> bool:
        """Whether the line-up can be poured: exactly on target, or within its tolerances."""
        return self.status in ("feasible", "within_tolerance")

    @property
    def margins(self) -> tuple[Margin, ...]:
        """The margins of all weights that decide feasibility and have tolerances, smallest first.

        A rule on a figure that the scenario fixes is left out: a target has no margin.
        """
        return tuple(ranked(self.weights))

    @property
    def largest_deviation(self) -> tuple[str, Deviation] | None:
        """The largest deviation in tolerances, and its weight; None unless within tolerance."""
        if self.status != "within_tolerance":
            return None
        every = [(w.label, off) for w in self.weights if w.within for off in w.deviations]
        return max(every, key=lambda item: abs(item[1].tolerances or 0.0))

    @property
    def smallest(self) -> Margin | None:
        """The smallest margin in tolerances, or None if none has a tolerance."""
        return self.margins[0] if self.margins else None

    @property
    def smallest_moved(self) -> Margin | None:
        """The smallest margin that densities or free dimensions move, None if there is none."""
        return next((margin for margin in self.margins if margin.movable), None)

    @property
    def room(self) -> float:
        """That margin in tolerances; inf if there is none."""
        smallest = self.smallest_moved
        return inf if smallest is None or smallest.tolerances is None else smallest.tolerances


class SearchInterruptedError(KeyboardInterrupt):
    """A search was interrupted; `best()` returns the line-up of the best mould so far.

    That may take a while; if the search for a mould was not over, it is marked incomplete.
    """

    def __init__(self, best: Callable[[], LineupResult]) -> None:
        self.best = best
        super().__init__("the search for a mould was interrupted")

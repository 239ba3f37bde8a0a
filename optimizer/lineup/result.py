"""What comes back from a solve: balls as stated, measured exactly, with their margins."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Literal

from optimizer.ball.bounds import Margin
from optimizer.ball.weight_class import Ball
from optimizer.lineup.margins import Deviation
from optimizer.lineup.shown import Shown
from optimizer.scenario.scenario import Scenario

Status = Literal["feasible", "within_tolerance", "infeasible", "undecided"]
"""Within tolerance: every limit is kept, and each target is met within its declared tolerance where
it can't be met exactly."""


@dataclass(frozen=True, eq=False)
class WeightResult:
    """One weight class: the ball at the densities as stated, and all its margins.

    `within`: it is on target within the declared tolerances only; what is left of them is then
    among the margins.
    """

    ball: Ball
    margins: tuple[Margin, ...]
    deviations: tuple[Deviation, ...]
    within: bool = False

    def roomed(self) -> WeightResult:
        """Return this ball as one that may be off target by the declared tolerances."""
        if self.within:
            return self
        rooms = tuple(room for off in self.deviations if (room := off.room(self.label)))
        return replace(self, margins=(*self.margins, *rooms), within=True)

    @property
    def label(self) -> str:
        """The label of the weight class."""
        return self.ball.map.label


def ranked(weights: Iterable[WeightResult]) -> list[Margin]:
    """Return the margins of balls that have tolerances and decide, the smallest first."""
    every = (margin for weight in weights for margin in weight.margins if not margin.rule_only)
    told = ((m.tolerances, m) for m in every if m.tolerances is not None)
    return [margin for _, margin in sorted(told, key=lambda pair: pair[0])]


@dataclass(frozen=True, eq=False)
class Infeasible:
    """Why a line-up can't be: how that is known, and what stops the nearest line-up.

    `proof` says in words what was proven and how. `broken` are margins under their limit that no
    density moves (a wall); `stops` the limits that hold the nearest line-up where it is. `loose`
    are the weights whose nearest ball doesn't even have the class weight. `shared` are the figures
    of the nearest target that the whole line can share (cm), which the nearest line-up then has;
    None where none is known, and each weight comes nearest for itself: `unshared` then says whether
    it is proven that there is none, and is None where none was sought.
    """

    proof: str
    broken: tuple[Margin, ...]
    stops: tuple[Margin, ...]
    loose: tuple[str, ...] = ()
    shared: tuple[float, ...] | None = None
    unshared: bool | None = None


@dataclass(frozen=True)
class Search:
    """How the answer was sought.

    `work` are the rows of all `programs`; `moulds` are the starts from which moulds were sought, 0
    where none was free, and `agreed` how many of them led to one as good as the best.
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

    When infeasible or undecided, `weights` holds the nearest line-up that can be poured. `inexact`
    says in words what is known of the exact target where the line-up is within tolerance. With
    `exact` nothing but the exact target was asked for.
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

    @property
    def accepted(self) -> bool:
        """Whether there is a line-up to pour: exactly on target, or within its tolerances."""
        return self.status in ("feasible", "within_tolerance")

    @property
    def margins(self) -> tuple[Margin, ...]:
        """All margins that have tolerances and decide feasibility, of all weights, smallest first.

        How a figure that the scenario gives stands to a rule is left out: a target has no margin.
        """
        return tuple(ranked(self.weights))

    @property
    def largest_deviation(self) -> tuple[str, Deviation] | None:
        """What is off its target the most, in tolerances, and its weight: of a line-up within them.

        None of any other.
        """
        if self.status != "within_tolerance":
            return None
        every = [(w.label, off) for w in self.weights if w.within for off in w.deviations]
        return max(every, key=lambda item: abs(item[1].tolerances or 0.0))

    @property
    def smallest(self) -> Margin | None:
        """The smallest margin in tolerances, or None where none has a tolerance."""
        return self.margins[0] if self.margins else None


class SearchInterruptedError(KeyboardInterrupt):
    """The search for a mould was interrupted; `best()` is the line-up of the best mould so far.

    Its search is not complete. It takes a while, and is for those who will say so.
    """

    def __init__(self, best: Callable[[], LineupResult]) -> None:
        self.best = best
        super().__init__("the search for a mould was interrupted")

"""Which low RGs and differentials each weight can reach, and which all weights can share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from operator import itemgetter
from typing import Final

import numpy as np

from optimizer.ball.bounds import Margin
from optimizer.ball.figures import DIFFERENTIAL, LOW_RG
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.columns import columns
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.margins import margins
from optimizer.lineup.result import Status
from optimizer.lineup.shown import Shown
from optimizer.lineup.stating import fixed_and_broken
from optimizer.questions.window.exact.bands import Band
from optimizer.questions.window.exact.plane_boxes import rules_box
from optimizer.questions.window.reach import PLANE, Reach, flat, opened
from optimizer.questions.window.shared_reach import LineReach, coupled_groups, together
from optimizer.scenario import Scenario, linear_maps
from shared import activity
from shared.errors import InputError, Problem

INSTEAD: Final = "ask about some of the weights, in a file of their own"
MOST: Final = 40
"""Weights of a line: each is left out once, so the work grows with their square."""
TIED: Final = 60
"""Densities tied together: twelve weights of five parts with one cover take 80 s."""


@dataclass(frozen=True, eq=False)
class WeightWindow:
    """What one weight can reach by itself, and what the others share without it.

    It keeps to `rules`, the rulebook's box; `note` says why where those rules don't apply to it.
    """

    map: LinearMap
    alone: Reach
    without: Reach | None
    note: str | None
    rules: Band


@dataclass(frozen=True, eq=False)
class Window(Shown):
    """The windows of a line. `broken` limits (a wall) depend on no density and are ignored here.

    `answer` is the status of the line-up solved for a target outside the shared window.
    """

    scenario: Scenario
    weights: tuple[WeightWindow, ...]
    common: Reach
    broken: tuple[Margin, ...]
    answer: Status | None = None

    @property
    def maps(self) -> list[LinearMap]:
        """The weight classes, RG and differential free."""
        return [weight.map for weight in self.weights]

    @property
    def names(self) -> dict[str, str]:
        """Each weight label's name, such as "16 lb"."""
        return {linear_map.label: linear_map.name for linear_map in self.maps}

    @property
    def target_point(self) -> tuple[float, float] | None:
        """The target's low RG and differential, cm; None where they are not both fixed."""
        target = self.scenario.target
        if not target or not all(target[figure].fixed for figure in PLANE):
            return None
        return target[LOW_RG].low, target[DIFFERENTIAL].low

    @property
    def holds_target(self) -> bool | None:
        """Whether the target lies in the shared window; None where it is no single point."""
        return None if self.target_point is None else self.common.holds(*self.target_point)

    @property
    def narrowest(self) -> WeightWindow | None:
        """The weight without which the others share the most; None where they share no more."""
        gains = [(w.without.size, w) for w in self.weights if w.without is not None]
        size, weight = max(gains, key=itemgetter(0), default=((0.0, 0.0), None))
        area, extent = self.common.size
        more = (area * (1 + 1e-6), extent + self.common.error)  # by more than lines may be off
        return weight if size > more else None


def window(scenario: Scenario) -> Window:
    """Return the windows of `scenario`; the RG and differential of its target are left free.

    Raises InputError for a line too large to finish in minutes, SolverError when a solver fails or
    a point does not measure as claimed.
    """
    maps = tuple(opened(linear_map) for linear_map in linear_maps(scenario))
    if too_large := _too_large(scenario, maps):
        raise InputError([Problem(too_large, instead=INSTEAD, file=scenario.file)])
    line = LineReach(scenario, LinearSolver())
    weights = []
    for k, linear_map in enumerate(maps):
        others = (*maps[:k], *maps[k + 1 :])
        activity.at(f"what the others share without {linear_map.label}, {k + 1} of {len(maps)}")
        with activity.within():
            without = line.common(others) if others else None
        notes = (b.note for b in linear_map.bounds if b.figure.quantity == "rg" and b.note)
        alone, rules = line.alone(linear_map), rules_box(linear_map)
        weights.append(WeightWindow(linear_map, alone, without, next(notes, None), rules))
    heaviest = (
        linear_map.ball(np.array([pour.high for pour in linear_map.pours])) for linear_map in maps
    )
    broken = fixed_and_broken(margin for ball in heaviest for margin in margins(ball))
    return Window(scenario, tuple(weights), line.common(maps), broken)


def quick(scenario: Scenario) -> bool:
    """Whether the windows take less than a minute: no search by the engine, a small enough line."""
    maps = [opened(linear_map) for linear_map in linear_maps(scenario)]
    return all(map(flat, maps)) and not _too_large(scenario, maps)


def _too_large(scenario: Scenario, maps: Sequence[LinearMap]) -> str:
    """Return in words why a line is too large; empty where it isn't."""
    if len(maps) > MOST:
        return f"has {len(maps)} weights; windows can be asked of at most {MOST}"
    groups = [maps] if together(maps) else coupled_groups(maps, scenario.sharing)
    tied = max(columns(group, scenario.sharing).figures for group in groups)
    if tied > TIED:
        return f"ties {tied} densities together; windows can be asked of at most {TIED}"
    return ""

"""Which low RGs and differentials each weight can reach, and which all weights can share."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from optimizer.ball.bounds import Margin
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.columns import columns, coupled
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.margins import margins
from optimizer.lineup.result import Status
from optimizer.lineup.shown import Shown
from optimizer.lineup.stating import fixed_and_broken
from optimizer.questions.window.exact.bands import Band
from optimizer.questions.window.exact.boxes import rules_box
from optimizer.questions.window.reach import Reach, flat, opened
from optimizer.questions.window.shared_reach import Asked, together
from optimizer.scenario import Scenario, linear_maps
from shared import activity
from shared.errors import InputError, Problem

INSTEAD: Final = "ask about some of the weights, in a file of their own"
MOST: Final = 40
"""Weights of a line: each is left out once, so that the work grows with their square."""
TIED: Final = 60
"""Densities that are tied together: twelve weights of five parts with one cover take 80 s."""


@dataclass(frozen=True, eq=False)
class WeightWindow:
    """What one weight can reach by itself, and what the others share without it.

    `note` tells why the rulebook's RG and differential don't hold it, where they don't; else it is
    within `rules`.
    """

    map: LinearMap
    alone: Reach
    without: Reach | None
    note: str | None
    rules: Band


@dataclass(frozen=True, eq=False)
class Window(Shown):
    """The windows of a line. `broken` are limits that no density moves, let go here (a wall).

    `answer` is the status of the line-up that is solved for a target beside the shared window.
    """

    scenario: Scenario
    weights: tuple[WeightWindow, ...]
    common: Reach
    broken: tuple[Margin, ...]
    answer: Status | None = None

    @property
    def holds_target(self) -> bool | None:
        """Whether the target lies in the shared window; None where it has no one place."""
        target = self.scenario.target
        if target is None or not (target.rg.fixed and target.differential.fixed):
            return None
        return self.common.holds(target.rg.low, target.differential.low)

    @property
    def narrowest(self) -> WeightWindow | None:
        """The weight without which the others share most more, or None where none counts."""
        gains = [(w.without.size, k) for k, w in enumerate(self.weights) if w.without is not None]
        if not gains:
            return None
        best = max(gains, key=lambda item: item[0])
        return self.weights[best[1]] if best[0] > _more(self.common) else None


def _more(reach: Reach) -> tuple[float, float]:
    """Return a size that is larger by more than the lines may be off."""
    area, extent = reach.size
    return area * (1 + 1e-6), extent + reach.error


def window(scenario: Scenario) -> Window:
    """Return the windows of `scenario`; its target, if it has one, is not asked for.

    Raises InputError where more is asked than ends in some minutes, SolverError when a solver fails
    or a point does not measure up.
    """
    maps = tuple(opened(linear_map) for linear_map in linear_maps(scenario))
    if too_large := _too_large(scenario, maps):
        raise InputError([Problem(too_large, instead=INSTEAD, file=scenario.file)])
    asked = Asked(scenario, LinearSolver())
    weights = []
    for k, linear_map in enumerate(maps):
        others = (*maps[:k], *maps[k + 1 :])
        activity.at(f"what the others share without {linear_map.label}, {k + 1} of {len(maps)}")
        with activity.within():
            without = asked.common(others) if others else None
        notes = (b.note for b in linear_map.bounds if b.figure.quantity == "rg" and b.note)
        note = next(notes, None)
        weights.append(
            WeightWindow(linear_map, asked.alone(linear_map), without, note, rules_box(linear_map))
        )
    heaviest = (
        linear_map.ball(np.array([pour.high for pour in linear_map.pours])) for linear_map in maps
    )
    broken = fixed_and_broken(margin for ball in heaviest for margin in margins(ball))
    return Window(scenario, tuple(weights), asked.common(maps), broken)


def quick(scenario: Scenario) -> bool:
    """Whether no window takes a search by the engine, of a minute or more, or too much to ask."""
    maps = [opened(linear_map) for linear_map in linear_maps(scenario)]
    return all(map(flat, maps)) and not _too_large(scenario, maps)


def _too_large(scenario: Scenario, maps: Sequence[LinearMap]) -> str:
    """Return what is too much to ask of a line, in words; empty where nothing is."""
    if len(maps) > MOST:
        return f"has {len(maps)} weights; windows can be asked of at most {MOST}"
    groups: Iterable[Sequence[int]] = [range(len(maps))]
    if not together(maps):
        groups = coupled(
            [replace(linear_map, target=None) for linear_map in maps], scenario.sharing
        )
    tied = max(columns([maps[k] for k in some], scenario.sharing).figures for some in groups)
    if tied > TIED:
        return f"ties {tied} densities together; windows can be asked of at most {TIED}"
    return ""

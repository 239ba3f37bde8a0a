"""Which low RGs and differentials each weight can reach, and which all weights can share."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import product
from math import prod

import numpy as np

from optimizer.linear.maps import LinearMap
from optimizer.linear.rows import Margin
from optimizer.lineup.columns import columns, coupled
from optimizer.lineup.margins import margins
from optimizer.lineup.rows import Lineup
from optimizer.lineup.solve import LinearSolver
from optimizer.scenario import Scenario, linear_maps
from optimizer.shown import Shown
from optimizer.studies.bands import joined, shared_all
from optimizer.studies.chords import Lost, polygon_band, tangent_band
from optimizer.studies.probing import probed
from optimizer.studies.program import PlaneProgram
from optimizer.studies.reach import Reach, branches, flat, opened, reach, rules_box
from shared.tolerances import ARITHMETIC

CHOICES = 16
"""Choices of axes and sides over a line that are tried one by one."""

UNKNOWN = Reach((), 0.0, proven=False, known=False)
"""What is said where the search lost its way, or there would be too much to try."""

Told = Callable[[str], None]
"""Hears, while the search goes on, what it is at."""


@dataclass(frozen=True, eq=False)
class WeightWindow:
    """What one weight can reach by itself, and what the others share without it.

    `note` tells why the rulebook's RG and differential don't hold it, where they don't.
    """

    map: LinearMap
    alone: Reach
    without: Reach | None
    note: str | None


@dataclass(frozen=True, eq=False)
class Window(Shown):
    """The windows of a line. `broken` are limits that no density moves, let go here (a wall)."""

    scenario: Scenario
    weights: tuple[WeightWindow, ...]
    common: Reach
    broken: tuple[Margin, ...]

    @property
    def narrowest(self) -> WeightWindow | None:
        """The weight without which the others share most more, or None where none counts."""
        gains = [(w.without.size, k) for k, w in enumerate(self.weights) if w.without is not None]
        if not gains:
            return None
        best = max(gains, key=lambda item: item[0])
        return self.weights[best[1]] if best[0] > _more(self.common) else None


def _more(found: Reach) -> tuple[float, float]:
    """Return a size that is larger by more than the lines may be off."""
    area, extent = found.size
    return area * (1 + 1e-6), extent + found.error


def window(scenario: Scenario, told: Told = lambda _what: None) -> Window:
    """Return the windows of `scenario`; its target, if it has one, is not asked for.

    Raises SolverError when a solver fails or a point does not measure up.
    """
    maps = tuple(opened(one) for one in linear_maps(scenario))
    asked = Asked(scenario, LinearSolver(), told)
    alone = {one.label: asked.alone(one) for one in maps}
    weights = []
    for k, one in enumerate(maps):
        others = (*maps[:k], *maps[k + 1 :])
        without = asked.common(others, alone) if others else None
        notes = [m.note for m in _margins(one, scenario) if m.quantity == "rg" and m.note]
        weights.append(WeightWindow(one, alone[one.label], without, next(iter(notes), None)))
    broken = tuple(
        m
        for one in maps
        for m in _margins(one, scenario)
        if not m.movable and not m.rule_only and m.slack < -ARITHMETIC
    )
    return Window(scenario, tuple(weights), asked.common(maps, alone), broken)


def _margins(one: LinearMap, scenario: Scenario) -> tuple[Margin, ...]:
    """Return the margins of some ball: what they say of the class, not of the ball, is meant."""
    return margins(one.ball(np.array([pour.high for pour in one.pours])), scenario.limits)


@dataclass(frozen=True, eq=False)
class Asked:
    """A scenario, and what it takes to ask about some of its weight classes, `opened`."""

    scenario: Scenario
    solver: LinearSolver
    told: Told

    def alone(self, one: LinearMap) -> Reach:
        """Return what a weight class can reach by itself: exactly, or as found."""
        self.told(one.label)
        exact = reach(one, self.scenario.limits)
        return self._group((one,)) if exact is None else exact

    def common(self, maps: Sequence[LinearMap], alone: Mapping[str, Reach]) -> Reach:
        """Return what some weight classes can share: what lies in the windows of all groups.

        A group is tied together by densities that are poured in several of its weights; it is
        asked as one line-up.
        """
        untied = [replace(one, target=None) for one in maps]
        groups = list(coupled(untied, self.scenario.sharing))
        found = []
        for members in groups:
            some = tuple(maps[k] for k in members)
            if len(some) > 1:
                found.append(self._group(some))
            elif not alone[some[0].label].proven:
                found.append(alone[some[0].label])
        found += [alone[one.label] for one in maps if alone[one.label].proven]
        bands = shared_all([one.bands for one in found])
        return Reach(
            bands,
            max(one.error for one in found),
            proven=all(one.proven for one in found) or any(o.proven and o.empty for o in found),
            known=all(one.known for one in found),
        )

    def _group(self, some: tuple[LinearMap, ...]) -> Reach:
        """Return what weight classes can share that are asked as one: exactly, or as found."""
        self._hears(some)
        if not all(flat(one, self.scenario.limits) for one in some):
            return self._off_axis(some)
        choices = [list(branches(one, self.scenario.limits)) for one in some]
        if prod(len(choice) for choice in choices) > CHOICES:
            return UNKNOWN
        exact = some[0].about == "centre"
        bands, error, of = [], 0.0, columns(some, self.scenario.sharing)
        for choice in product(*choices):
            program = PlaneProgram(choice, of, self.solver)
            try:
                one = (
                    polygon_band(program)
                    if exact
                    else tangent_band(program, partial(self._hears, some))
                )
            except Lost:
                return UNKNOWN
            if one is not None:
                bands.append(one[0])
                error = max(error, one[1])
        rules = [(rules_box(one, self.scenario.limits),) for one in some]
        whole = joined(bands, max(2 * error, 1e-7))
        return Reach(shared_all([whole, *rules]), error, proven=exact)

    def _off_axis(self, some: tuple[LinearMap, ...]) -> Reach:
        """Return what balls with parts off the pin axis can share, by the engine."""
        of = columns(some, self.scenario.sharing)
        lineup = Lineup(some, self.scenario.limits, of)
        return probed(lineup, self.solver, partial(self._hears, some)) or UNKNOWN

    def _hears(self, some: Sequence[LinearMap]) -> None:
        self.told(", ".join(one.label for one in some))

"""What the weight classes of a scenario can reach: each alone, and what several can share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from optimizer.ball.figures import INTERMEDIATE_DIFFERENTIAL
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.columns import Columns, Sharing, columns, coupled
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.rows import Lineup
from optimizer.questions.window.exact.bands import Band, shared_all
from optimizer.questions.window.exact.branch import EVERY, HIGH, LOW, Branch, Pins, branches
from optimizer.questions.window.exact.chains import Point
from optimizer.questions.window.exact.plane_program import PlaneProgram
from optimizer.questions.window.exact.shared_bands import Lost, polygon_band, tangent_band
from optimizer.questions.window.off_axis.searched_band import searched_reach
from optimizer.questions.window.reach import (
    LOST,
    Reach,
    exactly,
    figures_held,
    flat,
    reached,
    united,
)
from optimizer.scenario import Scenario
from shared import activity

CHOICES = 16
"""Choices of axes and sides over a line that are tried one by one."""


def together(maps: Sequence[LinearMap]) -> bool:
    """Whether a free figure ties a whole line together, whatever it shares.

    Not an intermediate differential of symmetric cores.
    """
    free = [figure for figure, span in figures_held(maps[0].target).items() if not span.fixed]
    symmetric = all(linear_map.symmetric for linear_map in maps)
    return any(not (symmetric and figure == INTERMEDIATE_DIFFERENTIAL) for figure in free)


def coupled_groups(maps: Sequence[LinearMap], sharing: Sharing) -> list[tuple[LinearMap, ...]]:
    """Return the groups of weight classes that shared densities tie together."""
    untied = [replace(linear_map, target={}) for linear_map in maps]
    return [tuple(maps[k] for k in members) for members in coupled(untied, sharing)]


@dataclass(frozen=True, eq=False)
class LineReach:
    """What the weight classes of a scenario, `opened`, can reach alone and share; kept once known.

    `known` is what each reaches by itself, by its label and the places of its pin axis; `sets` are
    the convex sets of its balls, by its label. With a point to go `through`, only what lies at its
    RG or at its differential is asked, and the rest may be missing or less exact.
    """

    scenario: Scenario
    solver: LinearSolver
    through: Point | None = None
    known: dict[tuple[str, Pins], Reach] = field(default_factory=dict)
    sets: dict[str, list[Branch]] = field(default_factory=dict)

    def alone(self, linear_map: LinearMap, pins: Pins = EVERY) -> Reach:
        """Return what a weight class can reach by itself: exactly, or as found.

        `pins` are the places that its pin axis may have among the RGs.
        """
        key = linear_map.label, pins
        if key not in self.known:
            activity.at(f"what {linear_map.label} can reach")
            exact = exactly(self._sets(linear_map, pins)) if flat(linear_map) else None
            self.known[key] = self._group((linear_map,), pins) if exact is None else exact
        return self.known[key]

    def common(self, maps: Sequence[LinearMap]) -> Reach:
        """Return what some weight classes can share: the intersection of their groups' windows.

        Weights that share densities form a group, which is asked as one line-up. Weights that a
        free figure ties together are one group. A free intermediate differential of symmetric cores
        is none with the pin axis low, and equals the differential with it high, so that all have it
        low or all have it high.
        """
        if together(maps):
            return self._group(tuple(maps), EVERY)
        if all(span.fixed for span in figures_held(maps[0].target).values()):
            return self._common(maps, EVERY)
        return united(self._common(maps, (pin,)) for pin in (LOW, HIGH))

    def _common(self, maps: Sequence[LinearMap], pins: Pins) -> Reach:
        groups = coupled_groups(maps, self.scenario.sharing)
        reaches = [self._group(group, pins) for group in groups if len(group) > 1]
        single = {group[0].label for group in groups if len(group) == 1}
        alone = {linear_map.label: self.alone(linear_map, pins) for linear_map in maps}
        reaches += [reach for label, reach in alone.items() if reach.proven or label in single]
        return Reach(
            shared_all([reach.bands for reach in reaches]),
            max(reach.error for reach in reaches),
            proven=all(reach.proven for reach in reaches) or any(reach.none for reach in reaches),
            whole=all(reach.whole for reach in reaches),
            off_pin=any(reach.off_pin for reach in reaches),
        )

    def _group(self, group: tuple[LinearMap, ...], pins: Pins) -> Reach:
        """Return what a group of weight classes can share: exactly, or as found."""
        activity.at(f"what {', '.join(linear_map.label for linear_map in group)} can reach")
        if not all(map(flat, group)):
            return self._off_axis(group, pins)
        choices, of = self._choices(group, pins), columns(group, self.scenario.sharing)
        reach = united(self._choice(choice, of) for choice in choices[:CHOICES])
        return reach if len(choices) <= CHOICES else replace(reach, proven=False, whole=False)

    def _choice(self, choice: Sequence[Branch], of: Columns) -> Reach:
        """Return what balls with given axes can share."""
        if len(choice) == 1 and (exact := reached(choice[0])) is not None:
            return exact
        program = PlaneProgram(choice, of, self.solver)
        proven = not program.about_cg
        try:
            drawn = polygon_band(program) if proven else tangent_band(program)
        except Lost:
            return LOST
        if drawn is None:
            return Reach((), 0.0, proven=proven)
        band, error = drawn
        bands = shared_all([(band,), *((branch.box,) for branch in choice)])
        off_pin = bool(bands) and any(branch.pin != LOW for branch in choice)
        return Reach(bands, error, proven=proven, off_pin=off_pin)

    def _choices(self, group: Sequence[LinearMap], pins: Pins) -> list[tuple[Branch, ...]]:
        """Return the choices of axes and sides over a group, those that are most alike first.

        Choices whose weights by themselves have nothing in common are left out.
        """
        choices: list[tuple[tuple[Branch, ...], Sequence[Band] | None]] = [((), None)]
        for linear_map in group:
            choices = [
                ((*branches, branch), shared)
                for branch in self._sets(linear_map, pins)
                for branches, bands in choices
                if (shared := _shared(bands, branch)) is None or shared
            ]
        every = [choice for choice, _ in choices]
        return sorted(every, key=lambda choice: len({branch.pin for branch in choice}))

    def _sets(self, linear_map: LinearMap, pins: Pins) -> list[Branch]:
        if linear_map.label not in self.sets:
            self.sets[linear_map.label] = list(branches(linear_map, self.through))
        return [branch for branch in self.sets[linear_map.label] if branch.pin in pins]

    def _off_axis(self, group: tuple[LinearMap, ...], pins: Pins) -> Reach:
        """Return what the engine finds that a group can share.

        Cores with all parts on the pin axis are asked at each place of that axis, the same in every
        weight of the group: other choices are not searched.
        """
        lineup = Lineup.of(group, self.scenario.sharing)
        aligned = any(linear_map.aligned for linear_map in group)
        places = pins if aligned else (LOW,)
        reach = united(searched_reach(lineup, self.solver, pin) for pin in places)
        return replace(reach, whole=reach.whole and not (aligned and len(group) > 1))


def _shared(bands: Sequence[Band] | None, branch: Branch) -> Sequence[Band] | None:
    """Return what bands share with those of a branch; None stands for a reach that isn't known."""
    if branch.reached is None:
        return bands
    own, _ = branch.reached
    return own if bands is None else shared_all([bands, own])

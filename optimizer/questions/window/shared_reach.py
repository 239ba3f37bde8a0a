"""What the weight classes of a scenario can reach: each alone, and what several can share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.columns import Columns, columns, coupled
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.rows import Lineup
from optimizer.questions.window.exact.bands import Band, shared_all
from optimizer.questions.window.exact.branch import EVERY, HIGH, LOW, Branch, Pins, branches
from optimizer.questions.window.exact.chords import Lost, polygon_band, tangent_band
from optimizer.questions.window.exact.plane_program import PlaneProgram
from optimizer.questions.window.off_axis.probing import probed
from optimizer.questions.window.reach import Reach, exactly, flat, united
from optimizer.scenario import Scenario
from shared import activity

LOST = Reach((), 0.0, proven=False, whole=False)
"""Where the search lost its way."""
CHOICES = 16
"""Choices of axes and sides over a line that are tried one by one."""


def together(maps: Sequence[LinearMap]) -> bool:
    """Whether a free intermediate differential makes one group of a line, whatever is shared."""
    asked = maps[0].intermediate
    free = asked is not None and not asked.fixed
    return free and not all(linear_map.symmetric for linear_map in maps)


@dataclass(frozen=True, eq=False)
class Asked:
    """A scenario, and what it takes to ask about some of its weight classes, `opened`.

    `known` is what they reach by themselves, by their label and the places of their pin axes;
    `sets` are the convex sets of their balls, by their label.
    """

    scenario: Scenario
    solver: LinearSolver
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
        """Return what some weight classes can share: what lies in the windows of all groups.

        A group is tied together by densities that are poured in several of its weights; it is
        asked as one line-up. An intermediate differential that is free is one for the whole line,
        too: symmetric cores have none with the pin axis low, and the differential with it high, so
        that they are all the one or all the other; any other cores are one group.
        """
        asked = maps[0].intermediate
        if asked is None or asked.fixed:
            return self._common(maps, EVERY)
        if together(maps):
            return self._group(tuple(maps), EVERY)
        return united(self._common(maps, (pin,)) for pin in (LOW, HIGH))

    def _common(self, maps: Sequence[LinearMap], pins: Pins) -> Reach:
        untied = [replace(linear_map, target=None) for linear_map in maps]
        groups = coupled(untied, self.scenario.sharing)
        each = [tuple(maps[k] for k in members) for members in groups]
        reaches = [self._group(linear_maps, pins) for linear_maps in each if len(linear_maps) > 1]
        single = {linear_maps[0].label for linear_maps in each if len(linear_maps) == 1}
        alone = {linear_map.label: self.alone(linear_map, pins) for linear_map in maps}
        reaches += [reach for label, reach in alone.items() if reach.proven or label in single]
        return Reach(
            shared_all([reach.bands for reach in reaches]),
            max(reach.error for reach in reaches),
            proven=all(reach.proven for reach in reaches) or any(reach.none for reach in reaches),
            whole=all(reach.whole for reach in reaches),
            off_pin=any(reach.off_pin for reach in reaches),
        )

    def _group(self, linear_maps: tuple[LinearMap, ...], pins: Pins) -> Reach:
        """Return what weight classes can share that are asked as one: exactly, or as found."""
        activity.at(f"what {', '.join(linear_map.label for linear_map in linear_maps)} can reach")
        if not all(map(flat, linear_maps)):
            return self._off_axis(linear_maps, pins)
        every = self._choices(linear_maps, pins)
        of, reaches = columns(linear_maps, self.scenario.sharing), list[Reach]()
        for choice in every[:CHOICES]:
            off_pin = any(branch.pin != LOW for branch in choice)
            try:
                reach = self._choice(choice, of)
            except Lost:
                reaches.append(LOST)
                continue
            reaches.append(replace(reach, off_pin=off_pin and not reach.empty))
        whole = united(reaches)
        if len(every) > CHOICES:
            return replace(whole, proven=False, whole=False)
        return whole

    def _choice(self, choice: Sequence[Branch], of: Columns) -> Reach:
        """Return what balls with given axes can share; raise Lost where the search lost its way."""
        if len(choice) == 1 and choice[0].reached is not None:
            return Reach(*choice[0].reached)
        program = PlaneProgram(choice, of, self.solver)
        proven = not program.about_cg
        one = polygon_band(program) if proven else tangent_band(program)
        if one is None:
            return Reach((), 0.0, proven=proven)
        boxes = [(branch.box,) for branch in choice]
        return Reach(shared_all([one[:1], *boxes]), one[1], proven=proven)

    def _choices(self, linear_maps: Sequence[LinearMap], pins: Pins) -> list[tuple[Branch, ...]]:
        """Return the choices of axes and sides over a line, those that are most alike first.

        Left out are those whose weights by themselves have nothing in common.
        """
        found: list[tuple[tuple[Branch, ...], Sequence[Band] | None]] = [((), None)]
        for linear_map in linear_maps:
            more = []
            for branch in self._sets(linear_map, pins):
                for others, bands in found:
                    both = bands
                    if branch.reached is not None:
                        own = branch.reached[0]
                        both = own if bands is None else shared_all([bands, own])
                    if both is None or both:
                        more.append(((*others, branch), both))
            found = more
        choices = [choice for choice, _ in found]
        return sorted(choices, key=lambda choice: len({branch.pin for branch in choice}))

    def _sets(self, linear_map: LinearMap, pins: Pins) -> list[Branch]:
        if linear_map.label not in self.sets:
            self.sets[linear_map.label] = list(branches(linear_map))
        return [branch for branch in self.sets[linear_map.label] if branch.pin in pins]

    def _off_axis(self, linear_maps: tuple[LinearMap, ...], pins: Pins) -> Reach:
        """Return what balls are found to share by the engine.

        A core with its parts on the pin axis is asked at each place of that axis, of several
        weights all alike: other choices are not looked at.
        """
        lineup = Lineup.of(linear_maps, self.scenario.sharing)
        aligned = [linear_map for linear_map in linear_maps if linear_map.aligned]
        reaches = []
        for pin in pins if aligned else (LOW,):
            reach = probed(lineup, self.solver, pin)
            off_pin = bool(aligned) and pin != LOW and reach is not None and not reach.empty
            reaches.append(LOST if reach is None else replace(reach, off_pin=off_pin))
        whole = united(reaches)
        return replace(whole, whole=whole.whole and not (aligned and len(linear_maps) > 1))

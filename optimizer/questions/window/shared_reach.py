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
    return free and not all(one.symmetric for one in maps)


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

    def alone(self, one: LinearMap, pins: Pins = EVERY) -> Reach:
        """Return what a weight class can reach by itself: exactly, or as found.

        `pins` are the places that its pin axis may have among the RGs.
        """
        key = one.label, pins
        if key not in self.known:
            activity.at(f"what {one.label} can reach")
            exact = exactly(self._sets(one, pins)) if flat(one) else None
            self.known[key] = self._group((one,), pins) if exact is None else exact
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
        untied = [replace(one, target=None) for one in maps]
        groups = coupled(untied, self.scenario.sharing)
        each = [tuple(maps[k] for k in members) for members in groups]
        found = [self._group(some, pins) for some in each if len(some) > 1]
        single = {some[0].label for some in each if len(some) == 1}
        alone = {one.label: self.alone(one, pins) for one in maps}
        found += [one for label, one in alone.items() if one.proven or label in single]
        return Reach(
            shared_all([one.bands for one in found]),
            max(one.error for one in found),
            proven=all(one.proven for one in found) or any(one.none for one in found),
            whole=all(one.whole for one in found),
            off_pin=any(one.off_pin for one in found),
        )

    def _group(self, some: tuple[LinearMap, ...], pins: Pins) -> Reach:
        """Return what weight classes can share that are asked as one: exactly, or as found."""
        activity.at(f"what {', '.join(one.label for one in some)} can reach")
        if not all(map(flat, some)):
            return self._off_axis(some, pins)
        every = self._choices(some, pins)
        of, found = columns(some, self.scenario.sharing), list[Reach]()
        for choice in every[:CHOICES]:
            off_pin = any(branch.pin != LOW for branch in choice)
            try:
                one = self._choice(choice, of)
            except Lost:
                found.append(LOST)
                continue
            found.append(replace(one, off_pin=off_pin and not one.empty))
        whole = united(found)
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

    def _choices(self, some: Sequence[LinearMap], pins: Pins) -> list[tuple[Branch, ...]]:
        """Return the choices of axes and sides over a line, those that are most alike first.

        Left out are those whose weights by themselves have nothing in common.
        """
        found: list[tuple[tuple[Branch, ...], Sequence[Band] | None]] = [((), None)]
        for one in some:
            more = []
            for branch in self._sets(one, pins):
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

    def _sets(self, one: LinearMap, pins: Pins) -> list[Branch]:
        if one.label not in self.sets:
            self.sets[one.label] = list(branches(one))
        return [branch for branch in self.sets[one.label] if branch.pin in pins]

    def _off_axis(self, some: tuple[LinearMap, ...], pins: Pins) -> Reach:
        """Return what balls are found to share by the engine.

        A core with its parts on the pin axis is asked at each place of that axis, of several
        weights all alike: other choices are not looked at.
        """
        lineup = Lineup.of(some, self.scenario.sharing)
        aligned = [one for one in some if one.aligned]
        found = []
        for pin in pins if aligned else (LOW,):
            one = probed(lineup, self.solver, pin)
            off_pin = bool(aligned) and pin != LOW and one is not None and not one.empty
            found.append(LOST if one is None else replace(one, off_pin=off_pin))
        whole = united(found)
        return replace(whole, whole=whole.whole and not (aligned and len(some) > 1))

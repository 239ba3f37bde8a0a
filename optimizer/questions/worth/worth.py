"""What each dimension and each bound that binds is worth: the smallest margin when it is moved.

A dimension is held off its best value, a bound is shifted, and everything else is sought anew from
there: the gain, or the loss, in tolerances. The slope at the optimum is a linear program's, the
walk's own with the one number moved a little; it is told only as far as it was found to hold.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import chain
from typing import Final, Literal

import numpy as np

from optimizer.ball.bounds import Bound
from optimizer.ball.figures import DENSITY, WALL
from optimizer.lineup.margins import margins
from optimizer.lineup.result import LineupResult
from optimizer.lineup.rows import Lineup
from optimizer.questions.worth.neighbourhood import Around, around
from optimizer.scenario.release import released, searched, unheld
from optimizer.scenario.scenario import Scenario
from shared import activity
from shared.errors import InputError, Problem, UnbuildableError
from shared.units import LENGTHS

DENSITY_STEP: Final = 0.01
"""g/cm³: what a density's bound is moved by."""
FAR: Final = 5
"""Steps to which a slope is checked at the most."""
AGREE, SHARE = 0.01, 0.1
"""Tolerances, or a share of the change if that is more: a re-solve this near agrees."""
BINDS: Final = 0.05
"""Tolerances above the smallest margin: bounds nearer than that are asked about."""
NOTHING: Final = 1e-6
"""Tolerances per step: a slope that is none."""
SLIGHT: Final = 0.01
"""Of a step: how far the program moves a number for its slope."""

End = Literal["least", "most"]


@dataclass(frozen=True)
class Side:
    """What moving a number one way gives, in tolerances; less than 0 is lost.

    `slope` is per step at the optimum, `gain` what a re-solve finds at one step (None where no
    line-up was found). `reach` is how many steps the slope was found to hold, 0 if not even one.
    """

    slope: float
    gain: float | None
    reach: int


@dataclass(frozen=True)
class Worth:
    """A dimension or a bound, its value (cm, g/cm³), and what it is worth per `step` either way.

    `bound` is None of a dimension. `name` is a dimension's, a material's, or the parts of a wall
    that has a bound of its own ("" for all others). `weights` are those that have it alike, in
    which it is free to be sought or not. `end` is the end of its search range that a dimension is
    at.
    """

    bound: Bound | None
    name: str
    weights: tuple[str, ...]
    value: float
    step: float
    down: Side
    up: Side
    free: bool = False
    end: End | None = None


@dataclass(frozen=True)
class Worths:
    """All of them; `level` is the smallest margin that densities and dimensions move, at the best.

    As stated, in round figures, it is `stated`. `still` are dimensions that were left out, since
    some shape has no derivative in them as it stands.
    """

    level: float
    stated: float
    found: tuple[Worth, ...]
    still: tuple[str, ...]


def worths(result: LineupResult) -> Worths:
    """Return what each named dimension and each bound that binds is worth at a line-up.

    Raises InputError where the line-up was not found.
    """
    scenario = result.scenario
    if result.status != "feasible":
        what = f"nothing is worth anything: the line-up is {result.status}"
        raise InputError([Problem(what, instead="mend that first", file=scenario.file)])
    let_go = released(scenario)
    still: tuple[str, ...] = ()
    try:
        groups = around(result, let_go)
        base = min(one.peak.level for one in groups)
    except UnbuildableError:
        still = tuple(
            dimension.name for dimension in let_go.free if not searched(scenario, dimension.name)
        )
        let_go = unheld(scenario)
        groups = around(result, let_go)
        base = min(one.peak.level for one in groups)
    found = list[Worth]()
    for worth in chain(_dimensions(let_go, groups), _bounds(let_go, groups, base)):
        activity.at(f"worth: after that of {worth.name}")
        found.append(worth)
    return Worths(base, min(one.stated for one in groups), tuple(found), still)


def _dimensions(scenario: Scenario, groups: Sequence[Around]) -> Iterator[Worth]:
    """Yield each dimension, for each set of weights that has it alike."""
    step = _length_step(scenario)
    for dimension in scenario.free:
        for group in groups:
            columns = group.lineup.drawing(dimension.name)
            for column in dict.fromkeys(columns.values()):
                labels = tuple(label for label, its in columns.items() if its == column)
                at, free = float(group.peak.x[column]), bool(group.free[column])
                line = _Line.of([(group, partial(group.column, column))], groups, step)
                end: End | None = (
                    "least" if at <= dimension.low else "most" if at >= dimension.high else None
                )
                end = end if free else None
                yield Worth(None, dimension.name, labels, at, step, *line.sides, free, end)


def _length_step(scenario: Scenario) -> float:
    """Return what a length is moved by, cm."""
    unit = LENGTHS[scenario.text.units.length]
    return unit.small * unit.size


def _bounds(scenario: Scenario, groups: Sequence[Around], base: float) -> Iterator[Worth]:
    """Yield each density's bound and each wall's that binds somewhere in the line."""
    labels = tuple(class_drawing.label for class_drawing in scenario.classes)
    binding = {
        (bound.path, bound.side): bound
        for group in groups
        for bound in _near(group, base)
        if bound.figure in (DENSITY, WALL) and bound.rule is None and bound.path
    }
    every = [b for group in groups for linear_map in group.lineup.maps for b in linear_map.bounds]
    steps = {DENSITY: DENSITY_STEP, WALL: _length_step(scenario)}
    for bound in sorted(binding.values(), key=lambda b: (b.figure == WALL, b.side == "max")):
        same = {b for b in every if (b.path, b.side) == (bound.path, bound.side)}
        moved = [(one, partial(one.shifted, same)) for one in groups]
        line = _Line.of(moved, groups, steps[bound.figure])
        if not line.slack:
            name = _set_by(bound, scenario)
            yield Worth(bound, name, labels, bound.value, line.step, *line.sides)


def _set_by(bound: Bound, scenario: Scenario) -> str:
    """Return the material that sets a density's bound, or the pair that has a wall of its own."""
    if bound.figure == DENSITY:
        return str(bound.path[1])
    wall = scenario.text.limits.wall
    if wall is None or "except" not in bound.path:
        return ""
    return "-".join(wall.exceptions[int(bound.path[-1])].between)


def _near(group: Around, base: float) -> Iterator[Bound]:
    """Yield the bounds that bind: those that can be moved to or from, near the smallest margin."""
    for ball in group.lineup.balls(group.peak.x):
        for margin in margins(ball):
            held = margin.movable and not margin.rule_only
            if held and margin.tolerances is not None and margin.tolerances < base + BINDS:
                yield margin.bound


Moved = Sequence[tuple[Around, Callable[[float], Lineup]]]
"""The groups that a number is in, and each one's line-up with it moved by so much."""


@dataclass(frozen=True)
class _Line:
    """A number in the whole line: the groups that it is in, each one's line-up with it moved.

    `base` is the smallest margin of the line, `rest` that of the groups that it isn't in.
    """

    moved: Moved
    base: float
    rest: float
    step: float

    @classmethod
    def of(cls, moved: Moved, groups: Sequence[Around], step: float) -> _Line:
        touched = [one for one, _ in moved]
        rest = min((one.peak.level for one in groups if one not in touched), default=np.inf)
        return cls(moved, min(one.peak.level for one in groups), rest, step)

    def slope(self, way: float) -> float:
        """Return what the program promises for a step, from a slight one."""
        amount = way * SLIGHT * self.step
        levels = [one.peak.level + one.slope(make(amount), amount) for one, make in self.moved]
        return (min([*levels, self.rest]) - self.base) / SLIGHT

    def gain(self, steps: float) -> float | None:
        """Return what a re-solve finds so many steps away, None where it finds no line-up."""
        levels = [one.again(make(steps * self.step)) for one, make in self.moved]
        known = [one for one in levels if one is not None]
        return min([*known, self.rest]) - self.base if len(known) == len(levels) else None

    def side(self, way: float) -> Side:
        """Return what moving it up (1) or down (-1) gives."""
        slope, first = self.slope(way), self.gain(way)
        reach = 0
        if _agree(slope, first, 1):
            reach = FAR if _agree(slope, self.gain(FAR * way), FAR) else 1
        return Side(slope, first, reach)

    @property
    def sides(self) -> tuple[Side, Side]:
        """What moving it down and up gives."""
        return self.side(-1.0), self.side(1.0)

    @property
    def slack(self) -> bool:
        """Whether the program has no use for moving it, either way."""
        return all(abs(self.slope(way)) < NOTHING for way in (-1.0, 1.0))


def _agree(slope: float, gain: float | None, steps: int) -> bool:
    """Whether a re-solve at so many steps finds what the slope says."""
    if gain is None:
        return False
    return abs(gain - slope * steps) <= max(AGREE, SHARE * abs(gain))

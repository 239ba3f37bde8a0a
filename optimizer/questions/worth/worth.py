"""What each dimension and each binding bound is worth: the smallest margin when it is moved.

A dimension is held off its best value, or a bound is shifted, and everything else is re-optimised:
that gives the gain or loss in tolerances. The slope at the optimum comes from a linear program, the
walk's own with the one number moved a little; it is shown only as far as it was found to hold.
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
from optimizer.questions.worth.neighbourhood import Neighbourhood, neighbourhoods
from optimizer.scenario.release import released, searched, unheld
from optimizer.scenario.scenario import Scenario
from shared import activity
from shared.errors import InputError, Problem, UnbuildableError
from shared.units import LENGTHS

DENSITY_STEP: Final = 0.01
"""g/cm³: the step of a density's bound."""
FAR: Final = 5
"""Steps to which a slope is checked at most."""
AGREE, SHARE = 0.01, 0.1
"""Tolerances, or a share of the change if that is more: a re-solve this close agrees."""
BINDS: Final = 0.05
"""Tolerances above the smallest margin within which a bound counts as binding."""
NOTHING: Final = 1e-6
"""Tolerances per step: a smaller slope counts as 0."""
SLIGHT: Final = 0.01
"""Of a step: the move of a number for its slope."""

End = Literal["least", "most"]


@dataclass(frozen=True)
class Side:
    """What moving a number one way gains, in tolerances; negative is a loss.

    `slope` is per step at the optimum, `gain` a re-solve's at one step (None where it found no
    line-up). `reach` is how many steps the slope was found to hold, 0 if not even one.
    """

    slope: float
    gain: float | None
    reach: int


@dataclass(frozen=True)
class Worth:
    """A dimension or a bound, its value (cm, g/cm³), and what it is worth per `step` either way.

    `bound` is None for a dimension. `name` is a dimension's, a material's, or the parts of a wall
    with its own bound ("" for all others). `weights` share the number; `free` says whether the
    search may change it. `end` is the end of its search range that a dimension is at.
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
    """All worths. `level` is the smallest margin that densities and dimensions move, at the best.

    As stated, in round figures, it is `stated`. `still` are dimensions that were left out, because
    some shape has no derivative in them as it is.
    """

    level: float
    stated: float
    each: tuple[Worth, ...]
    still: tuple[str, ...]


def worths(result: LineupResult) -> Worths:
    """Return what each named dimension and each binding bound is worth at a line-up.

    Raises InputError where the line-up was not found.
    """
    scenario = result.scenario
    if result.status != "feasible":
        what = f"there is nothing to compare with: the line-up is {result.status}"
        raise InputError(
            [Problem(what, instead="solve that first (without --worth)", file=scenario.file)]
        )
    freed, still = released(scenario), tuple[str, ...]()
    try:
        groups = neighbourhoods(result, freed)
        level = min(group.peak.level for group in groups)
    except UnbuildableError:
        names = [dimension.name for dimension in freed.free]
        still = tuple(name for name in names if not searched(scenario, name))
        freed = unheld(scenario)
        groups = neighbourhoods(result, freed)
        level = min(group.peak.level for group in groups)
    each = list[Worth]()
    for worth in chain(_dimensions(freed, groups), _bounds(freed, groups, level)):
        activity.at(f"worth: after that of {worth.name}")
        each.append(worth)
    return Worths(level, min(group.stated for group in groups), tuple(each), still)


def _dimensions(scenario: Scenario, groups: Sequence[Neighbourhood]) -> Iterator[Worth]:
    """Yield each dimension, once for each set of weights that shares its value."""
    step = _length_step(scenario)
    for dimension in scenario.free:
        for group in groups:
            columns = group.lineup.drawing(dimension.name)
            for column in dict.fromkeys(columns.values()):
                labels = tuple(label for label, its in columns.items() if its == column)
                at, free = float(group.peak.x[column]), bool(group.free[column])
                line = _Line.of([(group, partial(group.column, column))], groups, step)
                end: End | None = None
                if free and (at <= dimension.low or at >= dimension.high):
                    end = "least" if at <= dimension.low else "most"
                yield Worth(None, dimension.name, labels, at, step, *line.sides, free, end)


def _length_step(scenario: Scenario) -> float:
    """Return the step of a length, cm."""
    unit = LENGTHS[scenario.text.units.length]
    return unit.small * unit.size


def _bounds(scenario: Scenario, groups: Sequence[Neighbourhood], level: float) -> Iterator[Worth]:
    """Yield each bound on a density or a wall that binds somewhere in the line."""
    labels = tuple(drawing.label for drawing in scenario.classes)
    binding = {
        (bound.path, bound.side): bound
        for group in groups
        for bound in _near(group, level)
        if bound.figure in (DENSITY, WALL) and bound.rule is None and bound.path
    }
    every = [b for group in groups for linear_map in group.lineup.maps for b in linear_map.bounds]
    steps = {DENSITY: DENSITY_STEP, WALL: _length_step(scenario)}
    for bound in sorted(binding.values(), key=lambda b: (b.figure == WALL, b.side == "max")):
        same = {b for b in every if (b.path, b.side) == (bound.path, bound.side)}
        moved = [(group, partial(group.shifted, same)) for group in groups]
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


def _near(group: Neighbourhood, level: float) -> Iterator[Bound]:
    """Yield the bounds that bind: movable ones near the smallest margin, `level`."""
    for ball in group.lineup.balls(group.peak.x):
        for margin in margins(ball):
            held = margin.movable and not margin.rule_only
            if held and margin.tolerances is not None and margin.tolerances < level + BINDS:
                yield margin.bound


Moved = Sequence[tuple[Neighbourhood, Callable[[float], Lineup]]]
"""The groups that have a number, and each one's line-up as a function of how far it moves."""


@dataclass(frozen=True)
class _Line:
    """A number in the whole line: the groups that have it, each one's line-up with it moved.

    `base` is the smallest margin of the line, `rest` that of the groups without it.
    """

    moved: Moved
    base: float
    rest: float
    step: float

    @classmethod
    def of(cls, moved: Moved, groups: Sequence[Neighbourhood], step: float) -> _Line:
        touched = [group for group, _ in moved]
        rest = min((group.peak.level for group in groups if group not in touched), default=np.inf)
        return cls(moved, min(group.peak.level for group in groups), rest, step)

    def slope(self, way: float) -> float:
        """Return the gain that the program promises for a step, from a slight one."""
        amount = way * SLIGHT * self.step
        levels = [
            group.peak.level + group.slope(make(amount), amount) for group, make in self.moved
        ]
        return (min([*levels, self.rest]) - self.base) / SLIGHT

    def gain(self, steps: float) -> float | None:
        """Return the gain of a re-solve so many steps away, None where it finds no line-up."""
        levels = [group.again(make(steps * self.step)) for group, make in self.moved]
        known = [level for level in levels if level is not None]
        return min([*known, self.rest]) - self.base if len(known) == len(levels) else None

    def side(self, way: float) -> Side:
        """Return the gain of moving it up (1) or down (-1)."""
        slope, first = self.slope(way), self.gain(way)
        reach = 0
        if _agree(slope, first, 1):
            reach = FAR if _agree(slope, self.gain(FAR * way), FAR) else 1
        return Side(slope, first, reach)

    @property
    def sides(self) -> tuple[Side, Side]:
        """The gains of moving it down and up."""
        return self.side(-1.0), self.side(1.0)

    @property
    def slack(self) -> bool:
        """Whether moving it gains nothing in the program, either way."""
        return all(abs(self.slope(way)) < NOTHING for way in (-1.0, 1.0))


def _agree(slope: float, gain: float | None, steps: int) -> bool:
    """Whether a re-solve at so many steps agrees with the slope."""
    if gain is None:
        return False
    return abs(gain - slope * steps) <= max(AGREE, SHARE * abs(gain))

"""The price of the target: the largest smallest margin against one of its figures.

The figure covers the range that the scenario leaves free; the others are as the scenario has them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby

import numpy as np

from optimizer.ball.bounds import Margin
from optimizer.ball.figures import Figure
from optimizer.lineup.engine.climbing import WORTH
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.result import LineupResult, Status, WeightResult, ranked
from optimizer.lineup.shown import Shown
from optimizer.lineup.stating import fixed_and_broken
from optimizer.questions.trade.curve import CurveSearch, inside, kinks
from optimizer.questions.trade.held_figure import HeldFigure, Limits, Sample
from optimizer.scenario import Scenario
from shared.errors import InputError, Problem
from shared.models import Path


@dataclass(frozen=True, eq=False)
class Spot:
    """A value of the figure (cm) and the line-up with the largest smallest margin there.

    `level` is that margin by the program, in tolerances, −∞ where no line-up meets the targets;
    `limits` keep it from being larger. `weights` are the balls at densities as stated, `smallest`
    their smallest margin that depends on density.
    """

    value: float
    level: float
    limits: Limits
    weights: tuple[WeightResult, ...]

    @property
    def found(self) -> bool:
        """Whether there is a line-up that meets the targets."""
        return bool(self.weights)

    @property
    def feasible(self) -> bool:
        """Whether its balls are inside all limits that depend on density."""
        return self.level >= -WORTH

    @cached_property
    def smallest(self) -> Margin | None:
        """The smallest margin of the balls as stated that depends on density."""
        return next((margin for margin in ranked(self.weights) if margin.movable), None)

    @property
    def figures(self) -> tuple[float, ...]:
        """The target's figures for its balls, cm; empty without balls."""
        return tuple(off.asked for w in self.weights[:1] for off in w.deviations[1:])

    @property
    def tolerances(self) -> float | None:
        """The smallest margin as measured, in tolerances; None where there is no line-up."""
        return None if self.smallest is None else self.smallest.tolerances


@dataclass(frozen=True, eq=False)
class Kink:
    """Where the limits change: above it `enters` hold, in place of `leaves`."""

    spot: Spot
    enters: Limits
    leaves: Limits


@dataclass(frozen=True, eq=False)
class Trade(Shown):
    """The curve of one figure of the target.

    `best` is its highest spot, None where no targets are met; `ranges` the first and the last spot
    of each feasible stretch. `error` bounds how far the middles of stretches lie off the chord
    (tolerances). `fresh` values were also solved from the usual starts: every one of the first
    values, if that found more than the neighbours' answers (`astray`). `verdict` is the result of
    `solve` where nothing is feasible.
    """

    scenario: Scenario
    of: Figure
    spots: tuple[Spot, ...]
    kinks: tuple[Kink, ...]
    best: Spot | None
    ranges: tuple[tuple[Spot, Spot], ...]
    error: float
    fresh: int
    astray: bool
    solver: str
    verdict: LineupResult | None

    @cached_property
    def given(self) -> tuple[Margin, ...]:
        """Margins that depend on no density, the smallest in tolerances first, the others last."""
        weights = self.best.weights if self.best else ()
        fixed = (m for w in weights for m in w.margins if not m.movable and not m.rule_only)
        return tuple(sorted(fixed, key=lambda m: np.inf if m.tolerances is None else m.tolerances))

    @property
    def pourable(self) -> tuple[WeightResult, ...]:
        """The balls at the best value if they are feasible; else none."""
        return self.best.weights if self.best and self.best.feasible else ()

    @property
    def status(self) -> Status:
        """Whether any value is feasible; where none was found, the verdict of `solve`."""
        if self.broken:
            return "infeasible"
        return "feasible" if self.verdict is None or self.ranges else self.verdict.status

    @property
    def holding(self) -> Limits:
        """The limits that hold the best; at a kink, those of both sides."""
        if self.best is None:
            return frozenset()
        sides = [k.enters | k.leaves for k in self.kinks if k.spot is self.best]
        return self.best.limits.union(*sides)

    @property
    def gaps(self) -> tuple[tuple[Spot, Spot], ...]:
        """The first and the last spot of each stretch where no line-up meets the targets."""
        return tuple(_runs(self.spots, lambda spot: not spot.found))

    @property
    def broken(self) -> tuple[Margin, ...]:
        """Broken margins that depend on no density."""
        return fixed_and_broken(self.given)


def trade(scenario: Scenario, figure: Figure) -> Trade:
    """Return the curve of `scenario` along one figure of its target.

    Raises InputError where the figure is not free, SolverError as `solve_lineup` does.
    """
    _check_free(scenario, figure)
    line = HeldFigure(scenario, figure)
    if not line.measurable:
        what = "no limit that a density moves has a tolerance: there are no margins to compare"
        raise InputError([Problem(what, None, "give the materials one", file=scenario.file)])
    search, verdict = CurveSearch(line), None
    samples = search.curve()
    if not any(inside(sample) for sample in samples):
        verdict = solve_lineup(scenario, exact=True)
        if verdict.status == "feasible":  # from a random start
            line = HeldFigure(scenario, figure, verdict)
            search = CurveSearch(line)
            samples = search.curve()
    spots = {sample.value: _spot(line, sample) for sample in samples}
    met = [spot for spot in spots.values() if spot.found]
    return Trade(
        scenario=scenario,
        of=figure,
        spots=tuple(spots.values()),
        kinks=tuple(
            Kink(spots[there.value], b.limits - a.limits, a.limits - b.limits)
            for there, a, b in kinks(samples, line.span.high - line.span.low)
        ),
        best=max(met, key=lambda spot: spot.level, default=None),
        ranges=tuple(_runs(tuple(spots.values()), lambda spot: spot.feasible)),
        error=search.error,
        fresh=search.fresh,
        astray=search.astray,
        solver=line.solvers[0].name,
        verdict=verdict,
    )


def _spot(line: HeldFigure, sample: Sample) -> Spot:
    limits = frozenset() if sample.limits is None else sample.limits
    return Spot(sample.value, sample.level, limits, line.stated(sample))


def _check_free(scenario: Scenario, figure: Figure) -> None:
    """Raise InputError unless the target leaves the figure free."""
    key, span = figure.key, scenario.target.get(figure)
    if span is not None and not span.fixed:
        return
    path: Path = ("target", key)
    value = scenario.source_value(path)
    what = f"{key} is not asked for" if span is None else f"{key} is one value, not a range"
    instead = f"write target.{key} = {{ min = …, max = … }}: the range to draw the curve over"
    shown = None if value is None else str(value)
    place = path if path in scenario.places else path[:1]
    raise InputError([scenario.problem(place, what, instead, shown)])


def _runs(spots: Sequence[Spot], which: Callable[[Spot], bool]) -> Iterator[tuple[Spot, Spot]]:
    """Yield the first and the last spot of each stretch where `which` is true."""
    for yes, run in groupby(spots, key=which):
        if yes:
            stretch = list(run)
            yield stretch[0], stretch[-1]

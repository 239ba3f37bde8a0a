"""The price of the target: the largest smallest margin against one figure of it.

Over the range that the scenario leaves free, the other figures as it has them. The curve is sought
from its neighbours and refined until each stretch between two samples has the same limits at both
ends and its middle, and its middle lies on the chord; where limits change, until the kink is
located.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import groupby, pairwise

import numpy as np

from optimizer.linear.rows import Margin
from optimizer.linear.targets import KEYS
from optimizer.lineup.engine import WORTH
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.result import LineupResult, Status, WeightResult
from optimizer.scenario import Scenario
from optimizer.studies.along import Along, Best, Limits, Sample
from shared.errors import InputError, Problem

STRETCHES = 12
"""Equal parts of the range to begin with."""
FRESH = 3
"""Every so many of them, the usual starts are tried beside the neighbours' answers."""
FINEST = 5e-5
"""cm (0.00002 in). A kink, an end is located to this: finer than any printed digit."""
ERROR = 0.005
"""Tolerances between the curve and a chord of it; more, and the stretch is halved."""
BETTER = 1e-4
"""Tolerances: a fresh start that finds more than this says that the neighbours led astray."""

Told = Callable[[str, float], None]
Kinked = tuple[Sample, Best, Best]


@dataclass(frozen=True, eq=False)
class Spot:
    """A value of the figure (cm) and the line-up that has the largest smallest margin there.

    `level` is the program's, in tolerances, −∞ where no line-up meets the targets; `limits` keep it
    from being larger. `weights` are the balls at densities as stated, `smallest` their smallest
    margin of those that a density moves.
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
        """Whether its margins are inside all limits that a density moves."""
        return self.level >= -WORTH

    @cached_property
    def smallest(self) -> Margin | None:
        """The smallest margin of the balls as stated, of those that a density moves."""
        told = (
            m
            for weight in self.weights
            for m in weight.margins
            if m.movable and m.tolerances is not None and not m.rule_only
        )
        return min(told, key=lambda m: m.tolerances or 0.0, default=None)

    @property
    def figures(self) -> tuple[float, ...]:
        """The target's figures that its balls were asked for, cm; none where there are none."""
        return tuple(off.asked for w in self.weights[:1] for off in w.deviations[1:])

    @property
    def tolerances(self) -> float | None:
        """The smallest margin as measured, in tolerances; None where there is no line-up."""
        return None if self.smallest is None else self.smallest.tolerances


@dataclass(frozen=True, eq=False)
class Kink:
    """Where other limits take over: `enters` from here on up, in place of `leaves`."""

    spot: Spot
    enters: Limits
    leaves: Limits


@dataclass(frozen=True, eq=False)
class Trade:
    """The curve. `figure` is the number of the target's figure: 0 low RG, 1 differential, 2 third.

    `best` is where it is highest, None where no targets are met; `ranges` the first and the last
    feasible spot of each stretch above zero. `error` is how far the middles of stretches lie off
    the chord at most (tolerances). `fresh` values were sought from the usual starts too, every
    one of the first if these had found more than the neighbours' answers (`astray`). `verdict` is
    what `solve` says where nothing is feasible.
    """

    scenario: Scenario
    figure: int
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
        """Margins that no density moves, smallest first."""
        weights = self.best.weights if self.best else ()
        told = (
            m
            for weight in weights
            for m in weight.margins
            if not m.movable and not m.rule_only and m.tolerances is not None
        )
        return tuple(sorted(told, key=lambda m: m.tolerances or 0.0))

    @property
    def status(self) -> Status:
        """Whether any value is feasible, or what is known where none was found."""
        if self.broken:
            return "infeasible"
        return "feasible" if self.verdict is None or self.ranges else self.verdict.status

    @property
    def gaps(self) -> tuple[tuple[Spot, Spot], ...]:
        """The first and the last spot of each stretch where no line-up meets the targets."""
        return tuple(_runs(self.spots, lambda spot: not spot.found))

    @property
    def broken(self) -> tuple[Margin, ...]:
        """Margins outside their limit that no density moves."""
        return tuple(margin for margin in self.given if margin.slack < 0.0)


def trade(scenario: Scenario, figure: int, told: Told = lambda _what, _level: None) -> Trade:
    """Return the curve of `scenario` along one figure of its target.

    Raises InputError where the figure is not free, SolverError as `solve_lineup` does.
    """
    _check_free(scenario, figure)
    along = Along(scenario, figure)
    if not along.measurable:
        what = "no limit that a density moves has a tolerance: there is no margin to count in them"
        raise InputError([Problem(what, None, "give the materials one", file=scenario.file)])
    search, verdict = _Search(along, told), None
    samples = search.curve()
    if not any(_side(one) for one in samples):
        verdict = solve_lineup(scenario, told)
        if verdict.status == "feasible":  # from a random start
            along = Along(scenario, figure, verdict)
            search = _Search(along, told)
            samples = search.curve()
    spots = {s.value: _spot(along, s) for s in samples}
    found = [spot for spot in spots.values() if spot.found]
    return Trade(
        scenario=scenario,
        figure=figure,
        spots=tuple(spots.values()),
        kinks=tuple(
            Kink(spots[there.value], b.limits - a.limits, a.limits - b.limits)
            for there, a, b in _kinks(samples, along.span.high - along.span.low)
        ),
        best=max(found, key=lambda spot: spot.level, default=None),
        ranges=tuple(_runs(tuple(spots.values()), lambda spot: spot.feasible)),
        error=search.error,
        fresh=search.fresh,
        astray=search.astray,
        solver=along.solvers[0].name,
        verdict=verdict,
    )


def _check_free(scenario: Scenario, figure: int) -> None:
    """Raise InputError unless the target leaves the figure free."""
    key, target = KEYS[figure], scenario.target
    spans = () if target is None else target.spans
    span = spans[figure] if figure < len(spans) else None
    if span is not None and not span.fixed:
        return
    place = scenario.places.get(("target", key)) or scenario.places.get(("target",))
    value = scenario.source_value(("target", key))
    what = f"{key} is not asked for" if span is None else f"{key} is one value, not a range"
    raise InputError(
        [
            Problem(
                what,
                None if value is None else str(value),
                f"write target.{key} = {{ min = …, max = … }}: the range to draw the curve over",
                file=scenario.file,
                line=place.line if place else None,
                column=place.column if place else None,
            )
        ]
    )


@dataclass(eq=False)
class _Search:
    """The samples of a curve, and what was learned on the way."""

    along: Along
    told: Told
    error: float = 0.0
    fresh: int = 0
    astray: bool = False
    _known: dict[float, Sample] = field(default_factory=dict)

    def curve(self) -> list[Sample]:
        """Return samples in order of value, kinks located, the highest among them."""
        span = self.along.span
        grid = np.linspace(span.low, span.high, STRETCHES + 1).tolist()
        first = self._first(grid)
        if self.along.known is not None:
            first.append(self.along.afresh(self.along.known.figures[self.along.figure]))
        best = max(first, key=lambda one: one.level)
        if best.least is not None:
            top = self.along.at(self.along.top(best), [best])
            first.append(top)
        first = sorted({one.value: one for one in first}.values(), key=lambda one: one.value)
        samples = [first[0]]
        for a, b in pairwise(first):
            samples += [*self._between(a, b), b]
        return samples

    def _first(self, grid: Sequence[float]) -> list[Sample]:
        """Return the samples of the grid, from end to end and back, and checked by fresh starts."""
        samples = [self.along.afresh(grid[0])]
        for value in grid[1:]:
            samples.append(self.along.at(value, samples[-1:]))
            self._hears(samples)
        for k in reversed(range(len(grid) - 1)):
            samples[k] = self._better(samples[k], samples[k + 1])
        checked = range(0, len(grid), FRESH)
        self.fresh = len(checked)
        other = [self.along.afresh(grid[k]) for k in checked]
        pairs = [(samples[k], fresh) for k, fresh in zip(checked, other, strict=True)]
        self.astray = any(fresh.level > one.level + BETTER for one, fresh in pairs)
        if self.astray:
            self.fresh = len(grid)
            samples = [_higher(one, self.along.afresh(one.value)) for one in samples]
            for k in range(1, len(grid)):
                samples[k] = self._better(samples[k], samples[k - 1])
            for k in reversed(range(len(grid) - 1)):
                samples[k] = self._better(samples[k], samples[k + 1])
        return samples

    def _better(self, one: Sample, neighbour: Sample) -> Sample:
        """Return a sample, or what its neighbour's answer leads to there if that is more."""
        if neighbour.least is None or one.limits == neighbour.limits:
            return one
        return _higher(one, self.along.at(one.value, [neighbour]))

    def _between(self, a: Sample, b: Sample) -> list[Sample]:
        """Return the samples that it takes between two."""
        if b.value - a.value <= FINEST:
            return []
        same = a.limits == b.limits and _side(a) == _side(b)
        middle = (a.value + b.value) / 2
        values = [middle] if same else _round_corner(a, b) or [middle]
        found = [self.along.at(value, [a, b]) for value in values]
        self._hears(found)
        if same and found[0].limits == a.limits and _side(found[0]) == _side(a):
            off = 0.0 if a.least is None else abs(found[0].level - (a.level + b.level) / 2)
            if off <= ERROR:
                self.error = max(self.error, off)
                return found
        samples: list[Sample] = []
        for one, other in pairwise([a, *found, b]):
            samples += [*self._between(one, other), other]
        return samples[:-1]

    def _hears(self, samples: Sequence[Sample]) -> None:
        self.told("along the curve", max(one.level for one in samples))


def _higher(one: Sample, other: Sample) -> Sample:
    return other if other.level > one.level else one


def _side(one: Sample) -> bool:
    return one.level >= -WORTH


def _round_corner(a: Sample, b: Sample) -> list[float]:
    """Return values close on both sides of where the tangents at two samples meet, or meet zero.

    None where there is no such place between them.
    """
    if a.least is None or b.least is None:
        return []
    if a.limits != b.limits:
        turn = a.least.slope - b.least.slope
        rise = b.level - a.level - b.least.slope * (b.value - a.value)
    else:
        turn, rise = b.level - a.level, -a.level * (b.value - a.value)
        turn, rise = turn / (b.value - a.value), rise / (b.value - a.value)
    near = 0.45 * FINEST
    corner = a.value + rise / turn if turn else np.inf
    if not a.value - near < corner < b.value + near:
        return []
    corner = min(max(corner, a.value), b.value)
    return [
        v for v in (corner - near, corner + near) if a.value + near / 2 < v < b.value - near / 2
    ]


def _spot(along: Along, sample: Sample) -> Spot:
    limits = frozenset() if sample.limits is None else sample.limits
    return Spot(sample.value, sample.level, limits, along.stated(sample))


def _kinks(samples: Sequence[Sample], width: float) -> Iterator[Kinked]:
    """Yield the samples on both sides of each kink, and the highest there.

    Where the limits change and the slope doesn't, by what could be drawn over the whole `width`,
    there is a choice between limits and no kink.
    """
    close = [
        b.value - a.value <= FINEST and None not in (a.least, b.least) for a, b in pairwise(samples)
    ]
    at = 0
    for near, some in groupby(close):
        count = len(list(some))
        chain = samples[at : at + count + 1]
        at += count
        a, b = chain[0].least, chain[-1].least
        if near and a and b and a.limits != b.limits and abs(a.slope - b.slope) * width > ERROR:
            yield max(chain, key=lambda one: one.level), a, b


def _runs(spots: Sequence[Spot], which: Callable[[Spot], bool]) -> Iterator[tuple[Spot, Spot]]:
    """Yield the first and the last spot of each stretch of spots `which` says yes to."""
    for yes, some in groupby(spots, key=which):
        if yes:
            stretch = list(some)
            yield stretch[0], stretch[-1]

"""One figure of the target held at a value, and the best line-up there, group by group.

At one value of the figure, weights that nothing else ties together are solved separately; the
smallest margin of the line is the least of the groups'.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import chain, islice

import numpy as np

from optimizer.ball.bounds import Bound
from optimizer.ball.figures import Figure
from optimizer.ball.linear_rows import LinearRow
from optimizer.ball.targets import Span
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.claims import Claim, Kind, Other
from optimizer.lineup.columns import coupled
from optimizer.lineup.engine.climbing import Peak
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.engine.search import DELIBERATE, Start, climbed, search_rounds
from optimizer.lineup.result import LineupResult, WeightResult
from optimizer.lineup.rows import Lineup
from optimizer.lineup.stating import as_stated, measured, shortfalls
from optimizer.scenario import Scenario, linear_maps
from shared.arrays import Array
from shared.errors import SolverError
from shared.tolerances import ARITHMETIC, LEAST_DUAL

Limits = frozenset[Claim]


@dataclass(frozen=True, eq=False)
class Best:
    """The best line-up found for one group at a value.

    It has its columns, its smallest margin in tolerances, the derivative of that in the figure (per
    cm), and the limits that hold it.
    """

    x: Array
    level: float
    slope: float
    limits: Limits


@dataclass(frozen=True, eq=False)
class Sample:
    """A value of the figure (cm) and each group's best there, None if it misses the targets."""

    value: float
    groups: tuple[Best | None, ...]

    @cached_property
    def least(self) -> Best | None:
        """The group with the smallest margin; None where the targets are not met."""
        met = [best for best in self.groups if best is not None]
        return min(met, key=lambda best: best.level) if len(met) == len(self.groups) else None

    @property
    def level(self) -> float:
        """The largest smallest margin found, in tolerances; −∞ for none."""
        return -np.inf if self.least is None else self.least.level

    @property
    def limits(self) -> Limits | None:
        """The limits that keep it from being larger."""
        return None if self.least is None else self.least.limits


class HeldFigure:
    """A scenario's line with one figure of its target held.

    The scenario must leave the figure free, so that a rule on it is a limit, as it is for `solve`.
    A `known` line-up is an additional start.
    """

    def __init__(
        self, scenario: Scenario, figure: Figure, known: LineupResult | None = None
    ) -> None:
        maps = linear_maps(scenario)
        self.scenario, self.known, self.place = scenario, known, list(scenario.target).index(figure)
        self.whole = Lineup.of(maps, scenario.sharing)
        groups = coupled([_held(linear_map, figure) for linear_map in maps], scenario.sharing)
        self.lineups = tuple(
            Lineup.of([maps[k] for k in group], scenario.sharing) for group in groups
        )
        self.solvers = tuple(LinearSolver() for _ in self.lineups)

    @property
    def span(self) -> Span:
        """The range of the figure, cm."""
        columns = self.whole.columns
        j = columns.figures + self.place
        return Span(float(columns.lower[j]), float(columns.upper[j]))

    @property
    def measurable(self) -> bool:
        """Whether any limit that depends on density has a tolerance to measure its margin in."""
        return any(
            b.held(linear_map) and b.tolerance
            for linear_map in self.whole.maps
            for b in linear_map.bounds
        )

    def at(self, value: float, near: Sequence[Sample]) -> Sample:
        """Return the best at a value from the answers `near` it, or else the usual starts."""
        return Sample(value, tuple(self._near(k, value, near) for k in range(len(self.lineups))))

    def afresh(self, value: float) -> Sample:
        """Return the best at a value from the chosen starts of `solve`."""
        return Sample(value, tuple(self._afresh(k, value) for k in range(len(self.lineups))))

    def top(self, start: Sample) -> float:
        """Return the value with the largest smallest margin, climbing from `start`, cm."""
        whole, x = self.whole, self.whole.columns.middle
        for lineup, best in zip(self.lineups, start.groups, strict=True):
            if best is not None:
                x = whole.carried(lineup, best.x, x)
        peak = whole.engine(LinearSolver()).climb(x)
        figures = whole.columns.target(peak.x).tolist()
        return figures[self.place] if peak.meets_targets else start.value

    def stated(self, sample: Sample) -> tuple[WeightResult, ...]:
        """Return the line's balls at densities as stated, measured; empty if targets are missed.

        Raises SolverError where they fall short of the sample.
        """
        weight_results: dict[str, WeightResult] = {}
        for lineup, best in zip(self.lineups, sample.groups, strict=True):
            if best is None:
                return ()
            figures = lineup.columns.target(best.x)
            for ball in lineup.balls(best.x):
                weight_results[ball.map.label] = measured(as_stated(ball), figures)
                if missed := shortfalls(weight_results[ball.map.label], best.level):
                    raise SolverError("found, but as stated " + "; ".join(missed))
        return tuple(weight_results[drawing.label] for drawing in self.scenario.classes)

    def _near(self, k: int, value: float, near: Sequence[Sample]) -> Best | None:
        known = [(sample.value, best) for sample in near if (best := sample.groups[k]) is not None]
        starts = [best.x for _, best in known]
        if len(known) == 2 and known[0][1].limits == known[1][1].limits:
            (low, below), (high, above) = known
            starts = [below.x + (value - low) / (high - low) * (above.x - below.x)]
        return self._climbed(k, value, [(x, None) for x in starts]) or self._afresh(k, value)

    def _afresh(self, k: int, value: float) -> Best | None:
        lineup = self.lineups[k]
        rounds = islice(search_rounds(lineup, lineup.columns.middle), DELIBERATE)
        known = [] if self.known is None else [(lineup.point_of(self.known), None)]
        return self._climbed(k, value, [*known, *chain.from_iterable(rounds)])

    def _climbed(self, k: int, value: float, starts: Iterable[Start]) -> Best | None:
        """Return the best that is reached from `starts`; None where none meets the targets."""
        columns = self.lineups[k].columns
        held = columns.held(columns.figures + self.place, value)
        lineup = replace(self.lineups[k], columns=held)
        engine = lineup.engine(self.solvers[k])
        clipped = ((np.clip(x, held.lower, held.upper), orders) for x, orders in starts)
        peaks = [climbed(lineup, engine, start) for start in clipped]
        met = [peak for peak in peaks if peak.meets_targets]
        return self._best(k, max(met, key=lambda peak: peak.level)) if met else None

    def _best(self, k: int, peak: Peak) -> Best:
        duals, j = peak.optimum.duals, self.lineups[k].columns.figures + self.place
        rows = self.lineups[k].margin_rows(peak.x)
        limits = frozenset(
            self._claim(row)
            for row, dual in zip(rows, np.abs(duals), strict=True)
            if dual > LEAST_DUAL and row.lower != row.upper and _moved(row)
        )
        return Best(peak.x, peak.level, float(duals @ peak.rows.matrix[:, j]), limits)

    def _claim(self, row: LinearRow) -> Claim:
        """Return a row's claim, without its weight where all weights share the pour."""
        bound = row.name.of
        if not isinstance(bound, Bound):
            return Other(Kind.ORDER, weight=row.name.weight, detail=bound)
        shared = isinstance(bound.of, str) and any(
            len(group) == len(self.scenario.standing(bound.of)) > 1
            for group in self.scenario.sharing.get(bound.of, ())
        )
        return bound.everywhere if shared else bound


def _held(linear_map: LinearMap, figure: Figure) -> LinearMap:
    """Return a weight class with the figure held: it ties no weights together."""
    span = linear_map.target[figure]
    return replace(linear_map, target={**linear_map.target, figure: span.at(span.low)})


def _moved(row: LinearRow) -> bool:
    """Whether any column moves a row: none moves the order of two identical axes."""
    return bool(np.max(np.abs(row.coefficients)) > ARITHMETIC)

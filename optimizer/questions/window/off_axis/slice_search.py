"""Slices of equal low RG of what an `opened` line-up can reach, each found from its neighbours.

The bounds of its column hold the low RG, and the engine lowers or raises the differential, starting
from the neighbours' answers and from random balls.
"""

from __future__ import annotations

from bisect import bisect
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial
from itertools import pairwise

import numpy as np

from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.lineup.engine.climbing import Engine
from optimizer.lineup.engine.linear_solver import LinearSolver, Rows
from optimizer.lineup.engine.search import SEED, leaning
from optimizer.lineup.rows import Lineup
from optimizer.questions.window.exact.polytope_slices import Mix, Pair
from optimizer.questions.window.exact.shared_bands import Lost
from optimizer.questions.window.off_axis.thrown_balls import ThrownBalls
from optimizer.questions.window.off_axis.window_rows import WindowRows
from shared.arrays import Array
from shared.tolerances import LEAST_DUAL

SWEEPS = 4
"""Passes to and fro over the slices, in which each starts from its neighbours."""
RESTARTS = 4
"""Random starts where there are no thrown balls."""
LEAP = 5e-5
"""cm. Where neighbours that no limit binds differ by more, one of them is wrong."""
ROUND = 2.5e-6
"""cm. A smaller differential counts as 0: no ball has less."""
AIM = 0.1
"""cm. The unit of the figure that is raised: with 1e-3 it may pay to break a row."""
SHORT = 1e-6
"""cm. A smaller gain counts as none, also over several passes together."""
MET = 1e-6
"""cm² and tolerances. A row broken by less is met."""

SIGNS = (-1.0, 1.0)


@dataclass(frozen=True, eq=False)
class SliceEnd:
    """The columns of the line-up that goes farthest, its rows, and the limits that bind it."""

    x: Array
    rows: Rows
    binding: frozenset[Name]


Ends = tuple[SliceEnd, SliceEnd]
"""The least and the greatest."""


@dataclass(frozen=True, eq=False)
class SliceSearch:
    """The search for the ends of one figure of an `opened` line-up at a time.

    Random `balls` are starts, too. `pin` is the pin axis's place (`window_rows.py`). The two lowest
    RGs must be AXIS_GAP apart where `apart` is 1, and nearer where it is -1. `known` are the slices
    found so far, by low RG.
    """

    lineup: Lineup
    solver: LinearSolver
    balls: ThrownBalls
    pin: int
    apart: float = 0.0
    known: dict[float, Ends] = field(default_factory=dict)

    def knots(self, rgs: Array, ends: Ends) -> None:
        """Fill in the first slices: from the balls, from one to the next, and to and fro."""
        low, high = ends
        reach, last, far = float(np.ptp(rgs)) / len(rgs), [low, low], list(self.far())
        for rg in rgs.tolist():
            ends_here = []
            for near, sign in zip(last, SIGNS, strict=True):
                starts = [near.x, high.x] if rg == rgs[-1] else [near.x]
                starts += self.starts(self.balls.near(rg, reach, sign))
                ends_here.append(self.best(1, sign, starts, rg) or self.best(1, sign, far, rg))
            last = list(self.know(rg, ends_here))
        self.revised()

    def revised(self) -> bool:
        """Improve slices from their neighbours and return whether any improved.

        Where a line leaps, a slice has missed the better of two optima.
        """
        sweeps = 0
        while sweeps < SWEEPS and self._swept():
            sweeps += 1
        return sweeps > 0

    def _swept(self) -> bool:
        """Return whether any slice is better when started from its neighbour on either side."""
        better = False
        for way in (1, -1):
            for there, rg in pairwise(sorted(self.known)[::way]):
                pairs = zip(SIGNS, self.known[there], self.known[rg], strict=True)
                low, high = (self._better(rg, *pair) for pair in pairs)
                better |= (low, high) != self.known[rg]
                self.known[rg] = (low, high)
        return better

    def _better(self, rg: float, sign: float, neighbour: SliceEnd, here: SliceEnd) -> SliceEnd:
        """Return what is found from a neighbour if it goes farther than what is known at `rg`."""
        known = self._far(here, sign)
        ahead = self._far(neighbour, sign) - known
        if neighbour.binding == here.binding and (here.binding or ahead <= LEAP):
            return here
        end = self.best(1, sign, [neighbour.x], rg)
        return here if end is None or self._far(end, sign) - known <= SHORT else end

    def _far(self, end: SliceEnd, sign: float) -> float:
        return sign * float(end.x[self.lineup.columns.figures + 1])

    def know(self, rg: float, ends: Iterable[SliceEnd | None]) -> Ends:
        """Keep a slice and return it; raise Lost where an end of it was not found."""
        low, high = ends
        if low is None or high is None:
            raise Lost
        self.known[rg] = (low, high)
        return low, high

    def ends(self, keys: Sequence[float]) -> list[Pair]:
        """Return the least and the greatest RG_high² found at each low RG²."""
        return list(map(self._ends, keys))

    def _ends(self, u: float) -> Pair:
        rg, figures = float(np.sqrt(u)), self.lineup.columns.figures
        near = min(self.known, key=lambda known: abs(known - rg))
        if abs(near - rg) <= 1e-12:
            ends, rg = self.known[near], near
        else:
            ends = self.know(rg, self.between(rg))
        low, high = (Mix((rg + self._far(end, 1.0)) ** 2, end.x[:figures]) for end in ends)
        return low, high

    def between(self, rg: float) -> list[SliceEnd | None]:
        """Return what is found from both neighbours, or from between if the same rows bind both."""
        rgs = sorted(self.known)
        k = bisect(rgs, rg)
        part, ends = (rg - rgs[k - 1]) / (rgs[k] - rgs[k - 1]), []
        for sign, a, b in zip(SIGNS, self.known[rgs[k - 1]], self.known[rgs[k]], strict=True):
            starts = [a.x + part * (b.x - a.x)] if a.binding == b.binding else [a.x, b.x]
            ends.append(self.best(1, sign, starts, rg))
        return ends

    def fill(self, rg: float, starts: Sequence[Array]) -> None:
        """Add a slice, the better of what is found from its neighbours and from `starts`."""
        ends = []
        for sign, near in zip(SIGNS, self.between(rg), strict=True):
            far = self.best(1, sign, starts, rg)
            tries = filter(None, (near, far) if sign < 0.0 else (far, near))
            ends.append(max(tries, key=partial(self._far, sign=sign), default=None))
        self.know(rg, ends)

    def far(self) -> Iterator[Array]:
        """Yield starts in the middle of all ranges, at their ends and at random.

        Where there are thrown balls, the middle is enough.
        """
        columns, random = self.lineup.columns, np.random.default_rng(SEED)
        yield columns.middle
        if len(self.balls.densities):
            return
        for way in (1.0, -1.0):
            yield leaning(self.lineup, way)
        for _ in range(RESTARTS):
            yield columns.middle + random.uniform(-0.5, 0.5, columns.count) * columns.spread

    def engine(self, figure: int, sign: float, rg: float | None = None) -> Engine:
        """Return the engine that raises (1) or lowers (-1) a figure: 0 low RG, 1 differential."""
        columns, rows_at = self.lineup.columns, WindowRows(self.lineup, self.apart, self.pin)
        lower, upper = columns.lower.copy(), columns.upper.copy()
        if rg is not None:
            lower[columns.figures] = upper[columns.figures] = rg
        aim = np.zeros(columns.count)
        aim[columns.figures + figure] = sign
        aimed = LinearRow(Name("aim"), aim, 0.0, np.inf, tolerance=AIM)
        return Engine(
            lambda x: [*rows_at(x), aimed],
            lower,
            upper,
            columns.middle,
            columns.spread,
            self.solver,
            enough=-ROUND / AIM if (figure, sign) == (1, -1.0) else np.inf,
            crawl=SHORT / AIM,
            second_order=True,
        )

    def best(
        self, figure: int, sign: float, starts: Iterable[Array], rg: float | None = None
    ) -> SliceEnd | None:
        """Return the line-up whose figure is farthest, or None where the rows are not met."""
        engine = self.engine(figure, sign, rg)
        peaks = [engine.climb(self._at_figures(x, engine)) for x in starts]
        met = [peak for peak in peaks if peak.error <= MET]
        if not met:
            return None
        peak = max(met, key=lambda peak: peak.level)
        rows = peak.rows
        bears = (np.abs(peak.optimum.duals) > LEAST_DUAL) & (rows.lower != rows.upper)
        binding = frozenset(rows.names[i] for i in np.flatnonzero(bears).tolist())
        return SliceEnd(peak.x, rows, binding)

    def _at_figures(self, x: Array, engine: Engine) -> Array:
        """Return columns with the figures of the first ball, within their bounds."""
        k = self.lineup.columns.figures
        x = np.clip(x, engine.lower, engine.upper)
        ball = next(self.lineup.balls(x))
        figures = [figure.value(ball) for figure in ball.map.target]
        x[k:] = np.clip(figures, engine.lower[k:], engine.upper[k:])
        return x

    def starts(self, densities: Array) -> list[Array]:
        """Return starts at densities (k, n), their figures not measured yet."""
        unmeasured = np.zeros(self.lineup.columns.count - self.lineup.columns.figures)
        return [np.concatenate([x, unmeasured]) for x in densities]

"""Slices of equal low RG of what an `opened` line-up can reach, found one from another.

Low RG is held by its column's bounds, and the engine lowers or raises the differential, from the
neighbours' answers and from balls thrown at random.
"""

from __future__ import annotations

from bisect import bisect
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.lineup.engine.climbing import Engine
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.engine.search import SEED, leaning
from optimizer.lineup.rows import Lineup
from optimizer.questions.window.exact.chords import Lost
from optimizer.questions.window.exact.slices import Mix
from optimizer.questions.window.off_axis.sheets import Sheets
from optimizer.questions.window.off_axis.thrown_balls import Crowd
from shared.arrays import Array
from shared.tolerances import LEAST_DUAL

SWEEPS = 4
"""Times that slices are gone through to and fro, each seen from its neighbours."""
RESTARTS = 4
"""Random starts where there is no crowd."""
LEAP = 5e-5
"""cm. Where neighbours that no limit binds differ by more, one of them is off."""
ROUND = 2.5e-6
"""cm. A differential less than this is none: no ball has less."""
AIM = 0.1
"""cm. The unit of the figure that is raised: in one of 1e-3 a broken row may be sold."""
SHORT = 1e-6
"""cm. A gain less than this is none, of some passes together, too."""
MET = 1e-6
"""cm² and tolerances. A row broken by less is met."""

SIGNS = (-1.0, 1.0)


@dataclass(frozen=True, eq=False)
class Found:
    """The columns of the line-up that goes farthest, and the limits that bind it."""

    x: Array
    binding: frozenset[Name]


Ends = tuple[Found, Found]
"""The least and the greatest."""


@dataclass(frozen=True, eq=False)
class Slicing:
    """The search for the ends of one figure of an `opened` line-up at a time.

    It starts from balls of the `crowd`, too. `pin` is the pin axis's place (`sheets.py`). Where
    `apart` is 1 the two lowest RGs must be AXIS_GAP apart, where it is -1 nearer. `known` are the
    slices that were found, by their low RG.
    """

    lineup: Lineup
    solver: LinearSolver
    crowd: Crowd
    pin: int
    apart: float = 0.0
    known: dict[float, Ends] = field(default_factory=dict)

    @property
    def sheets(self) -> Sheets:
        """The rows of its line-up."""
        return Sheets(self.lineup, self.apart, self.pin)

    @property
    def differential(self) -> int:
        """Its column."""
        return self.lineup.columns.figures + 1

    def knots(self, rgs: Array, ends: Ends) -> None:
        """Fill in the first slices: from the crowd, from one to the next, and to and fro."""
        low, high = ends
        reach, last, far = float(np.ptp(rgs)) / len(rgs), [low, low], list(self.far())
        for rg in rgs.tolist():
            founds = []
            for k, sign in enumerate(SIGNS):
                near = [last[k], high] if rg == rgs[-1] else [last[k]]
                starts = [one.x for one in near]
                starts += self.starts(self.crowd.near(rg, reach, sign))
                founds.append(self.best(1, sign, starts, rg) or self.best(1, sign, far, rg))
            last = list(self.know(rg, founds))
        self.revised()

    def revised(self) -> bool:
        """Whether slices are better when seen from their neighbours; then that is what is known.

        A line that leaps has lost the better of two optima at one of its slices.
        """
        seen = 0
        while seen < SWEEPS and self._swept():
            seen += 1
        return seen > 0

    def _swept(self) -> bool:
        """Whether any slice is better when seen from its neighbour on either side."""
        better = False
        for way in (1, -1):
            for there, rg in pairwise(sorted(self.known)[::way]):
                pairs = zip(SIGNS, self.known[there], self.known[rg], strict=True)
                low, high = (self._better(rg, *pair) for pair in pairs)
                better |= (low, high) != self.known[rg]
                self.known[rg] = (low, high)
        return better

    def _better(self, rg: float, sign: float, neighbour: Found, here: Found) -> Found:
        """Return what is found from a neighbour if it is farther than what is known at `rg`."""
        ahead = sign * float((neighbour.x - here.x)[self.differential])
        if neighbour.binding == here.binding and (here.binding or ahead <= LEAP):
            return here
        found = self.best(1, sign, [neighbour.x], rg)
        gain = 0.0 if found is None else sign * float((found.x - here.x)[self.differential])
        return here if found is None or gain <= SHORT else found

    def know(self, rg: float, founds: Sequence[Found | None]) -> Ends:
        """Keep a slice and return it; raise Lost where an end of it was not found."""
        low, high = founds
        if low is None or high is None:
            raise Lost
        self.known[rg] = (low, high)
        return low, high

    def ends(self, u: float) -> tuple[Mix, Mix]:
        """Return the least and the greatest RG_high² found at `u`."""
        rg, j = float(np.sqrt(u)), self.differential
        near = min(self.known, key=lambda other: abs(other - rg))
        if abs(near - rg) <= 1e-12:
            founds, rg = self.known[near], near
        else:
            founds = self.know(rg, list(self.between(rg)))
        low, high = (Mix((rg + float(end.x[j])) ** 2, end.x[: j - 1]) for end in founds)
        return low, high

    def between(self, rg: float) -> Iterator[Found | None]:
        """Yield what is found from both neighbours; where the same rows hold them, from between."""
        rgs = sorted(self.known)
        k = bisect(rgs, rg)
        part = (rg - rgs[k - 1]) / (rgs[k] - rgs[k - 1])
        for sign, a, b in zip(SIGNS, self.known[rgs[k - 1]], self.known[rgs[k]], strict=True):
            starts = [a.x, b.x]
            if a.binding == b.binding:
                starts = [a.x + part * (b.x - a.x)]
            yield self.best(1, sign, starts, rg)

    def fill(self, rg: float, starts: Sequence[Array]) -> None:
        """Add a slice, as it is found from its neighbours and from `starts`."""
        founds = []
        for sign, near in zip(SIGNS, list(self.between(rg)), strict=True):
            far = self.best(1, sign, starts, rg)
            ends = [end for end in (near, far) if end is not None]
            ends.sort(key=lambda end: float(end.x[self.differential]))
            founds.append(ends[0 if sign < 0 else -1] if ends else None)
        self.know(rg, founds)

    def far(self) -> Iterator[Array]:
        """Yield starts in the middle of all ranges, at their ends and at random.

        Where there is a crowd, the middle will do.
        """
        columns, random = self.lineup.columns, np.random.default_rng(SEED)
        yield columns.middle
        if len(self.crowd.rg):
            return
        for way in (1.0, -1.0):
            yield leaning(self.lineup, way)
        for _ in range(RESTARTS):
            yield columns.middle + random.uniform(-0.5, 0.5, columns.count) * columns.spread

    def engine(self, figure: int, sign: float, rg: float | None = None) -> Engine:
        """Return the engine that raises (1) or lowers (-1) a figure: 0 low RG, 1 differential."""
        columns, sheets = self.lineup.columns, self.sheets
        lower, upper = columns.lower.copy(), columns.upper.copy()
        if rg is not None:
            lower[columns.figures] = upper[columns.figures] = rg
        aim = np.zeros(columns.count)
        aim[columns.figures + figure] = sign
        aimed = LinearRow(Name("aim"), aim, 0.0, np.inf, tolerance=AIM)
        return Engine(
            lambda x: [*sheets(x), aimed],
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
    ) -> Found | None:
        """Return the line-up whose figure is farthest, or None where the rows are not met."""
        engine = self.engine(figure, sign, rg)
        peaks = [engine.climb(self._at_figures(x, engine)) for x in starts]
        met = [peak for peak in peaks if peak.error <= MET]
        if not met:
            return None
        peak = max(met, key=lambda one: one.level)
        bears = np.abs(peak.optimum.duals) > LEAST_DUAL
        rows = zip(engine.rows_at(peak.x), bears, strict=True)
        return Found(
            peak.x, frozenset(row.name for row, bear in rows if bear and row.lower != row.upper)
        )

    def _at_figures(self, x: Array, engine: Engine) -> Array:
        """Return columns whose free figures are those of the first ball, within their bounds."""
        k = self.lineup.columns.figures
        x = np.clip(x, engine.lower, engine.upper)
        radii = next(self.lineup.balls(x)).radii
        figures = [radii.low, radii.differential, radii.intermediate_differential]
        x[k:] = np.clip(figures[: len(x) - k], engine.lower[k:], engine.upper[k:])
        return x

    def starts(self, densities: Array) -> list[Array]:
        """Return starts at densities (k, n), their figures still to be measured."""
        unmeasured = np.zeros(self.lineup.columns.count - self.lineup.columns.figures)
        return [np.concatenate([x, unmeasured]) for x in densities]

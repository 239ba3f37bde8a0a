"""Slices of equal low RG of what an `opened` line-up can reach, found one from another.

At each low RG the least and the greatest differential are sought: from the neighbours' optima by
Newton's method, from far starts by linear programs (`settling.py`).
"""

from __future__ import annotations

from bisect import bisect
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.engine.search import SEED, leaning
from optimizer.lineup.rows import Lineup
from optimizer.questions.window.exact.chords import Lost
from optimizer.questions.window.exact.slices import Mix
from optimizer.questions.window.off_axis.climbing import SHORT, Start, reached
from optimizer.questions.window.off_axis.settling import Settled, Settling
from optimizer.questions.window.off_axis.sheets import Sheets
from optimizer.questions.window.off_axis.thrown_balls import Crowd
from shared.arrays import Array

SWEEPS = 4
"""Times that slices are gone through to and fro, each seen from its neighbours."""
RESTARTS = 4
"""Random starts where there is no crowd."""
LEAP = 5e-5
"""cm. Where neighbours that no rows are known to hold differ by more, one of them is off."""
ROUND = 2.5e-6
"""cm. A differential less than this is none: no ball has less."""

Ends = tuple[Settled, Settled]
"""The least and the greatest."""
SIGNS = (-1.0, 1.0)


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
            found = []
            for k, sign in enumerate(SIGNS):
                near = [last[k], high] if rg == rgs[-1] else [last[k]]
                starts: list[Start] = [(one.x, one.held) for one in near]
                starts += self.starts(self.crowd.near(rg, reach, sign))
                found.append(self.best(1, sign, starts, rg) or self.best(1, sign, far, rg))
            last = list(self.know(rg, found))
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

    def _better(self, rg: float, sign: float, neighbour: Settled, here: Settled) -> Settled:
        """Return what is found from a neighbour if it is farther than what is known at `rg`."""
        ahead = sign * float((neighbour.x - here.x)[self.differential])
        if neighbour.held == here.held and (here.held or ahead <= LEAP):
            return here
        starts = [(one.x, one.held) for one in (neighbour, here)]
        found = self.best(1, sign, starts, rg)
        gain = 0.0 if found is None else sign * float((found.x - here.x)[self.differential])
        return here if found is None or gain <= 10 * SHORT else found

    def know(self, rg: float, found: Sequence[Settled | None]) -> Ends:
        """Keep a slice and return it; raise Lost where an end of it was not found."""
        low, high = found
        if low is None or high is None:
            raise Lost
        self.known[rg] = (low, high)
        return low, high

    def ends(self, u: float) -> tuple[Mix, Mix]:
        """Return the least and the greatest RG_high² found at `u`."""
        rg, j = float(np.sqrt(u)), self.differential
        near = min(self.known, key=lambda other: abs(other - rg))
        if abs(near - rg) <= 1e-12:
            found, rg = self.known[near], near
        else:
            found = self.know(rg, list(self.between(rg)))
        low, high = (Mix((rg + float(end.x[j])) ** 2, end.x[: j - 1]) for end in found)
        return low, high

    def between(self, rg: float) -> Iterator[Settled | None]:
        """Yield what is found from both neighbours; where the same rows hold them, from between."""
        rgs = sorted(self.known)
        k = bisect(rgs, rg)
        part = (rg - rgs[k - 1]) / (rgs[k] - rgs[k - 1])
        for sign, a, b in zip(SIGNS, self.known[rgs[k - 1]], self.known[rgs[k]], strict=True):
            starts = [(a.x, a.held), (b.x, b.held)]
            if a.held == b.held:
                starts = [(a.x + part * (b.x - a.x), a.held)]
            yield self.best(1, sign, starts, rg)

    def fill(self, rg: float, starts: Sequence[Start]) -> None:
        """Add a slice, as it is found from its neighbours and from `starts`."""
        found = []
        for sign, near in zip(SIGNS, list(self.between(rg)), strict=True):
            far = self.best(1, sign, starts, rg)
            ends = [end for end in (near, far) if end is not None]
            ends.sort(key=lambda end: float(end.x[self.differential]))
            found.append(ends[0 if sign < 0 else -1] if ends else None)
        self.know(rg, found)

    def far(self) -> Iterator[Start]:
        """Yield starts in the middle of all ranges, at their ends and at random.

        Where there is a crowd, the middle will do.
        """
        columns, random = self.lineup.columns, np.random.default_rng(SEED)
        yield columns.middle, None
        if len(self.crowd.rg):
            return
        for way in (1.0, -1.0):
            yield leaning(self.lineup, way), None
        for _ in range(RESTARTS):
            yield columns.middle + random.uniform(-0.5, 0.5, columns.count) * columns.spread, None

    def best(
        self, figure: int, sign: float, starts: Sequence[Start], rg: float | None = None
    ) -> Settled | None:
        """Return the line-up whose figure (0 low RG, 1 differential) is farthest, or None."""
        columns = self.lineup.columns
        lower, upper = columns.lower.copy(), columns.upper.copy()
        if rg is not None:
            lower[columns.figures] = upper[columns.figures] = rg
        aim = np.zeros(columns.count)
        aim[columns.figures + figure] = sign
        sheets = self.sheets
        most = -ROUND if (figure, sign) == (1, -1.0) else np.inf
        settling = Settling(sheets, sheets.followed, aim, lower, upper, self.solver, most)
        at = [(self._at_figures(np.clip(x, lower, upper), rg), held) for x, held in starts]
        found = list(reached(settling, at))
        return max(found, key=lambda one: float(aim @ one.x), default=None)

    def _at_figures(self, x: Array, rg: float | None) -> Array:
        """Return columns whose free figures are those of the first ball."""
        columns = self.lineup.columns
        radii = next(self.lineup.balls(x)).radii
        figures = [radii.low if rg is None else rg, radii.differential]
        inner = radii.intermediate_differential
        asked = np.clip(
            inner, columns.lower[self.differential + 1 :], columns.upper[self.differential + 1 :]
        )
        return np.concatenate([x[: columns.figures], figures, asked])

    def starts(self, densities: Array) -> list[Start]:
        """Return far starts at densities (k, n), their figures still to be measured."""
        unmeasured = np.zeros(self.lineup.columns.count - self.lineup.columns.figures)
        return [(np.concatenate([x, unmeasured]), None) for x in densities]

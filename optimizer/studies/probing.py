"""What weights can reach where it can't be told exactly: found by the engine, not proven.

At each low RG the engine seeks the least and the greatest differential. Every point that comes back
is a ball (or a line-up) measured exactly; that there are no others beyond is not proven.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from optimizer.linear.maps import Ball
from optimizer.linear.rows import LinearRow
from optimizer.lineup.engine import Engine, Peak
from optimizer.lineup.rows import ORDERS, PRICE, SORTED, Lineup, Order
from optimizer.lineup.search import SEED, leaning
from optimizer.lineup.solve import LinearSolver
from optimizer.studies.bands import Band, Line
from optimizer.studies.chords import Lost
from optimizer.studies.reach import Reach
from optimizer.studies.slices import Chain, Mix, chain
from shared.arrays import Array, frozen

AIM = 0.01
"""cm. The unit of the figure that is raised."""
CRAWL = 5e-4
"""In AIM: 5e-6 cm, a tenth of what the outline may be off."""
KNOTS = 9
"""Low RGs at which the differential is sought first."""
ERROR = 1e-4 * 2.54
"""cm. Beyond it, a stretch between two of them is halved."""
RESTARTS = 4
"""Random starts in the search for the least and the greatest low RG."""
DEEPEST = 5
"""Times a stretch between two low RGs is halved at the most."""
INSIDE = 2e-6
"""cm by which the least and the greatest low RG are drawn in, so that they are met by both ends."""


@dataclass(eq=False)
class Probe:
    """The engine, asked for the ends of one figure of an `opened` line-up at a time."""

    lineup: Lineup
    solver: LinearSolver
    hears: Callable[[], None]
    last: list[Array] = field(default_factory=list)
    starts: list[Array] = field(default_factory=list)

    def reach(self) -> Reach | None:
        """Return what was found; None where the search lost its way."""
        columns = self.lineup.columns
        random = np.random.default_rng(SEED)
        some = [columns.middle, *(leaning(self.lineup, way) for way in (1.0, -1.0))]
        some += [
            columns.middle + random.uniform(-0.5, 0.5, columns.count) * columns.spread
            for _ in range(RESTARTS)
        ]
        ends = [self._best(0, sign, some) for sign in (-1.0, 1.0)]
        if ends[0] is None or ends[1] is None:
            return Reach((), 0.0, proven=False)
        self.last, self.starts = [ends[0].x, ends[0].x], [ends[1].x, *some]
        low, high = (float(one.x[columns.figures]) for one in ends if one is not None)
        if high - low > 4 * INSIDE:
            low, high = low + INSIDE, high - INSIDE
        knots = (
            np.linspace(low, high, KNOTS) ** 2 if high - low > 4 * INSIDE else np.array([low**2])
        )
        try:
            found = chain(knots, self._ends, ERROR, DEEPEST, proven=False)
        except Lost:
            return None
        return Reach((_band(found),), found.error, proven=False)

    def _ends(self, u: float) -> tuple[Mix, Mix]:
        """Return the least and the greatest RG_high² found at `u`."""
        self.hears()
        rg, j = float(np.sqrt(u)), self.lineup.columns.figures
        mixes = []
        for k, sign in enumerate((-1.0, 1.0)):
            peak = self._best(1, sign, self.last, rg) or self._best(1, sign, self.starts, rg)
            if peak is None:
                raise Lost
            self.last[k] = peak.x
            mixes.append(Mix((rg + float(peak.x[j + 1])) ** 2, peak.x[:j]))
        return mixes[0], mixes[1]

    def _best(
        self, figure: int, sign: float, starts: Sequence[Array], rg: float | None = None
    ) -> Peak | None:
        """Return the line-up whose figure (0 low RG, 1 differential) is farthest, or None."""
        columns = self.lineup.columns
        lower, upper = columns.lower.copy(), columns.upper.copy()
        if rg is not None:
            lower[columns.figures] = upper[columns.figures] = rg

        def rows_at(x: Array) -> list[LinearRow]:
            aim = np.zeros(columns.count)
            aim[columns.figures + figure] = sign
            rows = [_kept(row) for row in self.lineup.margin_rows(x, self._orders(x))]
            return [*rows, LinearRow("aim", aim, 0.0, np.inf, tolerance=AIM)]

        engine = Engine(
            rows_at, lower, upper, columns.middle, columns.spread, self.solver, crawl=CRAWL
        )
        peaks = [engine.climb(self._at_figures(np.clip(x, lower, upper), rg)) for x in starts]
        good = [peak for peak in peaks if peak.meets_targets]
        return max(good, key=lambda peak: peak.level, default=None)

    def _at_figures(self, x: Array, rg: float | None) -> Array:
        """Return columns whose free figures are those of the first ball."""
        columns = self.lineup.columns
        radii = next(self.lineup.balls(x)).radii
        figures = [radii.low if rg is None else rg, radii.differential]
        at = np.concatenate([x[: columns.figures], figures])
        return np.asarray(np.clip(at, columns.lower, columns.upper))

    def _orders(self, x: Array) -> list[Order]:
        return [_pin_low(ball) for ball in self.lineup.balls(x)]


def _pin_low(ball: Ball) -> Order:
    """Return the order of axes: sorted, but with the pin axis low where it is an axis at all."""
    if not ball.map.aligned:
        return SORTED
    pin = int(np.argmax(np.abs(ball.radii.axes[2])))
    return next(order for order in ORDERS if order[0] == pin and order[1] < order[2])


def _kept(row: LinearRow) -> LinearRow:
    """Return a margin's row as one to be kept, its slack in tolerances."""
    if row.tolerance is None:
        return row
    slope, bound = row.coefficients / row.tolerance, row.lower / row.tolerance
    return LinearRow(row.label, slope, bound, np.inf, price=PRICE)


def _band(found: Chain) -> Band:
    rg = np.sqrt(found.u)
    low, high = (
        Line(frozen(np.sqrt([m.square for m in side]) - rg), ((),) * (len(rg) - 1))
        for side in (found.low, found.high)
    )
    return Band(frozen(rg), low, high)

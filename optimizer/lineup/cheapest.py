"""The line-up that costs least, of a given mould whose ingredients have prices.

A recipe's cheapest mix costs, per volume, a convex and piecewise linear function of its density:
the lower hull of the resin alone and of each filler at the greatest loading. A column for each
density is at least its pieces, so the program is linear wherever that of the margins is.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

import numpy as np

from optimizer.ball.equations import Order
from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.ball.sought import Pour
from optimizer.ball.weight_class import Ball
from optimizer.lineup.engine.climbing import Engine, Peak
from optimizer.lineup.engine.linear_solver import LinearSolver, Rows
from optimizer.lineup.engine.search import Start
from optimizer.lineup.goal_rows import with_room
from optimizer.lineup.rows import Lineup
from optimizer.lineup.target_rows import PRICE, SORTED
from shared.arrays import Array

UNIT = 0.01
"""Of the dearest line: what a tolerance is for a margin."""


def per_volume(pour: Pour, density: float) -> float:
    """Return what a cm³ of a pour costs at a density. Raises ValueError for one without a price."""
    price = None if pour.recipe is None else pour.recipe.mix(density).price
    if price is None:
        raise ValueError(f"{pour.part} has no price")
    return density * price / 1000.0


def cost(balls: Iterable[Ball]) -> float:
    """Return what balls cost as drawn, each pour by its cheapest mix: no losses, no machining."""
    return sum(
        float(volume) * per_volume(pour, float(density))
        for ball in balls
        for pour, volume, density in zip(
            ball.map.pours, ball.map.volumes, ball.densities, strict=True
        )
    )


def pieces(pour: Pour) -> list[tuple[float, float]]:
    """Return the slope and the intercept of each piece of a pour's cost per cm³ in its density."""
    recipe = pour.recipe
    if recipe is None:
        raise ValueError(f"{pour.part} has no recipe")
    solid, cured = 1.0 - recipe.void, recipe.cured[0]
    full = [
        solid * (cured + recipe.most_filler * (filler.density - cured)) for filler in recipe.fillers
    ]
    low, high = recipe.ends[0].density, recipe.ends[1].density
    ends = sorted({min(max(x, low), high) for x in (solid * cured, *full, pour.low, pour.high)})
    if len(ends) == 1:
        return [(0.0, per_volume(pour, ends[0]))]
    costs = [per_volume(pour, x) for x in ends]
    slopes = [
        ((d - c) / (b - a), a, c)
        for (a, c), (b, d) in pairwise(zip(ends, costs, strict=True))
        if b - a > 1e-9
    ]
    return [(slope, c - slope * a) for slope, a, c in slopes]


@dataclass(frozen=True, eq=False)
class Cheapest:
    """The program that keeps limits with `keep` tolerances of room, and lowers the cost.

    Its columns are the line-up's, then the cost per cm³ of each density.
    """

    lineup: Lineup
    keep: float

    @cached_property
    def _poured(self) -> list[tuple[list[tuple[float, float]], float]]:
        """For each density's column: the pieces of its cost, and its volume in all weights, cm³."""
        columns = self.lineup.columns
        every: list[tuple[list[tuple[float, float]], float]] = [([], 0.0)] * columns.moulds
        for linear_map, places in zip(self.lineup.maps, columns.poured, strict=True):
            for pour, volume, j in zip(linear_map.pours, linear_map.volumes, places, strict=True):
                every[j] = (pieces(pour), every[j][1] + float(volume))
        return every

    @cached_property
    def _dearest(self) -> float:
        """A cost that no line exceeds: it is convex, so greatest at an end of each range."""
        return sum(
            float(volume) * max(per_volume(pour, pour.low), per_volume(pour, pour.high))
            for linear_map in self.lineup.maps
            for pour, volume in zip(linear_map.pours, linear_map.volumes, strict=True)
        )

    def found(self, solver: LinearSolver, starts: Iterable[Start]) -> tuple[Peak | None, int]:
        """Return the cheapest of the peaks that are reached, if any, and the number of starts."""
        engine, best, count = self._engine(solver), None, 0
        for x, orders in starts:
            y = np.concatenate([x, self._costs(x)])
            rows = None if orders is None else Rows.of(self.rows_at(y, orders))
            peak, count = engine.climb(y, rows), count + 1
            if peak.meets_targets and (best is None or peak.level > best.level):
                best = peak
        return best, count

    def _engine(self, solver: LinearSolver) -> Engine:
        lower, upper = self.lineup.columns.box
        still, most = np.zeros(len(self._poured)), np.full(len(self._poured), self._dearest)
        middle = np.concatenate([self.lineup.columns.middle, still])
        return Engine(
            self.rows_at,
            np.concatenate([lower, still]),
            np.concatenate([upper, most]),
            middle,
            np.zeros(len(middle)),
            solver,
        )

    def _costs(self, x: Array) -> Array:
        lines = [pieces for pieces, _ in self._poured]
        return np.array([max(a * x[j] + b for a, b in each) for j, each in enumerate(lines)])

    def rows_at(self, y: Array, orders: Sequence[Order] | None = None) -> list[LinearRow]:
        """Return the rows at the columns `y`."""
        lineup, n = self.lineup, self.lineup.columns.count
        balls = list(lineup.balls(y[:n]))
        own = lineup.rows_of(balls, y[:n], orders or [SORTED] * len(balls), kept=True)
        pad = np.zeros(len(y) - n)
        wide = (replace(row, coefficients=np.r_[row.coefficients, pad]) for row in own)
        return [*(with_room(row, self.keep) for row in wide), *self._price_rows]

    @cached_property
    def _price_rows(self) -> list[LinearRow]:
        """That each density costs at least what its pieces say, and the cost to lower."""
        n, scale, rows = self.lineup.columns.count, UNIT * self._dearest, list[LinearRow]()
        count = n + len(self._poured)
        total = np.zeros(count)
        for j, (lines, volume) in enumerate(self._poured):
            total[n + j] = -volume
            for way, (slope, base) in enumerate(lines):
                row = np.zeros(count)
                row[n + j], row[j] = volume, -slope * volume
                lower, name = base * volume / scale, Name(f"cost {j}", way)
                rows.append(LinearRow(name, row / scale, lower, np.inf, price=PRICE))
        return [*rows, LinearRow(Name("goal"), total, -self._dearest, np.inf, scale)]

"""The tolerances that reach a wanted share of good balls at least cost.

What each figure of each weight may vary follows from two things: how much of the room in its own
tolerance it gets (one `split` for all weights), and one common `tightness`. For these the cheapest
tolerances are a convex program. The split is searched on balls that are linear in what varies, the
tightness then found by simulation: what comes back is the least cost found, not proven least.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache, cached_property
from itertools import product
from typing import Any, Final

import numpy as np

from optimizer.lineup.result import LineupResult
from optimizer.paper.quantities import Units
from optimizer.questions.tolerance.allotted import Allocation, Allotted
from optimizer.questions.tolerance.linear_line import LinearLine
from optimizer.questions.tolerance.words import input_unit
from optimizer.scatter.inputs import problem, stated_inputs
from optimizer.scatter.line import QUICK, Line
from optimizer.scenario import Scenario
from optimizer.spread.sources import REPEATS
from shared import activity
from shared.arrays import Array

MOST: Final = 0.9999
"""The largest share that may be wanted: a simulation of a million balls tells it from 1."""
WANTED: Final = (0.6, 0.7, 0.8, 0.9, 0.95, 0.99)
"""Shares on a curve of cost, between its ends."""
CURVE: Final = 4
"""Scramblings for a point on the curve."""
ENDS: Final = (-5.0, 5.0)
"""Logarithms of the tightness, from far too loose to far too tight."""
NEAR: Final = 0.25
"""How far, in the logarithm, the tightness is first sought from the last one."""
MORE: Final = 2e-4
"""By how much more is aimed at, at least, until the rounded tolerances reach the share."""
FAR: Final = 0.01
"""A difference between shares that a short simulation can tell for sure."""
STARTS: Final = (0.0, 0.3)
"""Logarithms that a search for the split starts from: is a figure held tighter than the first?"""
TRIES: Final = 15
"""Splits tried, for each that is free."""
SAME: Final = 1e-4
"""A width this near to the present one is the present one."""


@activity.within()
def allocated(result: LineupResult, share: float) -> Allocation:
    """Return tolerances that reach this share of good balls in every weight, the cheapest found.

    Raises InputError for a share that isn't one, or that even the least tolerances don't reach.
    """
    scenario = result.scenario
    if not 0.0 < share < 1.0:
        what = f"a share of good balls must lie between 0 and 1 ({share:g})"
        raise problem(scenario, what, "give 0.9 for 90 %")
    if share > MOST:
        what = f"a share of good balls of {share:.10g} is too near to 1 to be told from it"
        raise problem(scenario, what, f"give at most {MOST:g}")
    search = _Search.of(result)
    tightest = search.decided(search.tightest, share)
    if not tightest.reached:
        what = (
            f"a share of {share:g} is not reached even at the least tolerances: "
            f"{tightest.good[tightest.worst].value:.4f} ({tightest.worst})"
        )
        raise problem(scenario, what, "give a smaller share, or smaller least tolerances")
    if search.decided(search.present, share).reached:
        return search.at(np.ones(len(search.linear.least)), share, REPEATS)
    return search.cheapest(share, REPEATS)


@activity.within()
def cost_curve(result: LineupResult) -> tuple[Allocation, ...]:
    """Return the cheapest tolerances found for round shares from the present one up.

    The first has the present tolerances, the last the least ones.
    """
    search = _Search.of(result)
    between = []
    for share in WANTED:
        if search.present.wanted < share < search.tightest.wanted:
            activity.at(f"tolerances for a share of {share:g}")
            between.append(search.cheapest(share, CURVE))
    return search.present, *between, search.tightest


@dataclass(frozen=True, eq=False)
class _Search:
    """The search over a line's tolerances, as widths (d,) over its inputs' present ones."""

    scenario: Scenario
    line: Line
    linear: LinearLine

    @classmethod
    def of(cls, result: LineupResult) -> _Search:
        """Return the search. Raises InputError where nothing varies, or prices are missing."""
        scenario = result.scenario
        each = stated_inputs(scenario)
        if not each:
            raise problem(scenario, "nothing varies", "add tolerances to [materials], or [spread]")
        without = [input_.name for input_ in each if input_.price is None]
        if 0 < len(without) < len(each):
            what = "some tolerances have a price, others none: " + ", ".join(without)
            raise problem(scenario, what, "give all of them a price in [spread], or none")
        price = np.array([1.0 if input_.price is None else input_.price for input_ in each])
        least = np.array([input_.least for input_ in each])
        line = Line.of(result, each)
        return cls(scenario, line, LinearLine(line, price, least))

    @cached_property
    def present(self) -> Allocation:
        """The present tolerances, for the share that they reach."""
        return self._end(np.ones(len(self.linear.least)))

    @cached_property
    def tightest(self) -> Allocation:
        """The least tolerances, for the share that they reach."""
        return self._end(self.linear.least)

    def _end(self, widths: Array) -> Allocation:
        found = self.at(widths, 0.0, CURVE)
        return replace(found, wanted=found.good[found.worst].value)

    def decided(self, found: Allocation, share: float) -> Allocation:
        """Return what was found for another share, simulated at length unless it is far from it."""
        if abs(found.wanted - share) > FAR:
            return replace(found, wanted=share)
        return self.at(np.array([allotted.width for allotted in found.each]), share, REPEATS)

    def at(self, widths: Array, wanted: float, repeats: int) -> Allocation:
        """Return the tolerances of these widths (d,), simulated."""
        inputs = self.line.inputs
        by_column = widths[self.linear.inputs_of_columns]
        laws = zip(inputs.sources.distributions, by_column, strict=True)
        sources = replace(inputs.sources, distributions=[law.scaled(width) for law, width in laws])
        line = replace(self.line, inputs=replace(inputs, sources=sources))
        each = tuple(Allotted(i, float(w)) for i, w in zip(inputs.each, widths, strict=True))
        return Allocation(wanted, each, *line.good(repeats))

    def cheapest(self, share: float, repeats: int) -> Allocation:
        """Return the cheapest tolerances found that reach a share, which the tightest do."""
        split, near = self._split(share)

        @cache
        def reached(tightness: float) -> float:
            found = self.at(self.linear.widths(split, tightness), share, QUICK)
            return found.good[found.worst].value

        aim = share
        while True:
            tightness = _crossing(lambda log: reached(log) - aim, near)  # noqa: B023 - called here
            found = self.at(self._rounded(self.linear.widths(split, tightness)), share, repeats)
            if found.reached:
                return found
            if tightness == ENDS[1]:
                return self.at(self.linear.least, share, repeats)
            aim += max(share - found.good[found.worst].value, MORE)

    def _split(self, share: float) -> tuple[Array, float]:
        """Return the cheapest split found, and the tightness at which linear balls reach a share.

        The linear share is taken to be off as it is at the present and at the least tolerances.
        """
        from scipy.optimize import minimize  # noqa: PLC0415 - heavy

        linear, free = self.linear, len(self.linear.names) - 1
        ends = self.present.wanted, self.tightest.wanted
        low, high = linear.share(np.ones(len(linear.least))), linear.share(linear.least)
        if high <= low or ends[1] <= ends[0]:
            return np.zeros(free + 1), 0.0
        wanted = low + (share - ends[0]) / (ends[1] - ends[0]) * (high - low)
        near = 0.0

        def cost(others: Array) -> float:
            nonlocal near
            split = np.array([0.0, *others])
            near = _crossing(lambda log: linear.share(linear.widths(split, log)) - wanted, near)
            return float(np.sum(linear.price / linear.widths(split, near)))

        best = min(map(np.array, product(STARTS, repeat=free)), key=cost)
        if free:
            start = best + np.vstack([np.zeros(free), STARTS[1] * np.eye(free)])
            accuracy = {"xatol": 0.03, "fatol": 1e-4 * float(linear.price.sum())}
            options: Any = {"initial_simplex": start, "maxfev": TRIES * free, **accuracy}
            best = minimize(cost, best, method="Nelder-Mead", options=options).x
        cost(best)
        return np.array([0.0, *best]), near

    def _rounded(self, widths: Array) -> Array:
        """Return the widths of tolerances rounded down in the scenario's units; least ones stay."""
        rounded, units = widths.copy(), Units.of(self.scenario)
        for i, input_ in enumerate(self.line.inputs.each):
            unit = input_unit(input_, units).finer(1)
            steps = np.floor(input_.law.width * widths[i] / unit.factor * 10**unit.digits + SAME)
            down = steps / 10**unit.digits * unit.factor / input_.law.width
            rounded[i] = input_.least if down <= input_.least * (1.0 + SAME) else down
        return np.where(widths > 1.0 - SAME, 1.0, rounded)


def _crossing(rising: Callable[[float], float], near: float) -> float:
    """Return where a rising function crosses zero; where it doesn't, the end nearer to zero."""
    from scipy.optimize import brentq  # noqa: PLC0415 - heavy

    known = cache(rising)
    for low, high in ((near - NEAR, near + NEAR), ENDS):
        if known(low) < 0.0 <= known(high):
            return float(brentq(known, low, high, xtol=3e-4))
    return ENDS[0] if known(ENDS[0]) >= 0.0 else ENDS[1]

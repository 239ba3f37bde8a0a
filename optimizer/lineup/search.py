"""Where a search starts, and the best line-up that is found from there."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from optimizer.lineup.engine import WORTH, Engine, Peak
from optimizer.lineup.rows import Lineup, Order
from optimizer.lineup.solve import LinearSolver, Rows
from shared.arrays import Array
from shared.tolerances import LEAST_DUAL

SEED = 2026
RESTARTS = 12
"""Random starts, when no deliberate one led to a line-up within its limits."""

Start = tuple[Array, Sequence[Order] | None]
"""Columns to start from, and per class the axes taken for low, intermediate and high at first."""


@dataclass(frozen=True, eq=False)
class Found:
    """The best peak (or the one that misses the targets least), and how many starts it took."""

    peak: Peak
    starts: int

    @property
    def good(self) -> bool:
        """Whether the targets are met and every margin is inside its limit."""
        return _good(self.peak)


def margin_engine(lineup: Lineup, solver: LinearSolver) -> Engine:
    """Return the engine that raises the margins of `lineup`."""
    columns = lineup.columns
    return Engine(
        lineup.margin_rows, columns.lower, columns.upper, columns.middle, columns.spread, solver
    )


def first_rows(lineup: Lineup) -> Rows:
    """Return the rows at mid-range densities, with the pin axis taken for the low-RG axis."""
    x, orders = _middle_starts(lineup, pin_low=True)[0]
    return Rows.of(lineup.margin_rows(x, orders))


def best_found(
    lineup: Lineup,
    solver: LinearSolver,
    first: Sequence[Array] = (),
    told: Callable[[float], None] = lambda _level: None,
) -> Found:
    """Return the best line-up found, its margins evenly out if it meets the targets.

    The search goes in rounds and ends with the first that finds a line-up within its limits: the
    points handed in as `first`; the pin on the low-RG axis; the axes as they come; random starts.
    Within a round the larger smallest margin counts. `told` hears the best margin so far.
    """
    climber, starts = margin_engine(lineup, solver), 0
    best: Peak | None = None
    for group in itertools.chain([[(x, None) for x in first]], _rounds(lineup)):
        for x, orders in group:
            rows = None if orders is None else Rows.of(lineup.margin_rows(x, orders))
            peak = climber.climb(x, rows)
            starts += 1
            best = peak if best is None else max(best, peak, key=_rank)
            told(best.level)
        if best is not None and _good(best):
            break
    assert best is not None
    return Found(climber.evenly_out(best) if best.meets_targets else best, starts)


def nearest_found(lineup: Lineup, solver: LinearSolver, starts: Sequence[Array]) -> Found:
    """Return the line-up within its limits whose largest deviation from the target is least.

    In the target's tolerances, then the next largest, and so on.
    """
    columns = lineup.columns
    climber = Engine(
        lineup.nearest_rows, columns.lower, columns.upper, columns.middle, columns.spread, solver
    )
    best = max((climber.climb(x) for x in (columns.middle, *starts)), key=_rank)
    return Found(climber.evenly_out(best), 1 + len(starts))


def binding_rows(lineup: Lineup, peak: Peak) -> frozenset[str]:
    """Return the names of the limits' rows that hold the nearest line-up where it is."""
    labels = [row.label for row in lineup.nearest_rows(peak.x)]
    duals = np.abs(peak.optimum.duals[: len(labels)])
    return frozenset(label for label, dual in zip(labels, duals, strict=True) if dual > LEAST_DUAL)


def _good(peak: Peak) -> bool:
    return peak.meets_targets and peak.level >= -WORTH


def _rank(peak: Peak) -> tuple[bool, float]:
    return (peak.meets_targets, peak.level if peak.meets_targets else -peak.error)


def _rounds(lineup: Lineup) -> Iterator[list[Start]]:
    yield _middle_starts(lineup, pin_low=True)
    yield _middle_starts(lineup, pin_low=False)
    random = np.random.default_rng(SEED)
    columns = lineup.columns
    for _ in range(RESTARTS):
        yield [(columns.middle + random.uniform(-0.5, 0.5, columns.count) * columns.spread, None)]


def _middle_starts(lineup: Lineup, *, pin_low: bool) -> list[Start]:
    """Return mid-range starts, one for each choice of axes, those with the pin axis low or not.

    A core that is the same about two axes has fewer choices.
    """
    x = lineup.columns.middle
    balls = list(lineup.balls(x))
    pins = [int(np.argmax(np.abs(ball.radii.axes[2]))) for ball in balls]
    symmetric = all(one.symmetric for one in lineup.maps)
    starts: list[Start] = []
    for low, swapped in itertools.product((0, 1, 2), (False, True)):
        if (low == 0) != pin_low or (swapped and symmetric):
            continue
        orders = []
        for pin in pins:
            others = [k for k in range(3) if k != pin]
            order = [pin, *others] if low == 0 else [others[low - 1], pin, others[2 - low]]
            orders.append((order[0], order[2], order[1]) if swapped else tuple(order))
        starts.append((x, orders))
    return starts

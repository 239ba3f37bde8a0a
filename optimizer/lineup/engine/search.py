"""The starts of a search, and the best line-up found from them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np

from optimizer.ball.bounds import Bound
from optimizer.ball.equations import Order
from optimizer.ball.linear_rows import LinearRow
from optimizer.ball.weight_class import Ball
from optimizer.lineup.engine.climbing import WORTH, Engine, Peak
from optimizer.lineup.engine.linear_solver import LinearSolver, Rows
from optimizer.lineup.rows import Lineup
from optimizer.lineup.target_rows import ORDERS
from shared import activity
from shared.arrays import Array
from shared.tolerances import LEAST_DUAL

SEED = 2026
RESTARTS = 12
"""Random starts, if no deliberate one leads to a line-up within its limits."""

DELIBERATE = 2
"""Rounds of a search whose starts are chosen; later rounds are random."""

Start = tuple[Array, Sequence[Order] | None]
"""A point to start from, and per class the axes that first count as low, intermediate, high."""
Round = Sequence[Start]


@dataclass(frozen=True, eq=False)
class Found:
    """The best point, or the one nearest to the targets, and the number of starts.

    `good`: the targets are met and every margin is inside its limit.
    """

    x: Array
    good: bool
    starts: int


def first_start(lineup: Lineup) -> tuple[Array, Rows]:
    """Return the first start and the rows there, with the pin axis as the low one."""
    ((x, orders), *_), _ = first_rounds(lineup)
    return x, lineup.rows(x, orders)


def climbed(lineup: Lineup, climber: Engine, start: Start) -> Peak:
    """Return the peak reached from a start."""
    x, orders = start
    return climber.climb(x, None if orders is None else lineup.rows(x, orders))


def search_rounds(lineup: Lineup, led: Array) -> Iterator[Round]:
    """Yield the starts, round by round.

    The pin on the low-RG axis; other axes, and the CG far toward the pin and away from it; random
    densities. `led` is the peak that the first start has reached already.
    """
    (_, *pin_low), others = first_rounds(lineup)
    yield [(led, None), *pin_low]
    yield [*others, *((leaning(lineup, way), None) for way in (1.0, -1.0))]
    random, columns = np.random.default_rng(SEED), lineup.columns
    for _ in range(RESTARTS):
        yield [(columns.middle + random.uniform(-0.5, 0.5, columns.count) * columns.spread, None)]


def best_found(
    lineup: Lineup,
    solver: LinearSolver,
    rounds: Iterable[Round],
    hopeless: Callable[[], bool] = lambda: False,
) -> Found:
    """Return the best line-up found, with leximin margins if it is good.

    The search ends with the first round that finds a line-up within its limits; within a round, the
    one with the larger smallest margin wins. If the first round finds none, `hopeless` is asked
    whether the others can.
    """
    climber, count, best, rounds = lineup.engine(solver), 0, None, list(rounds)
    labels, most = ", ".join(lineup.labels), sum(map(len, rounds))
    for number, starts in enumerate(rounds):
        for start in starts:
            peak, count = climbed(lineup, climber, start), count + 1
            if best is None or _rank(peak) > _rank(best):
                best = peak
            activity.at(f"{labels}, start {count} of at most {most}", best.level)
        if (best is not None and _good(best)) or (number == 0 and hopeless()):
            break
    if best is None:
        raise ValueError("a search starts somewhere")
    good = _good(best)
    if good:
        activity.at(f"{labels}, margins being evened out", best.level)
    return Found((climber.evenly_out(best) if good else best).x, good, count)


def fruitless(lineup: Lineup, solver: LinearSolver, rounds: Iterable[Round]) -> int:
    """Return the number of starts if none of them leads to a line-up, or 0 if one does."""
    count, x = first_found(lineup, solver, rounds)
    return count if x is None else 0


def first_found(
    lineup: Lineup, solver: LinearSolver, rounds: Iterable[Round]
) -> tuple[int, Array | None]:
    """Return how many starts were tried, and the line-up that the last one leads to, if one does.

    It keeps every limit; its margins aren't raised.
    """
    climber, count = lineup.engine(solver, enough=0.0), 0
    for start in chain.from_iterable(rounds):
        count, peak = count + 1, climbed(lineup, climber, start)
        if _good(peak):
            return count, peak.x
    return count, None


def nearest_found(lineup: Lineup, solver: LinearSolver, starts: Sequence[Array]) -> Peak:
    """Return the line-up within its limits with the least largest deviation from the target.

    Deviations are in the target's tolerances; then the next largest is least, and so on. If the
    class weight is kept, only RG and differential deviate.
    """
    climber = lineup.engine(solver, lineup.nearest_rows)
    sides = (leaning(lineup, way) for way in (1.0, -1.0))
    best = max((climber.climb(x) for x in (lineup.columns.middle, *starts, *sides)), key=_rank)
    return climber.evenly_out(best)


def binding(lineup: Lineup, solver: LinearSolver, rows: Sequence[LinearRow]) -> frozenset[Bound]:
    """Return the bounds that bind at the optimum of these `rows`."""
    duals = np.abs(solver.best(Rows.of(rows), *lineup.columns.box).duals)
    held = (row.name.of for row, dual in zip(rows, duals, strict=True) if dual > LEAST_DUAL)
    return frozenset(of for of in held if isinstance(of, Bound))


def _good(peak: Peak) -> bool:
    return peak.meets_targets and peak.level >= -WORTH


def _rank(peak: Peak) -> tuple[bool, float]:
    return (peak.meets_targets, peak.level if peak.meets_targets else -peak.error)


def leaning(lineup: Lineup, way: float) -> Array:
    """Return densities at the ends of their ranges, CG far toward the pin (1) or away (-1)."""
    columns = lineup.columns
    toward = sum(
        columns.scatter(k, linear_map.moments[:, 2, 3]) for k, linear_map in enumerate(lineup.maps)
    )
    return np.asarray(columns.middle + way / 2 * np.sign(toward) * columns.spread)


def first_rounds(lineup: Lineup) -> tuple[Round, Round]:
    """Return the first starts, one for each choice of axes: pin axis low, then others.

    They have mid-range densities, or densities with the CG toward the pin if some ball's CG would
    otherwise lie away from it.
    """
    x = lineup.columns.middle
    if any(ball.properties.cg[2] < -1e-9 for ball in lineup.balls(x)):
        x = leaning(lineup, 1.0)
    choices = [_choices(ball) for ball in lineup.balls(x)]
    fewest = min(len(choice) for choice in choices)
    starts: Round = [(x, orders) for orders in zip(*choices, strict=False)]
    return starts[: fewest // 3], starts[fewest // 3 :]


def _choices(ball: Ball) -> Sequence[Order]:
    """Return the orders of axes to try as low, intermediate and high, the pin axis low first.

    If a core is the same about x and y, half of the orders are the same.
    """
    pin = int(np.argmax(np.abs(ball.radii.axes[2])))
    orders = sorted(ORDERS, key=lambda order: order.index(pin))
    return orders[::2] if ball.map.symmetric else orders

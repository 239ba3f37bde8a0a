"""Balls as printed: densities rounded as printed, and everything measured from those."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations

import numpy as np

from optimizer.ball.bounds import Margin
from optimizer.ball.figures import WEIGHT
from optimizer.ball.weight_class import Ball
from optimizer.lineup.columns import Flags
from optimizer.lineup.margins import Deviation, deviations, margins, outside, rounding_reach, stated
from optimizer.lineup.result import WeightResult
from shared.arrays import Array
from shared.tolerances import ARITHMETIC, DENSITY_STEP, LEFT_OVER, ROW_ERROR


def as_stated(ball: Ball) -> Ball:
    """Return `ball` with its densities as printed, to DENSITY_STEP."""
    pairs = zip(ball.densities.tolist(), ball.map.pours, strict=True)
    return ball.map.ball(np.array([stated(rho, pour.low, pour.high) for rho, pour in pairs]))


def measured(ball: Ball, figures: Array) -> WeightResult:
    """Return everything that is reported about one ball, measured exactly."""
    return WeightResult(ball, margins(ball), tuple(deviations(ball, figures)))


def printed(ball: Ball, figures: Array, alone: Flags) -> WeightResult:
    """Return a ball with its densities as printed, measured.

    Where rounding breaks a limit, one or two of its densities are stated a step higher or lower,
    if that keeps every limit and misses no target that was met: of those `alone` (n,), which no
    other weight has.
    """
    near = measured(as_stated(ball), figures)
    if not (broken := _broken(near)) or any(map(outside, broken)):
        return near
    free = [k for k in np.flatnonzero(alone) if not ball.map.pours[k].fixed]
    steps = [DENSITY_STEP * way * np.eye(len(alone))[k] for k in free for way in (1.0, -1.0)]
    missed = len(shortfalls(near)), len(shortfalls(near.roomed()))
    for step in (*steps, *(one + another for one, another in combinations(steps, 2))):
        other = measured(as_stated(ball.map.ball(near.ball.densities + step)), figures)
        short = len(shortfalls(other)), len(shortfalls(other.roomed()))
        if not _broken(other) and short[0] <= missed[0] and short[1] <= missed[1]:
            return other
    return near


def _broken(weight: WeightResult) -> list[Margin]:
    """Return the margins of broken limits that a density moves, if only rounding broke them."""
    limits = (margin for margin in weight.margins if margin.movable and not margin.rule_only)
    return [margin for margin in limits if margin.slack < -ARITHMETIC]


def fixed_and_broken(margins: Iterable[Margin]) -> tuple[Margin, ...]:
    """Return the violated margins that no density moves."""
    given = (margin for margin in margins if not margin.movable and not margin.rule_only)
    return tuple(margin for margin in given if margin.slack < -ARITHMETIC)


def shortfalls(weight: WeightResult, level: float = 0.0) -> tuple[str, ...]:
    """Describe where a ball misses its target or a limit by more than rounding explains.

    The margins that a density moves are promised to be at least `level` tolerances. The target's
    tolerances may not be exceeded at all.
    """
    free = np.array([not pour.fixed for pour in weight.ball.map.pours])
    turning = rounding_reach(weight.ball.rg_difference_rate * free)

    def reach(gradient: Array | None, *, radius: bool) -> float:
        moved = None if gradient is None else gradient[: len(free)] * free
        return rounding_reach(moved) + (turning if radius else 0.0)

    missed = [
        f"{weight.label}: {off.figure.words} is off by {off.off:.3g}"
        for off in weight.deviations
        if not (weight.within and off.tolerance is not None)
        and abs(off.off) > reach(off.gradient, radius=off.figure.quantity == "rg") + _left_of(off)
    ]
    short = [
        (margin, margin.slack - level * (margin.tolerance or 0.0))
        for margin in weight.margins
        if margin.movable and not margin.rule_only
    ]
    broken = [
        f"{margin.bound} is broken by {-over:.3g}"
        for margin, over in short
        if over < -ARITHMETIC
        if margin.middle is not None
        or over < -reach(margin.gradient, radius=margin.quantity == "rg") - _left(margin)
    ]
    return (*missed, *broken)


def _left_of(off: Deviation) -> float:
    """Return the error, g or cm, that the search may leave in a target: a weight's is relative."""
    return (ROW_ERROR if off.figure == WEIGHT else LEFT_OVER) * max(off.asked, 1.0)


def _left(margin: Margin) -> float:
    """Return the violation, cm, that the search may leave in a priced row on an RG."""
    return ROW_ERROR if margin.quantity == "rg" and margin.tolerance is None else 0.0

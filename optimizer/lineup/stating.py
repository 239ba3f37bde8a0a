"""Balls as stated: their densities as they are printed, and everything measured from those."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from optimizer.ball.bounds import Margin
from optimizer.ball.figures import WEIGHT
from optimizer.ball.weight_class import Ball
from optimizer.lineup.margins import deviations, margins, rounding_reach, stated
from optimizer.lineup.result import WeightResult
from shared.arrays import Array
from shared.tolerances import ARITHMETIC, LEFT_OVER, ROW_ERROR


def as_stated(ball: Ball) -> Ball:
    """Return `ball` with its densities as they are stated, to DENSITY_STEP."""
    pairs = zip(ball.densities.tolist(), ball.map.pours, strict=True)
    return ball.map.ball(np.array([stated(rho, pour.low, pour.high) for rho, pour in pairs]))


def measured(ball: Ball, figures: Array) -> WeightResult:
    """Return everything that is reported of one ball, measured exactly."""
    return WeightResult(ball, margins(ball), tuple(deviations(ball, figures)))


def fixed_and_broken(some: Iterable[Margin]) -> tuple[Margin, ...]:
    """Return the margins under their limit that no density moves."""
    given = (margin for margin in some if not margin.movable and not margin.rule_only)
    return tuple(margin for margin in given if margin.slack < -ARITHMETIC)


def shortfalls(weight: WeightResult, level: float = 0.0) -> tuple[str, ...]:
    """Say where a ball as stated misses its target or a limit by more than the stating moves it.

    Its margins, of those that a density moves, are promised to be `level` tolerances at the least.
    What is allowed of the target's tolerances is not exceeded at all.
    """
    free = np.array([not pour.fixed for pour in weight.ball.map.pours])
    turning = rounding_reach(weight.ball.turning * free)

    def reach(gradient: Array | None, *, radius: bool) -> float:
        moved = None if gradient is None else gradient[: len(free)] * free
        return rounding_reach(moved) + (turning if radius else 0.0)

    missed = [
        f"{weight.label}: {off.figure.words} is off by {off.off:.3g}"
        for off in weight.deviations
        if not (weight.within and off.tolerance is not None)
        and abs(off.off)
        > reach(off.gradient, radius=off.figure != WEIGHT) + LEFT_OVER * max(off.asked, 1.0)
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


def _left(margin: Margin) -> float:
    """Return what the search may leave of a limit on an RG that is a row with a price, cm."""
    return ROW_ERROR if margin.quantity == "rg" and margin.tolerance is None else 0.0

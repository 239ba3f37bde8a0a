"""A ball as measured: its margins, its distance from the target, its densities as printed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from optimizer.ball.bounds import Bound, Margin
from optimizer.ball.figures import WEIGHT, Figure
from optimizer.ball.weight_class import Ball
from shared.arrays import Array
from shared.tolerances import ARITHMETIC, DENSITY_STEP


def margins(ball: Ball) -> tuple[Margin, ...]:
    """Return all margins of `ball`, exactly as measured; a target has no margin."""
    limits = (bound for bound in ball.map.bounds if bound.side != "both")
    return tuple(margin for bound in limits for margin in bound.margins(ball))


@dataclass(frozen=True, eq=False)
class Deviation:
    """Measured − target of one figure of one ball, and its derivatives.

    `bound` is the target; for a free figure, the value chosen for the line. `gradient` (n + d,) is
    in the densities and free dimensions, `by_figure` (k,) in the target's figures.
    """

    bound: Bound
    measured: float
    gradient: Array
    by_figure: Array

    @property
    def figure(self) -> Figure:
        """The target figure: weight, low RG or a differential."""
        return self.bound.figure

    @property
    def asked(self) -> float:
        """The target value, g or cm."""
        return self.bound.value

    @property
    def tolerance(self) -> float | None:
        """The deviation allowed if the target can't be met exactly."""
        return self.bound.tolerance

    @property
    def off(self) -> float:
        """Measured − target."""
        return self.measured - self.asked

    @property
    def tolerances(self) -> float | None:
        """The deviation in the target's tolerances, signed."""
        return None if self.tolerance is None else self.off / self.tolerance

    def room(self, weight: str) -> Margin | None:
        """Return what is left of the tolerance as a margin, or None without a tolerance."""
        if self.tolerance is None:
            return None
        way = -1.0 if self.off < 0.0 else 1.0
        slack = self.tolerance - abs(self.off)
        return Margin(self.bound, weight, self.measured, slack, -way * self.gradient)


def deviations(ball: Ball, figures: Array) -> Iterator[Deviation]:
    """Yield the ball's distance from its class weight and from the target's `figures` (cm)."""
    order = tuple(ball.map.target)
    asked = {**dict(zip(order, figures.tolist(), strict=True)), WEIGHT: ball.map.mass}
    for bound in ball.map.bounds:
        if bound.side == "both" and bound.figure in asked:
            value = asked[bound.figure]
            by_figure = -1.0 * np.array([figure == bound.figure for figure in order])
            ((measured, slope, *_),) = ball.measured(bound.figure, None)
            there = replace(bound, low=value, high=value)
            if slope is not None:
                yield Deviation(there, measured, slope, by_figure)


def stated(density: float, low: float, high: float) -> float:
    """Return a density as printed: to DENSITY_STEP, never rounded out of its range.

    An end between two steps is printed as it is. A density outside its range by less than a step
    counts as at the end: solvers overshoot a limit by as little.
    """
    steps = round(1 / DENSITY_STEP)
    near, held = round(density * steps) / steps, min(max(density, low), high)
    return min(max(near, low), high) if abs(density - held) < DENSITY_STEP / 2 else near


def outside(margin: Margin) -> bool:
    """Whether a margin is outside its limit by more than rounding the densities explains."""
    return margin.slack < -rounding_reach(margin.gradient)


def rounding_reach(gradient: Array | None) -> float:
    """Return by how much rounding the densities to DENSITY_STEP can change a figure of a ball.

    `gradient` (n,) is the figure's derivative in the densities, or None.
    """
    rounding = 0.0 if gradient is None else float(np.sum(np.abs(gradient)))
    return DENSITY_STEP / 2 * rounding + ARITHMETIC

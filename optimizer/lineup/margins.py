"""What a ball is, measured: its margins, its distance from the target, its densities as stated."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.mass_properties import MASS_SLOPE
from optimizer.limits import Measures
from optimizer.linear.maps import Ball
from optimizer.linear.rows import Margin
from shared.arrays import Array
from shared.tolerances import ARITHMETIC, DENSITY_STEP


def margins(ball: Ball, limits: Sequence[Measures]) -> tuple[Margin, ...]:
    """Return all margins of `ball`, exactly as measured."""
    return tuple(margin for limit in limits for margin in limit.margins(ball))


@dataclass(frozen=True, eq=False)
class Deviation:
    """Measured − asked of one target of one ball, and its derivatives.

    `figure` is "weight" (g), "rg", "differential" or "intermediate differential" (cm). `gradient`
    (n + d,) is in what may vary of the ball, `by_figure` (k,) in the target's figures.
    """

    figure: str
    asked: float
    measured: float
    tolerance: float | None
    gradient: Array
    by_figure: Array

    @property
    def off(self) -> float:
        """Measured − asked."""
        return self.measured - self.asked

    @property
    def tolerances(self) -> float | None:
        """The deviation in the target's tolerances, signed."""
        return None if self.tolerance is None else self.off / self.tolerance

    @property
    def limit(self) -> str:
        """What the tolerance is called as a limit."""
        names = {"weight": "class weight", "rg": "low RG"}
        return f"{names.get(self.figure, self.figure)} within tolerance"

    def room(self, weight: str) -> Margin | None:
        """Return what is left of the tolerance, as a margin; None where none is declared."""
        if self.tolerance is None:
            return None
        way = -1.0 if self.off < 0.0 else 1.0
        return Margin(
            weight,
            self.limit,
            None,
            self.measured,
            self.asked + way * self.tolerance,
            self.tolerance - abs(self.off),
            "mass" if self.figure == "weight" else "rg",
            self.tolerance,
            -way * self.gradient,
            middle=self.asked,
        )


def deviations(ball: Ball, figures: Array) -> Iterator[Deviation]:
    """Yield the ball's distance from its class weight and from the target's `figures` (cm)."""
    target, radii, one = ball.map.target, ball.radii, np.eye(len(figures))
    yield Deviation(
        "weight",
        ball.map.mass,
        ball.properties.mass,
        ball.map.mass_tolerance,
        ball.pull(MASS_SLOPE),
        0.0 * one[0] if len(figures) else np.zeros(0),
    )
    if target is None:
        return
    low, intermediate, high = (ball.radius_gradient(k) for k in range(3))
    for figure, asked, measured, tolerance, gradient, by in zip(
        ("rg", "differential", "intermediate differential"),
        figures.tolist(),
        (radii.low, radii.differential, radii.intermediate_differential),
        target.tolerances,
        (low, high - low, high - intermediate),
        one,
        strict=False,
    ):
        yield Deviation(figure, asked, measured, tolerance, gradient, -by)


def stated(density: float, low: float, high: float) -> float:
    """Return a density as it is stated: to DENSITY_STEP, never rounded out of its range.

    An end that lies between two steps is stated as it is. What is out of the range by less than
    can be stated is at its end: solvers leave a limit by as little.
    """
    steps = round(1 / DENSITY_STEP)
    near, held = round(density * steps) / steps, min(max(density, low), high)
    return min(max(near, low), high) if abs(density - held) < DENSITY_STEP / 2 else near


def outside(margin: Margin) -> bool:
    """Whether a margin is outside its limit by more than stating the densities can move it."""
    return margin.slack < -rounding_reach(margin.gradient)


def rounding_reach(gradient: Array | None) -> float:
    """Return by how much stating the densities to DENSITY_STEP can move a figure of a ball.

    `gradient` (n,) is the figure's derivative in the densities, None if there is none.
    """
    rounding = 0.0 if gradient is None else float(np.sum(np.abs(gradient)))
    return DENSITY_STEP / 2 * rounding + ARITHMETIC

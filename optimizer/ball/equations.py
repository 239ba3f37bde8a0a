"""A target's equations: a ball's distance from the target, linear in its moments."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from geometry.mass_properties import MASS_SLOPE, first_moment_along
from optimizer.ball.figures import (
    CG_OFFSET,
    DIFFERENTIAL,
    INTERMEDIATE_DIFFERENTIAL,
    LOW_RG,
    Figure,
)
from optimizer.ball.weight_class import Ball
from shared.arrays import Array

Order = tuple[int, int, int]
"""Which of the axes, sorted by RG, count as low, intermediate and high."""


@dataclass(frozen=True, eq=False)
class Equation:
    """One target of one ball as ⟨slope, J⟩ − constant = 0, linear in J at fixed axes and CG.

    `slope` (4, 4) and `constant` are divided by the class weight: the weight's equation is in
    ratios, the radii's in cm². The CG offset's is times twice the low RG, so that a row that is off
    is off by the same length in an RG and in the offset. `by_figure` (k,) is the derivative in the
    target's figures at the class weight; at another it is in proportion.
    """

    name: str
    slope: Array
    constant: float
    by_figure: Array

    def error(self, J: Array) -> float:
        """Return the distance of a ball with mass moments `J` from the target."""
        return float(np.vdot(self.slope, J)) - self.constant


def equations(ball: Ball, figures: Mapping[Figure, float], order: Order) -> Iterator[Equation]:
    """Yield the equations of a ball at its present axes, for its class weight and `figures` (cm).

    The others don't contain the class weight: I − RG² m = 0 and |F| − |c| m = 0 with the first
    moments F, so a conflict names it only if it takes part. `order` says which sorted axis counts
    as low, intermediate and high.
    """
    radii, mass = ball.radii, ball.map.mass
    yield Equation("weight", MASS_SLOPE / mass, 1.0, np.zeros(len(figures)))
    low, high = figures[LOW_RG], figures[LOW_RG] + figures[DIFFERENTIAL]
    sums = [
        ("low RG", 0, low, {LOW_RG: 1.0}),
        ("high RG", 2, high, {LOW_RG: 1.0, DIFFERENTIAL: 1.0}),
    ]
    if INTERMEDIATE_DIFFERENTIAL in figures:
        by = {LOW_RG: 1.0, DIFFERENTIAL: 1.0, INTERMEDIATE_DIFFERENTIAL: -1.0}
        sums.append(("intermediate RG", 1, high - figures[INTERMEDIATE_DIFFERENTIAL], by))
    for name, axis, radius, by in sums:
        slope = (radii.slopes[order[axis]] - radius**2 * MASS_SLOPE) / mass
        met = axis == 1 and _met_by_symmetry(ball, order)
        share = 0.0 if met else 1.0  # the same number of rows at every point: this one is empty
        yield Equation(name, share * slope, 0.0, -2.0 * share * radius * _columns(by, figures))
    if CG_OFFSET in figures:
        outward = ball.properties.first_moment_slope
        size = 2.0 * radii.low
        slope = size * (outward - figures[CG_OFFSET] * MASS_SLOPE) / mass
        yield Equation("CG offset", slope, 0.0, _columns({CG_OFFSET: -size}, figures))


def _met_by_symmetry(ball: Ball, order: Order) -> bool:
    """Whether no intermediate differential is asked for, and the ball has none by its symmetry."""
    pin_low = abs(float(ball.radii.axes[2, order[0]])) > 0.5
    return ball.map.symmetric and pin_low and ball.map.target[INTERMEDIATE_DIFFERENTIAL].high == 0.0


def _columns(by: Mapping[Figure, float], figures: Mapping[Figure, float]) -> Array:
    """Return derivatives in some figures as those in all of the target's."""
    return np.array([by.get(figure, 0.0) for figure in figures])


def facets(ball: Ball, figures: Mapping[Figure, float], order: Order) -> Iterator[Equation]:
    """Yield what must be at least 0 beside the equations of a ball off the pin axis.

    Across the low axis, h² − i² (of the high and intermediate RG) is the norm of the vector
    (I₁₁ − I₂₂, 2 I₁₂) ÷ m: a cone over the densities. Its tangent is the difference of two
    equations; these are its facets perpendicular to that tangent, from the product of inertia,
    which is 0 at the point itself. At an intermediate differential of 0 they become an equation.
    So it is with a CG offset, the norm of F ÷ m: across F, no first moment exceeds |c| m.
    """
    if INTERMEDIATE_DIFFERENTIAL in figures:
        inner, mass = figures[INTERMEDIATE_DIFFERENTIAL], ball.map.mass
        high = figures[LOW_RG] + figures[DIFFERENTIAL]
        room = high**2 - (high - inner) ** 2
        by = {LOW_RG: inner, DIFFERENTIAL: inner, INTERMEDIATE_DIFFERENTIAL: high - inner}
        product = ball.radii.product_slope(order[1], order[2]) * (2.0 / mass)
        for sign in (1.0, -1.0):
            by_figure = 2.0 * _columns(by, figures)
            yield Equation("high and intermediate axis", sign * product, -room, by_figure)
    if CG_OFFSET in figures:
        size, at_most = 2.0 * ball.radii.low, figures[CG_OFFSET] * MASS_SLOPE
        by_figure = _columns({CG_OFFSET: size}, figures)
        for across in np.linalg.svd(ball.properties.outward[None])[2][1:]:
            for sign in (1.0, -1.0):
                slope = size * (at_most + sign * first_moment_along(across)) / ball.map.mass
                yield Equation("CG across its offset", slope, 0.0, by_figure)

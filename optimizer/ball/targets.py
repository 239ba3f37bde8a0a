"""A line-up's target, and its equations: a ball's distance from the target."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

import numpy as np

from geometry.mass_properties import MASS_SLOPE, Principal
from shared.arrays import Array

About: TypeAlias = Literal["cg", "centre"]


@dataclass(frozen=True)
class Span:
    """A target figure of the whole line: fixed (low = high), or free between two values."""

    low: float
    high: float

    @property
    def fixed(self) -> bool:
        """Whether the figure is given."""
        return self.low == self.high


@dataclass(frozen=True)
class Target:
    """Low RG, differential and, if asked for, intermediate differential, all in cm.

    A target that can't be met exactly may be missed by up to its tolerance (cm).
    """

    rg: Span
    differential: Span
    intermediate: Span | None
    rg_tolerance: float
    differential_tolerance: float
    intermediate_tolerance: float | None

    @property
    def spans(self) -> tuple[Span, ...]:
        """The figures in the order of the target's columns: RG, differential, intermediate."""
        figures = (self.rg, self.differential)
        return figures if self.intermediate is None else (*figures, self.intermediate)

    def with_spans(self, spans: Sequence[Span]) -> Target:
        """Return the same with other figures, in the order of `spans`."""
        rg, differential, *third = spans
        intermediate = third[0] if third else None
        return replace(self, rg=rg, differential=differential, intermediate=intermediate)

    @property
    def tolerances(self) -> tuple[float | None, ...]:
        """The tolerances of the figures, in the same order."""
        every = (self.rg_tolerance, self.differential_tolerance, self.intermediate_tolerance)
        return every[: len(self.spans)]


@dataclass(frozen=True, eq=False)
class Equation:
    """One target of one ball as ⟨slope, J⟩ − constant = 0, linear in J at fixed axes and CG.

    `slope` (4, 4) and `constant` are divided by the class weight: the weight's equation is in
    ratios, the radii's in cm². `by_figure` (k,) is the derivative in the target's figures
    at the class weight; at another it is in proportion.
    """

    name: str
    slope: Array
    constant: float
    by_figure: Array

    def error(self, J: Array) -> float:
        """Return the distance of a ball with mass moments `J` from the target."""
        return float(np.vdot(self.slope, J)) - self.constant


def equations(
    radii: Principal, mass: float, figures: Array, order: tuple[int, int, int]
) -> Iterator[Equation]:
    """Yield the equations of a ball at its present axes, for the target's `figures` and `mass`.

    The RG equations don't contain the class weight: I − RG² m = 0, so a conflict names it only if
    it takes part. `order` says which sorted axis counts as low, intermediate and high.
    """
    yield Equation("weight", MASS_SLOPE / mass, 1.0, np.zeros(len(figures)))
    low, high = figures[0], figures[0] + figures[1]
    wanted = [("low RG", 0, low, [1.0, 0.0, 0.0]), ("high RG", 2, high, [1.0, 1.0, 0.0])]
    if len(figures) == 3:
        wanted.append(("intermediate RG", 1, high - figures[2], [1.0, 1.0, -1.0]))
    for name, axis, radius, by in wanted:
        slope = (radii.slopes[order[axis]] - radius**2 * MASS_SLOPE) / mass
        yield Equation(name, slope, 0.0, -2.0 * radius * np.array(by[: len(figures)]))


def facets(
    radii: Principal, mass: float, figures: Array, order: tuple[int, int, int]
) -> Iterator[Equation]:
    """Yield what must be at least 0, in cm², if an intermediate differential is asked for.

    Across the low axis, h² − i² (of the high and intermediate RG) is the norm of the vector
    (I₁₁ − I₂₂, 2 I₁₂) ÷ m: a cone over the densities. Its tangent is the difference of two
    equations; these are its facets perpendicular to that tangent, from the product of inertia,
    which is 0 at the point itself. At an intermediate differential of 0 they become an equation.
    """
    low, differential, inner = figures
    high = low + differential
    room = high**2 - (high - inner) ** 2
    by = 2.0 * np.array([inner, inner, high - inner])
    product = radii.product_slope(order[1], order[2]) * (2.0 / mass)
    for sign in (1.0, -1.0):
        yield Equation("high and intermediate axis", sign * product, -room, by)

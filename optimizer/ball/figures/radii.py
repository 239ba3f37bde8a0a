"""The target's figures except the weight: low RG, differential, intermediate differential."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from optimizer.ball.figures.base import Figure, Measured, Subject
from optimizer.ball.weight_class import Ball, LinearMap


class _Radius(Figure):
    """A figure of the principal radii of gyration; a target may fix it."""

    quantity = "rg"

    def given(self, linear_map: LinearMap, of: Subject) -> bool:
        return linear_map.target is None or super().given(linear_map, of)

    def asked(self, linear_map: LinearMap, _of: Subject) -> float | None:
        place = RADII.index(self)
        spans = () if linear_map.target is None else linear_map.target.spans[place : place + 1]
        return next((span.low for span in spans if span.fixed), None)

    def tolerance(self, linear_map: LinearMap, _of: Subject) -> float | None:
        place = RADII.index(self)
        target = linear_map.target
        return next(iter(target.tolerances[place : place + 1] if target else ()), None)


class _LowRG(_Radius):
    key, words = "rg", "low RG"

    def measured(self, ball: Ball, _of: Subject) -> Iterator[Measured]:
        yield Measured(ball.radii.low, ball.radius_gradient(0))


class _Differential(_Radius):
    key, words = "differential", "differential"

    def measured(self, ball: Ball, _of: Subject) -> Iterator[Measured]:
        slope = ball.radius_gradient(2) - ball.radius_gradient(0)
        yield Measured(ball.radii.differential, slope)


class _IntermediateDifferential(_Radius):
    """Off the pin axis it is a norm: turning the axes can only separate the two RGs."""

    key, words = "intermediate_differential", "intermediate differential"

    def measured(self, ball: Ball, _of: Subject) -> Iterator[Measured]:
        yield Measured(
            ball.radii.intermediate_differential,
            ball.radius_gradient(2) - ball.radius_gradient(1),
            beside=None if ball.map.aligned else ball.off_diagonal_gradient,
        )


LOW_RG, DIFFERENTIAL = _LowRG(), _Differential()
INTERMEDIATE_DIFFERENTIAL = _IntermediateDifferential()
RADII: Final[tuple[Figure, ...]] = (LOW_RG, DIFFERENTIAL, INTERMEDIATE_DIFFERENTIAL)
"""In the order of the target's columns."""

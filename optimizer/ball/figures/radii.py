"""The figures of a target besides the weight: low RG, differential, intermediate differential."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from optimizer.ball.figures.base import Figure, Measured, Subject
from optimizer.ball.weight_class import Ball, LinearMap


class _Radius(Figure):
    """A figure of the principal radii of gyration, which a target may fix."""

    quantity = "rg"

    def given(self, linear_map: LinearMap, of: Subject) -> bool:
        return linear_map.target is None or super().given(linear_map, of)

    def asked(self, linear_map: LinearMap, _of: Subject) -> float | None:
        place = RADII.index(self)
        spans = () if linear_map.target is None else linear_map.target.spans[place : place + 1]
        return next((span.low for span in spans if span.fixed), None)

    def tolerance(self, linear_map: LinearMap, _of: Subject) -> float | None:
        place = RADII.index(self)
        found = () if linear_map.target is None else linear_map.target.tolerances[place : place + 1]
        return next(iter(found), None)


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
    """Of a core off the pin axis, it is a norm: axes that turn can only part the two RGs."""

    key, words = "intermediate_differential", "intermediate differential"

    def measured(self, ball: Ball, _of: Subject) -> Iterator[Measured]:
        yield Measured(
            ball.radii.intermediate_differential,
            ball.radius_gradient(2) - ball.radius_gradient(1),
            beside=None if ball.map.aligned else ball.parting,
        )


LOW_RG, DIFFERENTIAL = _LowRG(), _Differential()
INTERMEDIATE_DIFFERENTIAL = _IntermediateDifferential()
RADII: Final[tuple[Figure, ...]] = (LOW_RG, DIFFERENTIAL, INTERMEDIATE_DIFFERENTIAL)
"""In the order of the target's columns."""

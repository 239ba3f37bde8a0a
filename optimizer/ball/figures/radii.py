"""The figures of the radii of gyration: low RG, differential, intermediate differential."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from optimizer.ball.figures.base import Figure, Measured, Subject, TargetFigure
from optimizer.ball.weight_class import Ball


class _Radius(TargetFigure):
    """A figure of the principal radii of gyration."""

    quantity = "rg"


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


LOW_RG: Final[Figure] = _LowRG()
DIFFERENTIAL: Final[Figure] = _Differential()
INTERMEDIATE_DIFFERENTIAL: Final[Figure] = _IntermediateDifferential()
RADII: Final[tuple[Figure, ...]] = (LOW_RG, DIFFERENTIAL, INTERMEDIATE_DIFFERENTIAL)

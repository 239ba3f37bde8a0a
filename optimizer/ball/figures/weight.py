"""The weight of a ball, undrilled."""

from __future__ import annotations

from collections.abc import Iterator

from geometry.mass_properties import MASS_SLOPE
from optimizer.ball.figures.base import Figure, Measured, Subject
from optimizer.ball.weight_class import Ball, LinearMap


class _Weight(Figure):
    key, words, quantity = "weight", "weight", "mass"
    asked_words = "class weight"

    def measured(self, ball: Ball, _of: Subject) -> Iterator[Measured]:
        yield Measured(ball.properties.mass, ball.pull(MASS_SLOPE))

    def asked(self, linear_map: LinearMap, _of: Subject) -> float:
        return linear_map.mass

    def tolerance(self, linear_map: LinearMap, _of: Subject) -> float | None:
        return linear_map.mass_tolerance


WEIGHT = _Weight()

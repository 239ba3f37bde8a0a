"""The density of a part."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from optimizer.ball.figures.base import Figure, Measured, Subject
from optimizer.ball.sought import Pour
from optimizer.ball.weight_class import Ball, LinearMap


class _Density(Figure):
    key, words, quantity = "density", "density", "density"
    asked_words = "fixed density"
    linear = True

    def measured(self, ball: Ball, of: Subject) -> Iterator[Measured]:
        i = ball.map.places[of]
        slope = None if ball.map.pours[i].fixed else ball.unit(i)
        yield Measured(float(ball.densities[i]), slope)

    def subjects(self, linear_map: LinearMap) -> Iterable[Subject]:
        return (pour.part for pour in linear_map.pours)

    def moves(self, linear_map: LinearMap, of: Subject) -> bool:
        return not _pour(linear_map, of).fixed

    def asked(self, linear_map: LinearMap, of: Subject) -> float | None:
        pour = _pour(linear_map, of)
        return pour.low if pour.fixed else None

    def tolerance(self, linear_map: LinearMap, of: Subject) -> float | None:
        return _pour(linear_map, of).tolerance


def _pour(linear_map: LinearMap, of: Subject) -> Pour:
    return linear_map.pours[linear_map.places[of]]


DENSITY = _Density()

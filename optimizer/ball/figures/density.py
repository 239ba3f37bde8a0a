"""The density of a part."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from optimizer.ball.figures.base import Figure, Measured, Subject
from optimizer.ball.sought import Pour
from optimizer.ball.weight_class import Ball, LinearMap


class _Density(Figure):
    key, words, quantity = "density", "density", "density"
    asked_words = "fixed density"

    def measured(self, ball: Ball, of: Subject) -> Iterator[Measured]:
        i = ball.map.places[of]
        slope = None if ball.map.pours[i].fixed else ball.unit(i)
        yield Measured(float(ball.densities[i]), slope)

    def subjects(self, one: LinearMap) -> Iterable[Subject]:
        return (pour.part for pour in one.pours)

    def moves(self, one: LinearMap, of: Subject) -> bool:
        return not _pour(one, of).fixed

    def asked(self, one: LinearMap, of: Subject) -> float | None:
        pour = _pour(one, of)
        return pour.low if pour.fixed else None

    def tolerance(self, one: LinearMap, of: Subject) -> float | None:
        return _pour(one, of).tolerance


def _pour(one: LinearMap, of: Subject) -> Pour:
    return one.pours[one.places[of]]


DENSITY = _Density()

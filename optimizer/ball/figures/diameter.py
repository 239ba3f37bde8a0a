"""The diameter of a ball, given by its mould."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.ball.figures.base import Figure, Measured, Subject
from optimizer.ball.weight_class import Ball, LinearMap


class _Diameter(Figure):
    key, words, quantity = "diameter", "diameter", "length"

    def measured(self, ball: Ball, _of: Subject) -> Iterator[Measured]:
        yield Measured(2 * ball.map.radius, None)

    def moves(self, _one: LinearMap, _of: Subject) -> bool:
        return False

    def asked(self, linear_map: LinearMap, _of: Subject) -> float:
        return 2 * linear_map.radius


DIAMETER = _Diameter()

"""The wall between a part and its host, or between neighbours in one host."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np

from optimizer.ball.figures.base import Figure, Measured, Subject
from optimizer.ball.weight_class import Ball, LinearMap


class _Wall(Figure):
    key, words, quantity = "wall", "wall", "length"

    def measured(self, ball: Ball, of: Subject) -> Iterator[Measured]:
        """Yield it at every place that may become the thinnest."""
        growth, still = ball.map.wall_growth, np.zeros(len(ball.densities))
        for j in ball.map.places_of_walls[of]:
            wall = ball.map.walls[j]
            slope = np.concatenate([still, growth[j]]) if growth.size else None
            yield Measured(wall.thickness, slope, wall.error)

    def subjects(self, linear_map: LinearMap) -> Iterable[Subject]:
        return linear_map.places_of_walls

    def moves(self, linear_map: LinearMap, _of: Subject) -> bool:
        return bool(linear_map.free)


WALL = _Wall()

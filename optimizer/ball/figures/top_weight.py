"""Top weight: the static imbalance with the CG mark up, |c|·W/a."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from optimizer.ball.figures.base import Figure, Measured, Subject
from optimizer.ball.weight_class import Ball
from shared.arrays import Array


class _TopWeight(Figure):
    key, words, quantity = "top_weight", "top weight", "imbalance"

    def measured(self, ball: Ball, _of: Subject) -> Iterator[Measured]:
        up = _outward(ball.properties.moments.J[:3, 3]) / ball.map.arm
        yield Measured(ball.top_weight, ball.pull(up))


def _outward(first: Array) -> Array:
    """Return the derivative (4, 4) of |first moments| in J; toward the pin where they vanish."""
    size = math.hypot(*first)
    unit = first / size if size > 0.0 else np.array([0.0, 0.0, 1.0])
    slope = np.zeros((4, 4))
    slope[:3, 3] = slope[3, :3] = unit / 2
    return slope


TOP_WEIGHT = _TopWeight()

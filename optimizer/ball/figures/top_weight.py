"""Top weight: the static imbalance with the CG mark up, |c|·W/a."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.ball.figures.base import Figure, Measured, Subject
from optimizer.ball.weight_class import Ball


class _TopWeight(Figure):
    key, words, quantity = "top_weight", "top weight", "imbalance"

    def measured(self, ball: Ball, _of: Subject) -> Iterator[Measured]:
        outward = ball.properties.first_moment_slope
        yield Measured(ball.top_weight, ball.pull(outward / ball.map.arm))


TOP_WEIGHT = _TopWeight()

"""CG offset: the distance of the centre of gravity from the ball's geometric centre."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from optimizer.ball.figures.base import Figure, Measured, Subject, TargetFigure
from optimizer.ball.weight_class import Ball


class _CGOffset(TargetFigure):
    key, words, quantity = "cg_offset", "CG offset", "length"

    def measured(self, ball: Ball, _of: Subject) -> Iterator[Measured]:
        properties = ball.properties
        yield Measured(properties.cg_offset, ball.pull(properties.cg_offset_slope))


CG_OFFSET: Final[Figure] = _CGOffset()

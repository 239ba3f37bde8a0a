"""The least wall: between a part and its host, and between neighbours in one host."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, ClassVar, Self

import numpy as np
from pydantic import Field

from optimizer.limits.base import Limit
from optimizer.linear.maps import Ball
from optimizer.linear.rows import Margin
from shared.models import AsTuple, Length, LengthOrZero, StrictModel


class WallException(StrictModel):
    """Another least wall for one pair of parts."""

    between: Annotated[tuple[str, str], AsTuple]
    min: LengthOrZero


class WallLimit(Limit):
    """Every wall at least `min`, with other figures for the pairs under `except`.

    A part that is set into others may end at its host's surface: its wall there is at least 0, and
    that is no question of tolerances.
    """

    key: ClassVar[str] = "wall"

    min: LengthOrZero
    tolerance: Length | None = None
    exceptions: Annotated[tuple[WallException, ...], AsTuple, Field(alias="except")] = ()

    def margins(self, ball: Ball) -> Iterator[Margin]:
        """Yield one margin for each wall of the mould; the wall's own error is taken off."""
        least = {frozenset(other.between): other.min for other in self.exceptions}
        set_in = {frozenset((p.inside, p.name)) for p in ball.map.parts if p.through} - set(least)
        growth = ball.map.wall_growth
        still = np.zeros(len(ball.densities))
        for j, wall in enumerate(ball.map.walls):
            pair = frozenset(wall.between)
            bound = 0.0 if pair in set_in else least.get(pair, self.min)
            yield Margin(
                weight=ball.map.label,
                limit="wall min",
                part=wall.between,
                value=wall.thickness,
                bound=bound,
                slack=wall.thickness - wall.error - bound,
                quantity="length",
                tolerance=None if pair in set_in else self.tolerance,
                gradient=np.concatenate([still, growth[j]]) if growth.size else None,
            )

    def names(self) -> tuple[str, ...]:
        """Part names under `except`."""
        return tuple(name for other in self.exceptions for name in other.between)

    @classmethod
    def example(cls) -> Self:
        """A fifth of an inch."""
        return cls(min=0.508, tolerance=0.0508)

"""Top weight: the static imbalance with the CG mark up."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, ClassVar, Self

import numpy as np
from pydantic import Field

from optimizer.limits.base import Limit
from optimizer.linear.maps import Ball
from optimizer.linear.rows import Margin
from shared.units import OUNCE

Ounces = Annotated[float, Field(ge=0, le=64)]


class TopWeight(Limit):
    """|c|·W/a between `min` and `max`, in ounces whatever the unit of weight."""

    key: ClassVar[str] = "top_weight"

    min: Ounces | None = None
    max: Ounces | None = None
    tolerance: Annotated[float, Field(gt=0, le=64)] | None = None

    def margins(self, ball: Ball) -> Iterator[Margin]:
        """Yield "top weight min" and "top weight max", as far as they are given."""
        value = ball.top_weight
        up = ball.pull(_outward(ball.properties.moments.J[:3, 3]) / ball.map.arm)
        for side, bound, sign in (("min", self.min, 1.0), ("max", self.max, -1.0)):
            if bound is None or (side, bound) == ("min", 0.0):  # a least of 0 is no limit
                continue
            yield Margin(
                weight=ball.map.label,
                limit=f"top weight {side}",
                part=None,
                value=value,
                bound=bound * OUNCE,
                slack=sign * (value - bound * OUNCE),
                quantity="imbalance",
                tolerance=None if self.tolerance is None else self.tolerance * OUNCE,
                gradient=sign * up,
            )

    @classmethod
    def example(cls) -> Self:
        """Usual in the trade (common practice, no source)."""
        return cls(min=2.0, max=4.0, tolerance=0.25)


def _outward(first: np.ndarray) -> np.ndarray:
    """Return the derivative (4, 4) of |first moments| in J; toward the pin where they vanish."""
    size = float(np.linalg.norm(first))
    unit = first / size if size > 0.0 else np.array([0.0, 0.0, 1.0])
    slope = np.zeros((4, 4))
    slope[:3, 3] = slope[3, :3] = unit / 2
    return slope

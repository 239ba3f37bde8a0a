"""Intermediate differential: high − intermediate RG, at most so much in each weight for itself."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar, Final, Self

from optimizer.limits.base import Limit
from optimizer.linear.maps import Ball
from optimizer.linear.rows import Margin
from shared.models import RadiusDifference, RadiusTolerance

INTERMEDIATE_MOST: Final = "intermediate differential max"


class IntermediateDifferential(Limit):
    """The intermediate differential at most `max`: how far a core is from a symmetric one's."""

    key: ClassVar[str] = "intermediate_differential"

    max: RadiusDifference
    tolerance: RadiusTolerance | None = None

    def margins(self, ball: Ball) -> Iterator[Margin]:
        """Yield INTERMEDIATE_MOST."""
        value = ball.radii.intermediate_differential
        moved = ball.radius_gradient(1) - ball.radius_gradient(2)
        yield Margin(
            weight=ball.map.label,
            limit=INTERMEDIATE_MOST,
            part=None,
            value=value,
            bound=self.max,
            slack=self.max - value,
            quantity="rg",
            tolerance=self.tolerance,
            gradient=moved,
            beside=None if ball.map.aligned else ball.parting,
        )

    @classmethod
    def example(cls) -> Self:
        """Half of a thousandth of an inch, the least that is quoted."""
        return cls(max=0.00127)

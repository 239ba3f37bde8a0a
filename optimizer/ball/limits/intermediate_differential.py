"""Intermediate differential: high − intermediate RG, limited in each weight by itself."""

from __future__ import annotations

from typing import ClassVar, Self

from optimizer.ball.figures import INTERMEDIATE_DIFFERENTIAL
from optimizer.ball.limits.base import FigureLimit
from shared.models import RadiusDifference, RadiusTolerance


class IntermediateDifferential(FigureLimit):
    """The intermediate differential at most `max`: how far a core may be from a symmetric one."""

    key: ClassVar[str] = "intermediate_differential"
    figure = INTERMEDIATE_DIFFERENTIAL

    max: RadiusDifference
    tolerance: RadiusTolerance | None = None

    @classmethod
    def example(cls) -> Self:
        """Half of a thousandth of an inch, the least that is quoted."""
        return cls(max=0.00127)

"""The step in density between two pours that touch."""

from __future__ import annotations

from typing import ClassVar, Self

from optimizer.ball.figures import DENSITY_STEP
from optimizer.ball.limits.base import FigureLimit
from shared.models import Density


class DensityStep(FigureLimit):
    """At most `max` between the densities of a part and of its host, which touch."""

    key: ClassVar[str] = "density_step"
    figure = DENSITY_STEP

    max: Density
    tolerance: Density | None = None

    @classmethod
    def example(cls) -> Self:
        """A step of 1.5 g/cm³."""
        return cls(max=1.5, tolerance=0.03)

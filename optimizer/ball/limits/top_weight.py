"""Top weight: the static imbalance with the CG mark up."""

from __future__ import annotations

from typing import Annotated, ClassVar, Self

from pydantic import Field

from optimizer.ball.figures import TOP_WEIGHT
from optimizer.ball.limits.base import FigureLimit
from shared.units import OUNCE

Ounces = Annotated[float, Field(ge=0, le=64)]


class TopWeight(FigureLimit):
    """|c|·W/a between `min` and `max`, in ounces whatever the unit of weight."""

    key: ClassVar[str] = "top_weight"
    figure = TOP_WEIGHT
    unit = OUNCE

    min: Ounces | None = None
    max: Ounces | None = None
    tolerance: Annotated[float, Field(gt=0, le=64)] | None = None

    @classmethod
    def example(cls) -> Self:
        """Usual in the trade (common practice, no source)."""
        return cls(min=2.0, max=4.0, tolerance=0.25)

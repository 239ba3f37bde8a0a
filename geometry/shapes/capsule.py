"""A cylinder with a hemisphere at either end."""

from __future__ import annotations

from typing import ClassVar, Literal, Self

import numpy as np
from pydantic import ValidationInfo, model_validator

from geometry.moments import Moments
from geometry.shapes.base import TurnedShape, as_written, refusal
from shared.arrays import Array
from shared.models import Length


class Capsule(TurnedShape):
    """A capsule about z; `height` is overall, and a capsule as high as wide is a ball."""

    EXAMPLE: ClassVar = {"diameter": 5.6, "height": 12.7}  # a keel more than twice as high as wide
    kind: Literal["capsule"] = "capsule"
    diameter: Length
    height: Length

    @model_validator(mode="after")
    def _is_as_high_as_wide(self, info: ValidationInfo) -> Self:
        if self.height < self.diameter:
            wide = as_written(self.diameter, info)
            raise refusal(
                f"capsule is lower than it is wide ({as_written(self.height, info)})",
                f"its height is overall, the round ends included: make it {wide} or more",
            )
        return self

    def moments(self) -> Moments:
        """Return exact moments about the centre.

        A cylinder of half height c, and two hemispheres. About the centre of its flat face a
        hemisphere has the centroid ⅜r and ∫ z² = r²/5 times its volume; at c that makes
        r²/5 + 2c·⅜r + c² (parallel axes).
        """
        r, c = self.diameter / 2, (self.height - self.diameter) / 2
        barrel, balls = 2 * np.pi * r**2 * c, 4 * np.pi / 3 * r**3
        across = barrel * r**2 / 4 + balls * r**2 / 5
        along = barrel * c**2 / 3 + balls * (r**2 / 5 + 0.75 * r * c + c**2)
        return Moments.symmetric(barrel + balls, across, across, along)

    def vertices(self) -> Array:
        """Return two quarter circles and a straight side between them."""
        r, end = self.diameter / 2, self.height / 2
        quarter = np.tan(np.pi / 8)
        return np.array([[0, -end, quarter], [r, r - end, 0], [r, end - r, quarter], [0, end, 0]])

"""A torus."""

from __future__ import annotations

from typing import ClassVar, Literal, Self

import numpy as np
from pydantic import ValidationInfo, model_validator

from geometry.moments import Moments
from geometry.shapes.base import TurnedShape, as_written, refusal
from shared.arrays import Array
from shared.models import Length


class Ring(TurnedShape):
    """A torus about z: `diameter` of its centre line, `thickness` of its round section."""

    EXAMPLE: ClassVar = {"diameter": 11.7, "thickness": 2.0}  # a girdle of ordinary size
    kind: Literal["ring"] = "ring"
    diameter: Length
    thickness: Length

    @model_validator(mode="after")
    def _has_a_hole(self, info: ValidationInfo) -> Self:
        if self.thickness >= self.diameter:
            raise refusal(
                f"ring is too thick to leave a hole ({as_written(self.thickness, info)})",
                f"its diameter is that of the centre line: "
                f"make it thinner than {as_written(self.diameter, info)}",
            )
        return self

    @property
    def convex(self) -> bool:
        """A ring has a hole."""
        return False

    def moments(self) -> Moments:
        """Return exact moments about the centre.

        Turn a disc of radius a about an axis at a distance c (Pappus): V = 2πc · πa²,
        ∫ z² dV = 2πc · ¼πa⁴, and ∫ r² dV = 2π ∫ (c + x)³ dA = 2π (c³ + ¾ a² c) πa².
        """
        c, a = self.diameter / 2, self.thickness / 2
        volume = 2 * np.pi**2 * c * a**2
        across = volume * (c**2 + 0.75 * a**2) / 2
        return Moments.symmetric(volume, across, across, volume * a**2 / 4)

    def vertices(self) -> Array:
        """Return a circle away from the axis."""
        c, a = self.diameter / 2, self.thickness / 2
        return np.array([[c - a, 0, 1], [c + a, 0, 1]])

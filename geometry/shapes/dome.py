"""A cap cut off a ball."""

from __future__ import annotations

from typing import ClassVar, Literal, Self

import numpy as np
from pydantic import ValidationInfo, model_validator

from geometry.moments import Moments
from geometry.shapes.base import TurnedShape, as_written, refusal
from shared.arrays import Array
from shared.models import Length


class Dome(TurnedShape):
    """The cap of a ball of diameter `sphere`, `height` above its flat face.

    The origin is the centre of the flat face; the dome points toward +z. A dome as high as the
    ball's radius is a hemisphere, one as high as its diameter the whole ball.
    """

    EXAMPLE: ClassVar = {"sphere": 12.0, "height": 3.5}  # a shallow cap
    kind: Literal["dome"] = "dome"
    sphere: Length
    height: Length

    @model_validator(mode="after")
    def _is_within_its_ball(self, info: ValidationInfo) -> Self:
        if self.height > self.sphere:
            raise refusal(
                f"dome is higher than its sphere ({as_written(self.height, info)})",
                f"make it {as_written(self.sphere, info)}, the sphere's diameter, or less",
            )
        return self

    def moments(self) -> Moments:
        """Return exact moments about the centre of the flat face.

        At a depth s below the top the radius is √(s(2R − s)) and z = H − s. The integrals over s
        from 0 to H are Euler's: ∫ (H − s)ᵐ sⁿ ds = m! n! / (m + n + 1)! · H^(m+n+1).
        """
        R, H = self.sphere / 2, self.height
        volume = np.pi * H**2 * (R - H / 3)
        first = np.pi * H**3 * (4 * R - H) / 12
        across = np.pi * H**3 * (20 * R**2 - 15 * R * H + 3 * H**2) / 60
        along = np.pi * H**4 * (5 * R - H) / 30
        return Moments.of(volume, np.array([0, 0, first]), np.diag([across, across, along]))

    def vertices(self) -> Array:
        """Return the flat face's radius, an arc to the top, and the axis.

        The arc spans ψ with sin ½ψ = √(H/2R); its bulge is tan ¼ψ = sin ½ψ / (1 + cos ½ψ).
        """
        H, rest = self.height, self.sphere - self.height
        bulge = np.sqrt(H) / (np.sqrt(self.sphere) + np.sqrt(rest))
        return np.array([[0, 0, 0], [np.sqrt(H * rest), 0, bulge], [0, H, 0]])

"""A circular cone, full or truncated."""

from __future__ import annotations

from typing import ClassVar, Literal, Self

import numpy as np
from pydantic import model_validator

from geometry.moments import Moments
from geometry.shapes.base import TurnedShape, refusal
from shared.arrays import Array
from shared.models import Length, LengthOrZero


class Cone(TurnedShape):
    """A cone about z with diameters `bottom` and `top`; its origin is the middle of its height."""

    EXAMPLE: ClassVar = {"bottom": 9.0, "top": 5.0, "height": 8.0}  # a block narrower at the top
    kind: Literal["cone"] = "cone"
    bottom: LengthOrZero
    top: LengthOrZero
    height: Length

    @model_validator(mode="after")
    def _is_solid(self) -> Self:
        if self.bottom == 0 and self.top == 0:
            raise refusal("a cone with both diameters 0 is a line", "give one of them a size")
        return self

    def moments(self) -> Moments:
        """Return exact moments about the middle of the height.

        With r(s) = m + d·s and z = s·h/2, s from −1 to 1: ∫ r², ∫ r² z, ∫ r² z² and ∫ ¼ r⁴, times
        π, over the height. All terms but the one in z are positive, so nothing cancels.
        """
        m, d, h = (self.bottom + self.top) / 4, (self.top - self.bottom) / 4, self.height
        volume = np.pi * h * (m**2 + d**2 / 3)
        first = np.pi * h**2 * m * d / 3
        across = np.pi * h / 4 * (m**4 + 2 * m**2 * d**2 + d**4 / 5)
        along = np.pi * h**3 * (m**2 / 12 + d**2 / 20)
        return Moments.of(volume, np.array([0, 0, first]), np.diag([across, across, along]))

    def vertices(self) -> Array:
        """Return a trapezium on the axis, or a triangle."""
        end = self.height / 2
        corners = [[0, -end, 0], [self.bottom / 2, -end, 0], [self.top / 2, end, 0], [0, end, 0]]
        return np.array(corners)

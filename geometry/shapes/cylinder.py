"""A straight circular cylinder."""

from __future__ import annotations

from typing import ClassVar, Literal

import numpy as np

from geometry.moments import Moments
from geometry.shapes.base import TurnedShape
from shared.arrays import Array
from shared.models import Length


class Cylinder(TurnedShape):
    """A cylinder about z; its origin is the middle of its height."""

    EXAMPLE: ClassVar = {"diameter": 5.0, "height": 7.5}  # an insert a little taller than wide
    kind: Literal["cylinder"] = "cylinder"
    diameter: Length
    height: Length

    def moments(self) -> Moments:
        """Return exact moments about the middle.

        A disc has ∫ x² dA = ¼ r² A, a straight line of length h has ∫ z² dz = h³/12.
        """
        r, h = self.diameter / 2, self.height
        volume = np.pi * r**2 * h
        across = volume * r**2 / 4
        return Moments.symmetric(volume, across, across, volume * h**2 / 12)

    def vertices(self) -> Array:
        """Return a rectangle on the axis."""
        r, top = self.diameter / 2, self.height / 2
        return np.array([[0, -top, 0], [r, -top, 0], [r, top, 0], [0, top, 0]])

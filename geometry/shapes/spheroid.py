"""A ball stretched along its axis."""

from __future__ import annotations

from typing import ClassVar, Literal

import numpy as np

from geometry.shapes.base import TurnedShape
from geometry.shapes.sphere import StretchedBall
from shared.arrays import Array
from shared.models import Length


class Spheroid(StretchedBall, TurnedShape):
    """A spheroid about its centre: `diameter` at the equator, `height` along z."""

    EXAMPLE: ClassVar = {"diameter": 8.4, "height": 15.5}  # a core taller than wide
    kind: Literal["spheroid"] = "spheroid"
    diameter: Length
    height: Length

    def scale(self) -> Array:
        """Return the half axes."""
        return np.array([self.diameter, self.diameter, self.height]) / 2

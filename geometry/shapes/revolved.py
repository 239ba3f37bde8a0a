"""A solid turned from an outline of lines and arcs."""

from __future__ import annotations

from typing import ClassVar, Literal

import numpy as np

from geometry.moments import Moments
from geometry.shapes.base import TurnedShape
from geometry.shapes.drawn import TurnedOutline
from shared.arrays import Array


class Revolved(TurnedShape):
    """A solid turned about z: `outline` is a closed list of r, z and the bulge of the next edge.

    The last edge leads back to the first vertex. The bulge is the tangent of a quarter of the arc's
    angle, positive counter-clockwise, as in DXF polylines. An outline that does not run along the
    axis, r = 0, leaves a bore.
    """

    EXAMPLE: ClassVar = {  # a block with a waist and a round top
        "outline": ((0.0, -6.0), (4.0, -6.0), (2.5, 0.0), (4.0, 5.0, 0.35), (0.0, 7.5))
    }
    kind: Literal["revolved"] = "revolved"
    outline: TurnedOutline

    @property
    def convex(self) -> bool:
        """Whether the turned solid is convex."""
        return self.profile().convex

    def moments(self) -> Moments:
        """Return exact moments about the outline's own origin."""
        return self.profile().outline.turned()

    def vertices(self) -> Array:
        """Return the outline as drawn."""
        return np.array(self.outline)

"""Properties of a mould as drawn, computed once for all weights that have it."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from geometry.nesting import outermost
from geometry.parts import Part
from geometry.regions import regions
from geometry.shapes.sphere import Sphere
from geometry.walls.thinnest import walls
from shared.arrays import Array, frozen


def ball_radius(parts: tuple[Part, ...]) -> float:
    """Return the radius of the outermost part, cm. Raises TypeError if that is no sphere."""
    ball = outermost(parts).shape
    if not isinstance(ball, Sphere):
        raise TypeError(f"the ball is a {type(ball).__name__}, not a sphere")
    return ball.diameter / 2


@lru_cache(maxsize=64)
def region_moments(parts: tuple[Part, ...]) -> Array:
    """Return the moments (n, 4, 4) of the parts' own material, in the order of `parts`."""
    return frozen(np.stack([region.moments.J for region in regions(parts)]))


mould_walls = lru_cache(maxsize=64)(walls)
"""The walls of a mould, by its parts."""

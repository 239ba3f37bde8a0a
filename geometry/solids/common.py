"""The intersection of two parts: exact if both are turned about one line."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from geometry.moments import Moments
from geometry.parts import Part
from geometry.shapes.sphere import Sphere
from geometry.solids.compound import Compound


@dataclass(frozen=True)
class Common:
    """The moments of the intersection of two parts about the ball's centre, unit density.

    `error` is relative to the first one's volume × size to the moment's degree.
    """

    moments: Moments
    error: float


@lru_cache(maxsize=256)
def common(part: Part, other: Part) -> Common:
    """Return the intersection of two parts: the first minus its difference with the other."""
    left = Compound((part,), (_turned_with(part, other),))
    return Common(part.moments() - left.moments, left.error)


def _turned_with(part: Part, other: Part) -> Part:
    """Return `other`; a ball is turned to have the part's axis, which leaves it the same."""
    if isinstance(other.shape, Sphere) and other.placement.stretch == (1.0, 1.0, 1.0):
        placement = replace(other.placement, rotate=part.placement.rotate)
        return replace(other, placement=placement)
    return other

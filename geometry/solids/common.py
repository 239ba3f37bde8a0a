"""What two parts have in common: exact where both are turned about one line."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from geometry.moments import Moments
from geometry.parts import Part
from geometry.shapes.sphere import Sphere
from geometry.solids.compound import Compound


@dataclass(frozen=True)
class Common:
    """What two parts share: moments about the ball's centre, unit density.

    They may be off by `error`, as a part of the first one's volume × size to their degree.
    """

    moments: Moments
    error: float


@lru_cache(maxsize=256)
def common(part: Part, other: Part) -> Common:
    """Return what two parts have in common: the first less what is left once the other is cut."""
    left = Compound((part,), (_turned_with(part, other),))
    return Common(part.moments() - left.moments, left.error)


def _turned_with(part: Part, other: Part) -> Part:
    """Return `other`; a ball turned so that its axis is the part's, as any axis is a ball's."""
    if isinstance(other.shape, Sphere) and other.placement.stretch == (1.0, 1.0, 1.0):
        placement = replace(other.placement, rotate=part.placement.rotate)
        return replace(other, placement=placement)
    return other

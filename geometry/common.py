"""What two parts have in common: exact where both are turned about one line."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from geometry.compound import met_turned
from geometry.kept import kept
from geometry.moments import Moments
from geometry.parts import Part
from geometry.shapes.sphere import Sphere
from geometry.surface import Mask
from shared.arrays import Array


@dataclass(frozen=True)
class Common:
    """The moments about the ball's centre of what two parts share, unit density.

    `error` is what they may be off, as a part of volume × size to their degree; 0 if exact.
    """

    moments: Moments
    error: float = 0.0


@lru_cache(maxsize=256)
def common(part: Part, other: Part) -> Common:
    """Return what two parts have in common."""
    exact = met_turned((part, _turned_with(part, other)), _in_both)
    if exact is not None:
        return Common(exact.moments)
    found = kept((part, other), _in_both([part.surface.inside, other.surface.inside]))
    return Common(found.moments, found.error)


def _in_both(inside: Sequence[Callable[[Array], Mask]]) -> Callable[[Array], Mask]:
    return lambda points: np.logical_and.reduce([one(points) for one in inside])


def _turned_with(part: Part, other: Part) -> Part:
    """Return `other`; a ball turned so that its axis is the part's, as any axis is a ball's."""
    if isinstance(other.shape, Sphere) and other.placement.stretch == (1.0, 1.0, 1.0):
        return replace(other, placement=replace(other.placement, rotate=part.placement.rotate))
    return other

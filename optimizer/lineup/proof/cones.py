"""Boxes of line-ups whose principal axes turn, and cones that hold the axes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, Final

import numpy as np

from optimizer.lineup.proof.affine import Range
from optimizer.lineup.proof.boxes import LineupBox
from shared.arrays import Array

PAIRS: Final = ((0, 1), (0, 2), (1, 2))
"""The vectors of a frame whose products of inertia a box limits, in their order there."""
WHOLE: Final = 2.0**11
"""The length, nearly, of the quaternion that a frame is rounded to."""


@dataclass(frozen=True)
class Cone:
    """The directions e₀ + s e₁ + t e₂ and their opposites, for ranges of s and t.

    e are a frame's three vectors in turn, from the one that the cone is round (`face`). Three cones
    with s and t from −1 to 1 hold all directions.
    """

    face: int
    s: Range = (-1.0, 1.0)
    t: Range = (-1.0, 1.0)

    def basis(self, frame: Array) -> Array:
        """Return e (3, 3), a vector a row."""
        return np.roll(frame, -self.face, axis=0)

    def cut(self, side: int, *at: float) -> tuple[Cone, ...]:
        """Return the cones that its range of s (`side` 0) or of t (1) falls into at some values."""
        ends = pairwise(sorted({*(self.s, self.t)[side], *at}))
        return tuple(Cone(self.face, *((x, self.t), (self.s, x))[side]) for x in ends)

    def turned(self, pair: int) -> tuple[int, int]:
        """Return which two of e are a pair of the frame."""
        i, j = PAIRS[pair]
        return (i - self.face) % 3, (j - self.face) % 3


FACES: Final = tuple(Cone(face) for face in range(3))
"""Cones that hold all directions."""


@dataclass(frozen=True)
class TurnedBox(LineupBox):
    """A set of line-ups off the pin axis.

    For each class there are three ranges of `c`, along x, y and z, cm; two `cones`, of the axis of
    low and that of high RG, None if it may lie anywhere; three ranges of the products of inertia of
    the frame's PAIRS ÷ mass, cm². `orders` are those of the columns: low, intermediate, high;
    `narrow` counts the kinds of ranges that were narrowed.
    """

    cones: tuple[Cone | None, ...] = ()
    products: tuple[Range, ...] = ()
    narrow: int = 0

    def cut(self, name: str, number: int, at: float) -> tuple[TurnedBox, TurnedBox]:
        """Return the line-ups with a range of `c` or `products` up to a value, and from there."""
        ranges = getattr(self, name)
        low, high = ranges[number]
        before, after = ranges[:number], ranges[number + 1 :]
        spans = (low, min(high, at)), (max(low, at), high)
        changes: tuple[dict[str, Any], ...] = tuple(
            {name: (*before, span, *after)} for span in spans
        )
        return replace(self, **changes[0]), replace(self, **changes[1])

    def coned(self, i: int, cones: tuple[Cone, ...]) -> tuple[TurnedBox, ...]:
        """Return the line-ups with the i-th axis in each of the cones."""
        before, after = self.cones[:i], self.cones[i + 1 :]
        return tuple(replace(self, cones=(*before, cone, *after)) for cone in cones)


def frame_near(axes: Array) -> Array:
    """Return a frame near principal axes (3, 3), unit columns: three vectors, a row each.

    They are perpendicular and of one length to the last bit: a rotation by a quaternion of whole
    numbers, divided by a power of two. The quaternion is the eigenvector of the greatest eigenvalue
    of a matrix linear in the rotation (Bar-Itzhack, 2000; from memory).
    """
    (a, b, c), (d, e, f), (g, h, i) = axes.T * np.sign(np.linalg.det(axes))
    of_rotation = [
        [a - e - i, b + d, c + g, h - f],
        [b + d, e - a - i, f + h, c - g],
        [c + g, f + h, i - a - e, d - b],
        [h - f, c - g, d - b, a + e + i],
    ]
    x, y, z, w = np.rint(WHOLE * np.linalg.eigh(np.array(of_rotation))[1][:, 3])
    turned = [
        [w * w + x * x - y * y - z * z, 2 * (x * y - w * z), 2 * (x * z + w * y)],
        [2 * (x * y + w * z), w * w - x * x + y * y - z * z, 2 * (y * z - w * x)],
        [2 * (x * z - w * y), 2 * (y * z + w * x), w * w - x * x - y * y + z * z],
    ]
    return np.array(turned) / WHOLE**2

"""Balls whose axes turn with the densities: cones that hold the axes, ranges of what is off them.

A class has a frame: three vectors of one length, each perpendicular to the others. A cone of a
frame is the directions e₀ + s e₁ + t e₂ and their opposites, for ranges of s and t; e are the
frame's vectors in turn, from the one that the cone is round (its face). The largest component of
any direction is along one of the three, so three cones with s and t from −1 to 1 hold all.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple, TypeAlias

from optimizer.certificate.forms import ONE, Direction, NotProven, Range, double, exact, place, span

Frame: TypeAlias = tuple[Direction, Direction, Direction]

PAIRS = ((0, 1), (0, 2), (1, 2))
"""The vectors of a frame whose products of inertia a box limits, in their order there."""
FULL: Range = (-ONE, ONE)


class Cone(NamedTuple):
    """The directions of a cone."""

    face: int
    s: Range = FULL
    t: Range = FULL

    @classmethod
    def read(cls, data: Sequence[Any]) -> Cone:
        """Return a cone of a file: its face and the ends of its ranges."""
        face, *ends = data
        a, b, c, d = ends
        return cls(place(face, 3), span((a, b)), span((c, d)))

    def basis(self, frame: Frame) -> Frame:
        """Return e."""
        first, second, third = (frame[(self.face + i) % 3] for i in range(3))
        return first, second, third

    def limits(self, products: Sequence[Range], end: int) -> dict[frozenset[int], Range]:
        """Return the ranges of Nᵢⱼ ÷ m of two vectors of e, from those of the frame's pairs."""
        return {
            frozenset((i - self.face) % 3 for i in pair): ends if end == 0 else (-ends[1], -ends[0])
            for pair, ends in zip(PAIRS, products, strict=True)
        }


FACES = tuple(Cone(face) for face in range(3))
"""Cones that hold all directions."""


@dataclass(frozen=True)
class Turned:
    """Line-ups: of each class its frame, and three ranges of c, along x, y and z.

    Two cones hold its low and its high axis (None: any direction); three ranges, its products of
    inertia of the frame's PAIRS ÷ mass, cm².
    """

    frames: tuple[Frame, ...]
    places: tuple[Range, ...]
    cones: tuple[Cone | None, ...]
    products: tuple[Range, ...]

    def cut(self, name: str, number: int, at: Any) -> tuple[Turned, Turned]:
        """Return the line-ups with a range of `places` or `products` up to a value, and from it."""
        every, cut = getattr(self, name), exact(at)
        low, high = every[number]
        below, above = (
            (*every[:number], ends, *every[number + 1 :])
            for ends in ((low, min(high, cut)), (max(low, cut), high))
        )
        if name == "places":
            return replace(self, places=below), replace(self, places=above)
        return replace(self, products=below), replace(self, products=above)

    def coned(self, number: int, cones: Sequence[Cone]) -> Iterator[Turned]:
        """Yield the line-ups with an axis in each of some cones, which cover its own."""
        own = self.cones[number]
        if not covered(own, cones):
            raise NotProven("directions of an axis that aren't looked at")
        for cone in cones:
            before, after = self.cones[:number], self.cones[number + 1 :]
            yield replace(self, cones=(*before, cone, *after))


def covered(own: Cone | None, cones: Sequence[Cone]) -> bool:
    """Whether cones cover one of which they are parts, cut along s or along t; None: any."""
    if own is None:
        return set(FACES) <= set(cones)
    for along, across in (("s", "t"), ("t", "s")):
        at, end = getattr(own, along)
        for cone in sorted(cones, key=lambda cone: getattr(cone, along)):
            low, high = getattr(cone, along)
            if cone.face == own.face and getattr(cone, across) == getattr(own, across):
                at = max(at, high) if low <= at else at
        if at >= end:
            return True
    return False


def frames_of(data: Sequence[Any], count: int) -> tuple[Frame, ...]:
    """Return the frames of a file. Raises NotProven for vectors that aren't perpendicular."""
    frames = tuple(_frame(vectors) for vectors in data)
    if len(frames) != count:
        raise NotProven("frames that belong to no weight")
    return frames


def dot(u: Direction, v: Direction) -> Any:
    """Return u · v."""
    return sum(a * b for a, b in zip(u, v, strict=True))


def _frame(vectors: Sequence[Any]) -> Frame:
    a, b, c = (_direction(vector) for vector in vectors)
    size = dot(a, a)
    if dot(a, b) or dot(a, c) or dot(b, c) or not size == dot(b, b) == dot(c, c) > 0:
        raise NotProven("a frame that isn't square")
    return a, b, c


def _direction(vector: Sequence[Any]) -> Direction:
    x, y, z = vector
    return double(x), double(y), double(z)

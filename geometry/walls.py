"""Walls: the least distance between a part and its host, and between two parts in one host.

Each pair takes the simplest road that is right for it. Both turned about one line: in the
half-plane of r and z. Convex where it must be (the host; or both neighbours): by support
functions, exact. Else: by surfaces, with a stated error.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from geometry.distance import surface_wall
from geometry.outline import Profile
from geometry.parts import Part, children
from geometry.space import space_wall
from geometry.support import ERROR, section_wall
from geometry.surface import Surface
from shared.arrays import Array

ON_LINE = 1e-12
"""How far two lines may be apart, cm or rad, to count as one: rounding only."""

Triple = tuple[float, float, float]


@dataclass(frozen=True)
class Wall:
    """The wall between a part and its host (`nested`) or a neighbour in the same host.

    `between`    names: the part, then its host or neighbour
    `thickness`  cm; negative: how far the part sticks out of its host, or overlaps its neighbour
    `error`      a bound on the error of `thickness`, cm
    `at`         the part's surface point at the wall, ball axes, cm
    `direction`  unit vector from there to the host's or neighbour's surface, and on past it when
                 the wall is negative: moving the part that way by δ takes δ off the wall
    """

    between: tuple[str, str]
    nested: bool
    thickness: float
    error: float
    at: Triple
    direction: Triple


def walls(parts: Sequence[Part]) -> tuple[Wall, ...]:
    """Return every wall: of each part and its host, in file order, then of neighbours.

    Raises ValueError when the parts are no tree.
    """
    return tuple(wall(part, other, nested=nested) for part, other, nested in _pairs(parts))


def _pairs(parts: Sequence[Part]) -> Iterator[tuple[Part, Part, bool]]:
    inner = children(parts)
    named = {part.name: part for part in parts}
    for part in parts:
        if part.inside is not None:
            yield part, named[part.inside], True
    for part in parts:
        for first, second in combinations(inner[part.name], 2):
            yield first, second, False


def wall(part: Part, other: Part, *, nested: bool) -> Wall:
    """Return the wall between `part` and `other`, its host (`nested`) or its neighbour."""
    section = _section(part, other)
    convex = other.convex and (nested or part.convex)
    error = ERROR
    if convex and section:
        thickness, at, n = section_wall(section.part, section.other, nested=nested)
    elif convex:
        thickness, at, n = space_wall(part, other, nested=nested)
    else:
        surfaces = section.curves() if section else (part.surface, other.surface)
        found = surface_wall(*surfaces, nested=nested)
        thickness, error, at, n = found.thickness, found.error, found.at, found.direction
    if section:
        at, n = section.in_space(at), section.in_space(n) - section.in_space(np.zeros(len(n)))
    return Wall((part.name, other.name), nested, thickness, error, _triple(at), _triple(n))


def _triple(point: Array) -> Triple:
    x, y, z = (float(value) + 0.0 for value in point)  # no -0
    return x, y, z


@dataclass(frozen=True)
class Section:
    """Two parts turned about one line: their profiles in one half-plane of it.

    `frame` (3, 3) takes (r, z) to the ball's axes, homogeneous.
    """

    part: Profile
    other: Profile
    frame: Array

    def curves(self) -> tuple[Surface, Surface]:
        """Return both profiles as curves in space, x = r."""
        return Surface.turned(self.part, 0.0), Surface.turned(self.other, 0.0)

    def in_space(self, point: Array) -> Array:
        """Return the place in the ball's axes of (r, z), or of (r, 0, z)."""
        return np.asarray(self.frame @ [point[0], point[-1], 1.0])


def _section(part: Part, other: Part) -> Section | None:
    """Return the common section of two parts that are turned about one line, else None."""
    first, second = _turned(part), _turned(other)
    if first is None or second is None:
        return None
    (profile, t, axis), (other_profile, origin, line) = first, second
    offset = t - origin
    height, way = float(offset @ line), float(axis @ line)
    aside = np.stack([offset - height * line, axis - way * line])
    if np.max(np.linalg.norm(aside, axis=1)) > ON_LINE:
        return None
    across = other.matrix[:3, 0] / np.linalg.norm(other.matrix[:3, 0])
    frame = np.stack([across, line, origin], axis=1)
    return Section(profile.placed(1.0, np.sign(way), height), other_profile, frame)


def _turned(part: Part) -> tuple[Profile, Array, Array] | None:
    """Return the stretched profile of a part that is turned about a line, a point of it, its way.

    None when the shape isn't turned, or is stretched unevenly across its axis.
    """
    A = part.matrix[:3, :3]
    x, y, z = np.linalg.norm(A, axis=0)
    if part.profile is None or abs(x - y) > 1e-12 * x:
        return None
    return part.profile.placed(x, z, 0.0), part.matrix[:3, 3], A[:, 2] / z

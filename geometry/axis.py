"""Parts turned about one line: their profiles in one half-plane of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.parts import Part
from geometry.profile import Profile
from geometry.shapes.sphere import Sphere
from geometry.surface import Surface
from shared.arrays import Array

ON_LINE = 1e-12
"""How far two lines may be apart, cm or rad, to count as one: rounding only."""


@dataclass(frozen=True)
class Section:
    """Two parts turned about one line: their profiles in one half-plane of it.

    `frame` (3, 4) takes (r, 0, z) to the ball's axes, homogeneous.
    """

    part: Profile
    other: Profile
    frame: Array

    def curves(self) -> tuple[Surface, Surface]:
        """Return both profiles as curves in space, x = r."""
        return Surface.turned(self.part, 0.0), Surface.turned(self.other, 0.0)

    def in_space(self, point: Array, one: float, quarter: int = 0) -> Array:
        """Return where (r, z), or (r, 0, z), is in the ball's axes so many quarter turns round.

        The place with `one` 1, the direction with 0.
        """
        across, beside, line, origin = self.frame.T
        way = (across, beside, -across, -beside)[quarter]
        return np.asarray(point[0] * way + point[-1] * line + one * origin)


def common_section(part: Part, other: Part) -> Section | None:
    """Return the common section of two parts that are turned about one line, else None.

    A ball is turned about any line through its centre: two of them about that through both.
    """
    first, second = turned(part), turned(other)
    if first is None or second is None:
        return None
    (profile, point, way), (other_profile, origin, line) = first, second
    if _round(part):
        between = point - origin
        apart = float(np.linalg.norm(between))
        if _round(other) and apart > ON_LINE:
            line = between / apart
        way = line
    elif _round(other):
        line = way
    placed = on_line(profile, point, way, origin, line)
    if placed is None:
        return None
    across = other.matrix[:3, int(np.argmin(np.abs(line @ other.matrix[:3, :3])))]
    across = across - (across @ line) * line
    across /= np.linalg.norm(across)
    beside = line[[1, 2, 0]] * across[[2, 0, 1]] - line[[2, 0, 1]] * across[[1, 2, 0]]
    frame = np.stack([across, beside, line, origin], axis=1)
    return Section(placed, other_profile, frame)


def _round(part: Part) -> bool:
    """Whether a part that is turned about a line is a ball: any other line would do as well."""
    sizes = np.linalg.norm(part.matrix[:3, :3], axis=0)
    return isinstance(part.shape, Sphere) and bool(np.ptp(sizes) <= ON_LINE * sizes[0])


def on_line(
    profile: Profile, point: Array, way: Array, origin: Array, line: Array
) -> Profile | None:
    """Return a profile turned about one line as seen from the origin and along the way of another.

    None where these are two lines.
    """
    offset, along = point - origin, float(way @ line)
    height = float(offset @ line)
    aside = np.stack([offset - height * line, way - along * line])
    if np.max(np.linalg.norm(aside, axis=1)) > ON_LINE:
        return None
    return profile.placed(1.0, np.sign(along), height)


def turned(part: Part) -> tuple[Profile, Array, Array] | None:
    """Return the stretched profile of a part that is turned about a line, a point of it, its way.

    None when the shape isn't turned, or is stretched unevenly across its axis.
    """
    A = part.matrix[:3, :3]
    x, y, z = np.linalg.norm(A, axis=0)
    if part.profile is None or abs(x - y) > 1e-12 * x:
        return None
    return part.profile.placed(x, z, 0.0), part.matrix[:3, 3], A[:, 2] / z

"""Parts turned about one line: their profiles in one half-plane of it, and their union."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from geometry.outlines.faults import faults
from geometry.outlines.merge import merged
from geometry.outlines.outline import Outline
from geometry.outlines.profile import Profile
from geometry.parts import Body, Part
from geometry.shapes.revolved import Revolved
from geometry.shapes.sphere import Sphere
from geometry.surfaces.surface import Surface
from geometry.walls.support_functions import Gap
from shared.arrays import Array, frozen

ON_LINE = 1e-12
"""cm or rad. Lines closer than this are the same: allows for rounding only."""
SAME = 1e-12
"""Stretches whose relative difference is less than this are equal: allows for rounding only."""


class Section(NamedTuple):
    """Two parts turned about one line: their profiles in one half-plane of it.

    `frame` (3, 4) maps (r, 0, z) to the ball's axes, homogeneous.
    """

    part: Profile
    other: Profile
    frame: Array

    def curves(self) -> tuple[Surface, Surface]:
        """Return both profiles as curves in space, x = r."""
        return Surface.turned(self.part, 0.0), Surface.turned(self.other, 0.0)

    def in_space(self, gap: Gap, quarter: int = 0) -> Gap:
        """Return a wall, (r, z) or (r, 0, z), in the ball's axes, turned by quarter turns."""
        across, beside, line, origin = self.frame.T
        way = (across, beside, -across, -beside)[quarter]
        at, direction = (of[0] * way + of[-1] * line for of in (gap.at, gap.direction))
        return gap._replace(at=at + origin, direction=direction)


class Turned(NamedTuple):
    """A part turned about a line: its stretched profile, a point of the line, its direction."""

    profile: Profile
    point: Array
    way: Array

    def on(self, point: Array, way: Array) -> Profile | None:
        """Return the profile relative to a point and direction of a line; None off that line."""
        offset, along = self.point - point, float(self.way @ way)
        height = float(offset @ way)
        aside = np.stack([offset - height * way, self.way - along * way])
        if np.max(np.linalg.norm(aside, axis=1)) > ON_LINE:
            return None
        return self.profile.placed(1.0, np.sign(along), height)


def common_section(part: Part, other: Part) -> Section | None:
    """Return the common section of two parts that are turned about one line, else None.

    A ball is turned about any line through its centre, two balls about the line through both.
    """
    first, second = turned(part), turned(other)
    if first is None or second is None:
        return None
    _, origin, line = second
    if _round(part):
        between = first.point - origin
        apart = float(np.linalg.norm(between))
        if _round(other) and apart > ON_LINE:
            line = between / apart
        first = first._replace(way=line)
    elif _round(other):
        line = first.way
    placed = first.on(origin, line)
    if placed is None:
        return None
    across = other.matrix[:3, int(np.argmin(np.abs(line @ other.matrix[:3, :3])))]
    across = across - (across @ line) * line
    across /= np.linalg.norm(across)
    beside = line[[1, 2, 0]] * across[[2, 0, 1]] - line[[2, 0, 1]] * across[[1, 2, 0]]
    frame = np.stack([across, beside, line, origin], axis=1)
    return Section(placed, second.profile, frame)


def _round(part: Part) -> bool:
    """Whether a turned part is a ball, so that any line through its centre will do."""
    sizes = np.linalg.norm(part.matrix[:3, :3], axis=0)
    return isinstance(part.shape, Sphere) and bool(np.ptp(sizes) <= ON_LINE * sizes[0])


def turned(part: Part) -> Turned | None:
    """Return a part as turned; None if it isn't, or is stretched unevenly across its axis."""
    A = part.matrix[:3, :3]
    x, y, z = np.linalg.norm(A, axis=0)
    if part.profile is None or abs(x - y) > 1e-12 * x:
        return None
    return Turned(part.profile.placed(x, z, 0.0), part.matrix[:3, 3], A[:, 2] / z)


def joined_turned(
    plus: Sequence[Part], minus: Sequence[Part]
) -> tuple[tuple[Body, ...], tuple[Body, ...]] | None:
    """Return the bodies that `plus` minus `minus` forms, and the holes in them.

    None unless all are turned about one line, or if their outlines run too close to each other.
    """
    common = _in_common([*plus, *minus])
    if common is None:
        return None
    outlines, T = common
    area = merged([[o] for o in outlines[: len(plus)]], [[o] for o in outlines[len(plus) :]])
    if area is None or any(faults(o.vertices, axis=True) for o in (*area.pieces, *area.holes)):
        return None

    def revolved(outline: Outline) -> Body:
        vertices = tuple((x, y, bulge) for x, y, bulge in outline.vertices.tolist())
        shape = Revolved.model_construct(outline=vertices)
        return Body(plus[0].name, plus[0].inside, shape, plus[0].placement, T)

    return tuple(map(revolved, area.pieces)), tuple(map(revolved, area.holes))


def _in_common(solids: Sequence[Part]) -> tuple[list[Outline], Array] | None:
    """Return the outlines of solids turned about one line in one half-plane, equally stretched.

    Also the matrix (4, 4) from there, (r, 0, z), to their axes. None if arcs are stretched
    differently.
    """
    first, *_ = each = [turned(solid) for solid in solids]
    drawn = [solid and first and solid.on(first.point, first.way) for solid in each]
    profiles = [profile for profile in drawn if profile is not None]
    if first is None or len(profiles) < len(solids):
        return None
    _, origin, line = first
    bent = [profile for profile in profiles if np.any(profile.outline.vertices[:, 2])]
    ratios = [abs(along) / across for across, along in (profile.stretch for profile in bent)]
    ratio = ratios[0] if ratios else 1.0
    if any(abs(own_ratio - ratio) > SAME * ratio for own_ratio in ratios):
        return None
    outlines = [_even(profile, ratio) for profile in profiles]
    A = solids[0].matrix[:3, :3]
    side = A[:, 0] / np.linalg.norm(A[:, 0])
    T = np.eye(4)
    T[:3] = np.column_stack([side, np.cross(line, side), line * ratio, origin])
    return outlines, frozen(T)


def _even(profile: Profile, ratio: float) -> Outline:
    """Return a profile's outline in place, with z divided by `ratio`, the stretch of its arcs."""
    (x, y, bulge), (across, along) = profile.outline.vertices.T, profile.stretch
    z = (y * along + profile.shift) / ratio
    return Outline(np.column_stack([x * across, z, bulge * np.sign(along)]))

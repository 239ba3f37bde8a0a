"""Solids turned about one line, joined and cut as outlines: turned solids again, exactly."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from geometry.axis import turned
from geometry.merge import merged
from geometry.outline import Outline
from geometry.parts import Body, Part
from geometry.profile import Profile
from geometry.shapes.revolved import Revolved
from shared.arrays import Array, frozen

SAME = 1e-12
"""Two stretches that differ by less than this part are one: rounding only."""


def joined_turned(
    plus: Sequence[Part], minus: Sequence[Part]
) -> tuple[tuple[Body, ...], tuple[Body, ...]] | None:
    """Return the bodies that `plus` less `minus` comes to, and the holes in them.

    None where they aren't all turned about one line, or their outlines run too close to each other.
    """
    common = _in_common([*plus, *minus])
    if common is None:
        return None
    outlines, T = common
    area = merged([[o] for o in outlines[: len(plus)]], [[o] for o in outlines[len(plus) :]])
    if area is None or not area.sound(axis=True):
        return None
    bodies, holes = (
        tuple(_revolved(plus[0], one, T) for one in some) for some in (area.pieces, area.holes)
    )
    return bodies, holes


def _revolved(like: Part, outline: Outline, T: Array) -> Body:
    vertices = tuple((x, y, bulge) for x, y, bulge in outline.vertices.tolist())
    shape = Revolved.model_construct(outline=vertices)
    return Body(like.name, like.inside, shape, like.placement, T)


def _in_common(solids: Sequence[Part]) -> tuple[list[Outline], Array] | None:
    """Return the outlines of solids turned about one line in one half-plane, stretched alike.

    And the matrix (4, 4) from there, (r, 0, z), to the solids' axes. An arc stays an arc only where
    it is stretched as the others are.
    """
    each = [one for one in map(turned, solids) if one is not None]
    if len(each) < len(solids):
        return None
    _, origin, line = each[0]
    ratios, drawn = list[float](), list[Profile]()
    for solid in each:
        placed = solid.on(origin, line)
        if placed is None:
            return None
        across, along = placed.stretch
        if np.any(placed.outline.vertices[:, 2]):
            ratios.append(abs(along) / across)
        drawn.append(placed)
    ratio = ratios[0] if ratios else 1.0
    if any(abs(one - ratio) > SAME * ratio for one in ratios):
        return None
    outlines = [_even(profile, ratio) for profile in drawn]
    A = solids[0].matrix[:3, :3]
    side = A[:, 0] / np.linalg.norm(A[:, 0])
    T = np.eye(4)
    T[:3] = np.column_stack([side, np.cross(line, side), line * ratio, origin])
    return outlines, frozen(T)


def _even(profile: Profile, ratio: float) -> Outline:
    """Return a profile's outline as it lies, z divided by `ratio`: how its arcs are stretched."""
    (x, y, bulge), (across, along) = profile.outline.vertices.T, profile.stretch
    z = (y * along + profile.shift) / ratio
    return Outline(np.column_stack([x * across, z, bulge * np.sign(along)]))

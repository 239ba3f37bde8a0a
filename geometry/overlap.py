"""Sections of solids joined, cut and met."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from geometry.chords import SAGITTA
from geometry.merge import merged
from geometry.outline import Outline
from geometry.profile import Profile
from geometry.section import Loop
from shared.arrays import frozen

ALIKE = 1e-12
"""A map that stretches by no more than this part unevenly keeps arcs."""


def overlapping_section(
    plus: Sequence[Sequence[Loop]], minus: Sequence[Sequence[Loop]]
) -> tuple[Loop, ...]:
    """Return the section of solids joined and others cut from them, from the loops of each.

    Exact where no arc is stretched unevenly. Raises ArithmeticError where it can't be followed.
    """
    drawn = [
        [[_in_plane(loop) for loop in loops] for loops in some if loops] for some in (plus, minus)
    ]
    errors = [error for some in drawn for loops in some for _, error in loops]
    if not errors:
        return ()
    area = merged(*([[outline for outline, _ in loops] for loops in some] for some in drawn))
    if area is None:
        raise ArithmeticError("a section's edges run too close to each other")
    error = max(errors)
    return tuple(
        Loop(outline, frozen(np.eye(2)), frozen(np.zeros(2)), error)
        for outline in (*area.pieces, *area.holes)
    )


def _in_plane(loop: Loop) -> tuple[Outline, float]:
    """Return a loop as an outline of the plane, by chords if need be, and its error."""
    M, v = loop.matrix, np.asarray(loop.outline.vertices)
    size, turn = float(np.linalg.norm(M, 2)), np.sign(np.linalg.det(M))
    even = np.linalg.norm(M.T @ M - size**2 * np.eye(2)) <= ALIKE * size**2
    if not even and np.any(v[:, 2]):
        points = Profile(loop.outline).polyline(SAGITTA / size)
        v, error = np.column_stack([points, np.zeros(len(points))]), loop.error + SAGITTA
    else:
        error = loop.error
    return Outline(np.column_stack([v[:, :2] @ M.T + loop.shift, v[:, 2] * turn])), error

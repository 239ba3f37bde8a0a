"""Sections of solids joined, cut and met."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from geometry.chords import SAGITTA
from geometry.merge import merged
from geometry.outline import Outline
from geometry.profile import Profile
from geometry.section import Loop
from shared.arrays import Array, Mask, frozen

ALIKE = 1e-12
"""A map that stretches by no more than this part unevenly keeps arcs."""


def overlapping_section(
    plus: Sequence[Sequence[Loop]], minus: Sequence[Sequence[Loop]]
) -> tuple[Loop, ...]:
    """Return the section of solids joined and others cut from them, from the loops of each.

    Exact where no arc is stretched unevenly. Raises ArithmeticError where it can't be followed.
    """
    drawn = [[_in_plane(loop) for loop in loops] for loops in (*plus, *minus)]
    every = [one for solid in drawn for one in solid]
    if not every:
        return ()

    def within(points: Array) -> Mask:
        told = np.zeros((len(drawn), len(points)), dtype=bool)
        for i, solid in enumerate(drawn):
            for outline, _ in solid:
                told[i] ^= outline.contains(points)
        return np.asarray(told[: len(plus)].any(axis=0) & ~told[len(plus) :].any(axis=0))

    area = merged([outline for outline, _ in every], within)
    if area is None:
        raise ArithmeticError("a section's edges run too close to each other")
    error = max(error for _, error in every)
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

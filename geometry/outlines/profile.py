"""Profiles: the outline of a turned solid, placed in the half-plane of r and z."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.outlines.edges import Complex, Edges, coordinates
from geometry.outlines.outline import Outline
from shared.arrays import Array, Mask, frozen


@dataclass(frozen=True, eq=False)
class Piece:
    """One surface edge of a profile: a curve over t from 0 to 1."""

    edge: Edges
    profile: Profile

    def points(self, t: Array) -> Array:
        """Return the points (k, 2), as r and z, at `t` (k,)."""
        return self.profile.stretched(self.edge.points(t))


@dataclass(frozen=True, eq=False)
class Profile:
    """The outline of a turned solid in the half-plane of r and z, stretched, then shifted along z.

    A point (x, y) of the outline lies at r = stretch[0]·x, z = stretch[1]·y + shift. The first
    factor is positive; a negative second one turns the solid upside down.
    """

    outline: Outline
    stretch: tuple[float, float] = (1.0, 1.0)
    shift: float = 0.0

    def placed(self, radial: float, axial: float, shift: float) -> Profile:
        """Return this profile after r → radial·r, z → axial·z + shift: coaxial placement."""
        sr, sz = self.stretch
        return Profile(self.outline, (radial * sr, axial * sz), axial * self.shift + shift)

    def surface_edges(self) -> tuple[Piece, ...]:
        """Return the edges that are surface of the solid, without those on the axis."""
        edges = self.outline.edges
        return tuple(Piece(edges[[i]], self) for i in np.flatnonzero(self.outline.turned_edges))

    def stretched(self, p: Complex) -> Array:
        """Return the positions (k, 2), as r and z, of points `p` (k,) of the outline."""
        return coordinates(p) * frozen(self.stretch) + frozen([0, self.shift])

    def _drawn(self, points: Array) -> Array:
        """Return the positions of `points` (k, 2), as r and z, in the outline's own plane."""
        r, z = points.T
        return np.stack([np.abs(r) / self.stretch[0], (z - self.shift) / self.stretch[1]], axis=1)

    def contains(self, points: Array) -> Mask:
        """Return which of `points` (k, 2), r (of either sign) and z, are in the solid; exact."""
        return self.outline.contains(self._drawn(points))

    def clearance(self, points: Array) -> Array:
        """Return the distance (k,) of `points` (k, 2) from the surface, or less if stretched."""
        distance = self.outline.distance(self._drawn(points), self.outline.turned_edges)
        return min(self.stretch[0], abs(self.stretch[1])) * distance

    def support_points(self, directions: Array) -> Array:
        """Return the points (k, 2) farthest along `directions` (k, 2); r has the sign of theirs."""
        stretch: Array = np.array(self.stretch)
        seen = directions * stretch
        seen[:, 0] = np.abs(seen[:, 0])
        reached: Array = self.outline.support_points(seen) * stretch
        reached[:, 1] += self.shift
        reached[:, 0] = np.copysign(reached[:, 0], directions[:, 0])
        return reached

    def normals(self) -> Array:
        """Return the outward unit normals (k, 2), as r and z, of the straight surface edges."""
        n = self.outline.normals / np.array(self.stretch)
        return np.asarray(n / np.linalg.norm(n, axis=1, keepdims=True))

    @property
    def convex(self) -> bool:
        """Whether the turned solid is convex.

        Then the surface leaves the axis outward, only turns left, and returns to the axis within
        half a turn. A solid with a bore is not convex.
        """
        surface = self.outline.turned_edges
        if np.all(surface):
            return False
        order = np.roll(np.arange(len(surface)), -int(np.argmin(surface)))
        e = self.outline.edges[order[surface[order]]]
        ends = np.stack([e.tangents(np.array(0.0)), e.tangents(np.array(1.0))], axis=1)
        headings = (np.angle(ends.ravel()) + 1e-9) % (2 * np.pi)
        turns_left = bool(np.all(np.diff(headings) >= -1e-9))
        return turns_left and bool(headings[-1] <= np.pi + 2e-9)

    def polyline(self, sagitta: float) -> Array:
        """Return points (k, 2) round the outline, with chords within `sagitta` (cm) of it."""
        e = self.outline.edges
        radius = e.length / np.where(e.angle == 0, np.inf, np.abs(e.angle))
        reach = radius * max(abs(s) for s in self.stretch)
        step = 2 * np.arccos(np.clip(1 - sagitta / np.maximum(reach, sagitta), -1, 1))
        counts = np.where(e.angle == 0, 1, np.ceil(np.abs(e.angle) / step)).astype(int)
        t = [np.arange(count) / count for count in counts]
        return self.stretched(np.concatenate([e[i].points(t[i]) for i in range(len(e))]))

"""Profiles: the outline of a turned solid, where it lies in the half-plane of r and z."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.edges import Edges, coordinates
from geometry.moments import Moments
from geometry.outline import Outline
from shared.arrays import Array, Mask, frozen


@dataclass(frozen=True, eq=False)
class Piece:
    """One surface edge of a profile: a curve over t from 0 to 1.

    `speed` is a Lipschitz bound: no point moves faster, in cm per unit of t. A straight piece moves
    at just that speed.
    """

    edge: Edges
    stretch: tuple[float, float]
    shift: float

    @property
    def straight(self) -> bool:
        """Whether the piece is a straight line."""
        return bool(self.edge.angle[0] == 0)

    @property
    def speed(self) -> float:
        """The bound on |d point / dt|, cm."""
        if self.straight:
            ends = self.points(np.array([0.0, 1.0]))
            return float(np.linalg.norm(ends[1] - ends[0]))
        return float(self.edge.length[0]) * max(abs(s) for s in self.stretch)

    def points(self, t: Array) -> Array:
        """Return the points (k, 2), as r and z, at `t` (k,)."""
        return coordinates(self.edge.points(t)) * frozen(self.stretch) + frozen([0, self.shift])


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

    def turned(self) -> Moments:
        """Return the moments of the solid about the origin of r and z."""
        if self.stretch == (1.0, 1.0) and self.shift == 0.0:
            return self.outline.turned()
        T = np.diag([self.stretch[0], self.stretch[0], self.stretch[1], 1.0])
        T[2, 3] = self.shift
        return self.outline.turned().moved(T)

    def surface_edges(self) -> tuple[Piece, ...]:
        """Return the edges that are surface of the solid; those along the axis are left out."""
        edges = self.outline.edges
        return tuple(
            Piece(edges[[i]], self.stretch, self.shift)
            for i in np.flatnonzero(self.outline.turned_edges)
        )

    def contains(self, points: Array) -> Mask:
        """Say which of `points` (k, 2), as r and z, lie in the solid; r of either sign; exact."""
        sr, sz = self.stretch
        inward = np.stack([np.abs(points[:, 0]) / sr, (points[:, 1] - self.shift) / sz], axis=1)
        return self.outline.contains(inward)

    def clearance(self, points: Array) -> Array:
        """Return how far `points` (k, 2), as r and z, are from the surface (k,), or less.

        Less where the outline is stretched unevenly.
        """
        sr, sz = self.stretch
        inward = np.stack([np.abs(points[:, 0]) / sr, (points[:, 1] - self.shift) / sz], axis=1)
        return min(sr, abs(sz)) * self.outline.distance(inward, self.outline.turned_edges)

    def support_points(self, directions: Array) -> Array:
        """Return the points (k, 2) farthest along `directions` (k, 2), as r and z.

        Of the section through the axis, so of the outline and its mirror image: r takes the sign
        of the direction's r.
        """
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
        unit: Array = n / np.linalg.norm(n, axis=1, keepdims=True)
        return unit

    @property
    def convex(self) -> bool:
        """Whether the turned solid is convex.

        It is when the surface leaves the axis outward, only ever turns left, and comes back to the
        axis before it has turned by more than half a turn. A solid with a bore isn't.
        """
        e, surface = self.outline.edges, self.outline.turned_edges
        if np.all(surface):
            return False
        first = int(np.flatnonzero(~surface)[0])
        e, surface = e[np.roll(np.arange(len(surface)), -first)], np.roll(surface, -first)
        ends = np.stack([e.tangents(np.array(0.0)), e.tangents(np.array(1.0))], axis=1)[surface]
        headings = (np.angle(ends.ravel()) + 1e-9) % (2 * np.pi)
        turns_left = bool(np.all(np.diff(headings) >= -1e-9))
        return turns_left and bool(headings[-1] <= np.pi + 2e-9)

    def polyline(self, sagitta: float) -> Array:
        """Return points (k, 2) round the closed outline; chords stay within `sagitta` (cm) of it.

        The first point isn't repeated at the end.
        """
        e = self.outline.edges
        radius = e.length / np.where(e.angle == 0, np.inf, np.abs(e.angle))
        reach = radius * max(abs(s) for s in self.stretch)
        step = 2 * np.arccos(np.clip(1 - sagitta / np.maximum(reach, sagitta), -1, 1))
        counts = np.where(e.angle == 0, 1, np.ceil(np.abs(e.angle) / step)).astype(int)
        p = np.concatenate(
            [e[i].points(np.arange(count) / count) for i, count in enumerate(counts)]
        )
        return coordinates(p) * frozen(self.stretch) + frozen([0, self.shift])

"""Closed outlines of lines and arcs, and the profile that a turned solid has in its half-plane.

Edges are computed with as they are: an arc is never replaced by chords, except to be drawn.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.edges import Complex, Edges, Mask
from geometry.moments import Moments
from shared.arrays import Array, frozen

ON_AXIS = 1e-12
"""An edge lies on the axis when its r is below this part of the outline's size: rounding only."""


@dataclass(frozen=True, eq=False)
class Outline:
    """A closed outline of lines and arcs, counter-clockwise.

    `vertices` (n, 3) are x, y and the bulge of the edge that leaves the vertex: the tangent of a
    quarter of its angle, positive counter-clockwise, as in DXF polylines. The last edge leads back
    to the first vertex. A vertex that repeats the one after it is dropped, and an outline that
    comes clockwise is turned round. Nothing else is mended: `faults` says what is wrong with one.
    Raises ValueError for fewer than two vertices.
    """

    vertices: Array

    def __post_init__(self) -> None:
        given = np.asarray(self.vertices, dtype=np.float64).reshape(-1, 3)
        given = given[np.any(given[:, :2] != np.roll(given[:, :2], -1, axis=0), axis=1)]
        if len(given) < 2:
            raise ValueError("an outline has at least two vertices")
        if np.sum(Edges.closed(given).quadrature()[1]) < 0:
            backward = np.roll(given[::-1], 1, axis=0)
            backward[:, 2] = -given[::-1, 2]
            given = backward
        object.__setattr__(self, "vertices", frozen(given))

    @cached_property
    def edges(self) -> Edges:
        """The edges, in order."""
        return Edges.closed(self.vertices)

    @cached_property
    def normals(self) -> Array:
        """Normals (k, 2), outward, of the straight edges that are surface of the turned solid."""
        lines = self.edges[self.turned_edges & (self.edges.angle == 0)]
        return frozen(_pairs(-1j * lines.chord))

    @cached_property
    def _arcs(self) -> Edges:
        return self.edges[self.edges.angle != 0]

    @cached_property
    def turned_edges(self) -> Mask:
        """Which edges are surface when turned, (n,) bool: all but straight ones on r = 0."""
        e, near = self.edges, ON_AXIS * self.size
        on_axis = (e.angle == 0) & (np.abs(e.start.real) <= near) & (np.abs(e.end.real) <= near)
        surface: Mask = ~on_axis
        return surface

    @property
    def size(self) -> float:
        """The larger side of the box around the vertices, cm."""
        return float(np.max(np.ptp(self.vertices[:, :2], axis=0)))

    def area_moments(self) -> Array:
        """Return ∫ [x y 1]ᵀ [x y 1] dA, (3, 3): area, first and second moments about (0, 0)."""
        nodes, weights = self.edges.quadrature()
        rows = np.stack([nodes.real, nodes.imag, np.ones_like(weights)])
        return frozen((rows * weights) @ rows.T)

    def turned(self) -> Moments:
        """Return the moments of the solid that (x, y) = (r, z) sweeps when turned about z.

        By Pappus' theorem dV = 2πr dA, and ∫ x² dV = ½ ∫ r² dV.
        """
        nodes, weights = self.edges.quadrature()
        r, z = nodes.real, nodes.imag
        dV = 2 * np.pi * r * weights
        round_, along, first = (float(one @ dV) for one in (r * r, z * z, z))
        J = np.diag([round_ / 2, round_ / 2, along, dV.sum()])
        J[2, 3] = J[3, 2] = first
        return Moments(J)

    def contains(self, points: Array) -> Mask:
        """Say which of `points` (k, 2) lie inside, (k,) bool; arcs count exactly.

        A point on an edge belongs to what lies toward +x of it, else toward +y, so that neighbours
        share no point.
        """
        # Even-odd rule on the chords, then each arc adds or takes the segment between it and its
        # chord: the points on its side that see the chord turn by less than half its angle.
        # Both ask the same cross product on which side of the chord a point is.
        e, p = self.edges, (points[:, 0] + 1j * points[:, 1])[:, None]
        a, b = p - e.start, e.end - p
        left = (np.conj(e.chord) * a).imag
        above_start, above_end = a.imag < 0, b.imag > 0
        rising = (e.chord.imag > 0) | ((e.chord.imag == 0) & (e.chord.real < 0))
        crosses = (above_start != above_end) & np.where(rising, left > 0, left < 0)
        turn = np.abs(np.arctan2(-left, (np.conj(a) * b).real))
        right = np.where(rising, left <= 0, left < 0)
        segment = (right == (e.angle > 0)) & (turn < np.abs(e.angle) / 2)
        inside: Mask = np.logical_xor.reduce(crosses ^ segment, axis=1)
        return inside

    def distance(self, points: Array, which: Mask | slice = slice(None)) -> Array:
        """Return how far `points` (k, 2) are from the nearest edge of `which`, (k,); exact."""
        e, p = self.edges[which], (points[:, 0] + 1j * points[:, 1])[:, None]
        return np.asarray(np.min(np.abs(e.points(e.nearest(p)) - p), axis=1))

    def support_points(self, directions: Array) -> Array:
        """Return the points (k, 2) that reach farthest along `directions` (k, 2), arcs exact."""
        heights = directions @ self.vertices[:, :2].T
        rows = np.arange(len(directions))
        best = np.argmax(heights, axis=1)
        points = self.vertices[best, :2]
        if len(self._arcs.start):
            d = directions[:, :1] + 1j * directions[:, 1:]
            reached = self._arcs.points(self._arcs.farthest(d))
            above = (np.conj(d) * reached).real
            top = np.argmax(above, axis=1)
            farther = above[rows, top] > heights[rows, best]
            points[farther] = _pairs(reached[rows, top][farther])
        return points


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
        return _pairs(self.edge.points(t)) * frozen(self.stretch) + frozen([0, self.shift])


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
        return _pairs(p) * frozen(self.stretch) + frozen([0, self.shift])


def _pairs(points: Complex) -> Array:
    """Return complex points (k,) as coordinates (k, 2)."""
    return np.stack([points.real, points.imag], axis=1)

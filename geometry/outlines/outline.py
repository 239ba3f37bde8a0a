"""Closed outlines of lines and arcs: what they enclose, flat or turned about an axis.

Arcs are exact: they are replaced by chords only to be drawn.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.moments import Moments
from geometry.outlines.edges import Complex, Edges, coordinates
from shared.arrays import Array, Mask, frozen

ON_AXIS = 1e-12
"""Of the outline's size: an edge with a smaller r lies on the axis. Allows for rounding only."""


@dataclass(frozen=True, eq=False)
class Outline:
    """A closed outline of lines and arcs, counter-clockwise.

    `vertices` (n, 3) are x, y and the bulge of the edge that leaves the vertex: the tangent of a
    quarter of its angle, positive counter-clockwise, as in DXF polylines. A vertex that repeats the
    next one is dropped, and a clockwise outline is reversed; nothing else is repaired, see
    `faults`. Raises ValueError for fewer than two vertices.
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
        """Outward normals (k, 2) of the straight edges that are surface of the turned solid."""
        lines = self.edges[self.turned_edges & (self.edges.angle == 0)]
        return frozen(coordinates(-1j * lines.chord))

    @cached_property
    def _arcs(self) -> Edges:
        return self.edges[self.edges.angle != 0]

    @cached_property
    def turned_edges(self) -> Mask:
        """Which edges (n,) are surface when turned: all but straight ones on r = 0."""
        e, near = self.edges, ON_AXIS * self.size
        on_axis = (e.angle == 0) & (np.abs(e.start.real) <= near) & (np.abs(e.end.real) <= near)
        return np.asarray(~on_axis)

    @property
    def size(self) -> float:
        """The larger side of the box around the vertices, cm."""
        return float(np.max(np.ptp(self.vertices[:, :2], axis=0)))

    def area_moments(self) -> Array:
        """Return ∫ [x y 1]ᵀ [x y 1] dA, (3, 3): area, first and second moments about (0, 0)."""
        return area_moments(*self.edges.quadrature())

    def turned(self) -> Moments:
        """Return the moments of the solid that (x, y) = (r, z) sweeps when turned about z."""
        return Moments(turned_moments(*self.edges.quadrature()))

    def contains(self, points: Array) -> Mask:
        """Return which of `points` (k, 2) are inside, (k,), with exact arcs.

        A point on an edge belongs to the area toward +x, else +y, so neighbours share no points.
        """
        # Even-odd rule on the chords, then each arc adds or removes the segment between it and its
        # chord: points on its side from which the chord turns by less than half its angle.
        e, p = self.edges, (points[:, 0] + 1j * points[:, 1])[:, None]
        a, b = p - e.start, e.end - p
        left = (np.conj(e.chord) * a).imag
        above_start, above_end = a.imag < 0, b.imag > 0
        rising = (e.chord.imag > 0) | ((e.chord.imag == 0) & (e.chord.real < 0))
        crosses = (above_start != above_end) & np.where(rising, left > 0, left < 0)
        turn = np.abs(np.arctan2(-left, (np.conj(a) * b).real))
        right = np.where(rising, left <= 0, left < 0)
        segment = (right == (e.angle > 0)) & (turn < np.abs(e.angle) / 2)
        return np.asarray(np.logical_xor.reduce(crosses ^ segment, axis=1))

    def distance(self, points: Array, which: Mask | slice = slice(None)) -> Array:
        """Return the distance (k,) of `points` (k, 2) from the nearest edge of `which`; exact."""
        e, p = self.edges[which], (points[:, 0] + 1j * points[:, 1])[:, None]
        return np.asarray(np.min(np.abs(e.points(e.nearest(p)) - p), axis=1))

    def support_points(self, directions: Array) -> Array:
        """Return the points (k, 2) farthest along `directions` (k, 2), with exact arcs."""
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
            points[farther] = coordinates(reached[rows, top][farther])
        return points


def area_moments(nodes: Complex, dA: Array) -> Array:
    """Return ∫ [x y 1]ᵀ [x y 1] dA, (3, 3), from `nodes` (k,), x + iy, and their weights (k,)."""
    rows = np.stack([nodes.real, nodes.imag, np.ones_like(dA)])
    return np.asarray((rows * dA) @ rows.T)


def raised_moments(area: Array, height: float) -> Array:
    """Return ∫ [x y z 1]ᵀ [x y z 1] dV, (4, 4), of a bar of `height`, its cross section midway.

    dV = h dA, and a straight line of length h has ∫ z² dz = h³/12.
    """
    J = np.zeros((4, 4))
    J[np.ix_([0, 1, 3], [0, 1, 3])] = height * area
    J[2, 2] = area[2, 2] * height**3 / 12
    return J


def turned_moments(nodes: Complex, dA: Array) -> Array:
    """Return ∫ [x y z 1]ᵀ [x y z 1] dV, (4, 4), of what `nodes` (k,), r + iz, sweep about z.

    By Pappus' theorem dV = 2πr dA, and ∫ x² dV = ½ ∫ r² dV.
    """
    r, z = nodes.real, nodes.imag
    dV = 2 * np.pi * r * dA
    across = r * r @ dV / 2
    J = np.diag([across, across, z * z @ dV, dV.sum()])
    J[2, 3] = J[3, 2] = z @ dV
    return J

"""The motion of a surface as one dimension grows, and its effect on the body's moments.

A dimension is a velocity: as it grows, the surface point x moves by V(x) per cm. Moments change by
what the surface sweeps, ∮ [x 1]ᵀ [x 1] (V·n) dS; a wall changes with its two ends.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

import numpy as np

from geometry.moments import Moments
from geometry.outlines.edges import Complex, Edges
from geometry.outlines.outline import area_moments, raised_moments, turned_moments
from shared.arrays import Array, frozen

Path: TypeAlias = tuple[str | int, ...]
"""The position of a length in its model, keys and indices from 0: ("size", 2)."""

Dimension: TypeAlias = tuple[str, Path]
"""One length: the part's name, and its path in the part."""


@dataclass(frozen=True, eq=False)
class Velocity:
    """A velocity per cm of a dimension.

    `at` gives the velocities of surface points (k, 3); moments change at the rate `gained()`
    (4, 4).
    """

    at: Callable[[Array], Array]
    gained: Callable[[], Array]

    @cached_property
    def rate(self) -> Array:
        """The derivative (4, 4) of the body's moments."""
        return frozen(self.gained())

    def moved(self, T: Array) -> Velocity:
        """Return the velocity of the body after the affine map `T` (4, 4)."""
        A = T[:3, :3]
        return Velocity(
            lambda points: self.at((points - T[:3, 3]) @ np.linalg.inv(A).T) @ A.T,
            lambda: Moments(self.rate).moved(T).J,
        )


def affine(G: Array, J: Array) -> Velocity:
    """Return the velocity (G [x 1]ᵀ)[:3] of a body of moments `J`; the last row of G is 0.

    With T = E + εG, the derivative of |det A| · T J Tᵀ is tr(G[:3, :3])·J + G J + J Gᵀ.
    """
    A, moved = G[:3, :3], G @ J
    return Velocity(lambda x: x @ A.T + G[:3, 3], lambda: np.trace(A) * J + moved + moved.T)


@dataclass(frozen=True, eq=False)
class Redrawn:
    """The velocity of an outline as its vertices move, in its own plane.

    `vertices` (n, 3) are x, y and bulge, as in `Outline`, in either direction and possibly
    repeated. `rates` (n, 3) are their derivatives.
    """

    vertices: Array
    rates: Array

    @cached_property
    def _edges(self) -> tuple[Edges, Edges]:
        edges = Edges.closed(self.vertices)
        return edges, edges.rates(self.vertices, self.rates)

    def along(self, p: Complex) -> Complex:
        """Return the velocity (k,) of the outline's points nearest to `p` (k,)."""
        edges, rates = self._edges
        drawn = edges.chord != 0
        edges, rates = edges[drawn], rates[drawn]
        t = edges.nearest(p[:, None])
        nearest = np.argmin(np.abs(edges.points(t) - p[:, None]), axis=1)
        return np.asarray(edges.velocities(t, rates)[np.arange(len(p)), nearest])

    def swept(self) -> tuple[Complex, Array]:
        """Return nodes and weights (k,) over the area that the outline gains: n dl = −i dp."""
        edges, rates = self._edges
        t, weights = edges.nodes()
        dA = weights * (np.conj(edges.velocities(t, rates)) * edges.tangents(t)).imag
        way = np.sign(np.sum(edges.quadrature()[1]))
        return edges.points(t).ravel(), (way * dA).ravel()


def turning(vertices: Array, rates: Array) -> Velocity:
    """Return the velocity of a body turned about z as its outline, in r and z, changes.

    A point moves as the nearest point of the outline does.
    """
    drawn = Redrawn(vertices, rates)

    def at(points: Array) -> Array:
        r = np.hypot(points[:, 0], points[:, 1])
        v = drawn.along(r + 1j * points[:, 2])
        outward = points[:, :2] / np.where(r > 0, r, 1.0)[:, None]
        outward[r == 0] = [1.0, 0.0]  # on the axis any azimuth will do
        return np.column_stack([v.real[:, None] * outward, v.imag])

    return Velocity(at, lambda: turned_moments(*drawn.swept()))


def extruding(vertices: Array, rates: Array, height: float) -> Velocity:
    """Return the velocity of a bar along z of `height` about its middle, as its outline changes.

    A point moves as the nearest point of the outline does, at constant z.
    """
    drawn = Redrawn(vertices, rates)

    def at(points: Array) -> Array:
        v = drawn.along(points[:, 0] + 1j * points[:, 1])
        return np.column_stack([v.real, v.imag, np.zeros(len(v))])

    return Velocity(at, lambda: raised_moments(area_moments(*drawn.swept()), height))

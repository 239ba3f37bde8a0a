"""How a surface moves while one dimension grows, and what that does to the body's moments.

A dimension is a velocity: where it grows by one unit, the surface point x moves by V(x), per cm.
Moments change by what the surface sweeps, ∮ [x 1]ᵀ [x 1] (V·n) dS; a wall by what its two ends do.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Protocol, TypeAlias

import numpy as np

from geometry.edges import Complex, Edges
from shared.arrays import Array, frozen

Path: TypeAlias = tuple[str | int, ...]
"""Where a length stands in its model, keys and numbers from 0: ("size", 2)."""

Dimension: TypeAlias = tuple[str, Path]
"""One length of the scene: the part's name, and where it stands in it."""


class Velocity(Protocol):
    """A velocity of a body's surface."""

    def at(self, points: Array) -> Array:
        """Return how fast surface points (k, 3) move, (k, 3), for each cm of the dimension."""

    @property
    def rate(self) -> Array:
        """The derivative (4, 4) of the body's moments."""


@dataclass(frozen=True, eq=False)
class Affine:
    """The velocity (G [x 1]ᵀ)[:3] everywhere in a body of moments `J`; the last row of G is 0.

    T = E + εG in |det A| · T J Tᵀ makes the derivative tr(G[:3, :3])·J + G J + J Gᵀ.
    """

    G: Array
    J: Array

    def at(self, points: Array) -> Array:
        """Return how fast surface points (k, 3) move, (k, 3)."""
        return points @ self.G[:3, :3].T + self.G[:3, 3]

    @property
    def rate(self) -> Array:
        """The derivative (4, 4) of the moments."""
        moved = self.G @ self.J
        return frozen(np.trace(self.G[:3, :3]) * self.J + moved + moved.T)


@dataclass(frozen=True, eq=False)
class Redrawn:
    """The velocity of an outline that is redrawn, in its own plane.

    `vertices` (n, 3) are x, y and bulge, either way round, as `Outline` has them; repeated ones are
    fine. `rates` (n, 3) are their derivatives.
    """

    vertices: Array
    rates: Array

    @cached_property
    def _edges(self) -> tuple[Edges, Edges]:
        edges = Edges.closed(self.vertices)
        return edges, edges.rates(self.vertices, self.rates)

    def along(self, p: Complex) -> Complex:
        """Return how fast the places of the outline nearest to `p` (k,) move, (k,)."""
        edges, rates = self._edges
        drawn = edges.chord != 0
        edges, rates = edges[drawn], rates[drawn]
        t = edges.nearest(p[:, None])
        nearest = np.argmin(np.abs(edges.points(t) - p[:, None]), axis=1)
        v: Complex = edges.velocities(t, rates)[np.arange(len(p)), nearest]
        return v

    def swept(self) -> tuple[Complex, Array]:
        """Return nodes (k,) and weights (k,) that integrate over what the outline gains, exactly.

        Along an edge n dl = −i dp.
        """
        edges, rates = self._edges
        t, weights = edges.nodes()
        dA = weights * (np.conj(edges.velocities(t, rates)) * edges.tangents(t)).imag
        way = np.sign(np.sum(edges.quadrature()[1]))
        return edges.points(t).ravel(), (way * dA).ravel()


class Turning(Redrawn):
    """The velocity of a body turned about z while its outline, in r and z, is redrawn."""

    def at(self, points: Array) -> Array:
        """Return how fast surface points (k, 3) move, (k, 3): as their place on the outline does.

        For a point off the outline that is the place nearest to it.
        """
        r = np.hypot(points[:, 0], points[:, 1])
        v = self.along(r + 1j * points[:, 2])
        outward = points[:, :2] / np.where(r > 0, r, 1.0)[:, None]
        outward[r == 0] = [1.0, 0.0]  # on the axis any azimuth is as good
        return np.column_stack([v.real[:, None] * outward, v.imag])

    @property
    def rate(self) -> Array:
        """The derivative (4, 4) of the moments: a line integral round the outline, exact.

        A point at r stands for a circle of 2πr, on which the mean of x² is ½r².
        """
        p, dA = self.swept()
        r, z = p.real, p.imag
        dV = 2 * np.pi * r * dA
        across, first = np.sum(dV * r**2) / 2, np.sum(dV * z)
        J = np.diag([across, across, np.sum(dV * z**2), np.sum(dV)])
        J[2, 3] = J[3, 2] = first
        return frozen(J)


@dataclass(frozen=True, eq=False)
class Extruding(Redrawn):
    """The velocity of a bar along z, `height` about its middle, while its outline is redrawn."""

    height: float

    def at(self, points: Array) -> Array:
        """Return how fast surface points (k, 3) move, (k, 3): as their place on the outline does.

        On a flat end, within the outline, no more of it matters than that it stays in the plane.
        """
        v = self.along(points[:, 0] + 1j * points[:, 1])
        return np.column_stack([v.real, v.imag, np.zeros(len(v))])

    @property
    def rate(self) -> Array:
        """The derivative (4, 4) of the moments: a line integral round the outline, exact.

        A point stands for a line of length h, on which the mean of z² is h²/12.
        """
        p, dA = self.swept()
        z = np.full(len(p), self.height / np.sqrt(12))
        rows = np.stack([p.real, p.imag, z, np.ones(len(p))])
        J = (rows * (self.height * dA)) @ rows.T
        J[2, [0, 1, 3]] = J[[0, 1, 3], 2] = 0.0
        return frozen(J)


@dataclass(frozen=True, eq=False)
class Moved:
    """A velocity in the axes that the affine map `T` (4, 4) takes the body to."""

    velocity: Velocity
    T: Array

    def at(self, points: Array) -> Array:
        """Return how fast surface points (k, 3) move, (k, 3)."""
        A = self.T[:3, :3]
        local = (points - self.T[:3, 3]) @ np.linalg.inv(A).T
        return self.velocity.at(local) @ A.T

    @property
    def rate(self) -> Array:
        """The derivative (4, 4) of the moments: they move as moments do."""
        return frozen(abs(np.linalg.det(self.T[:3, :3])) * (self.T @ self.velocity.rate @ self.T.T))

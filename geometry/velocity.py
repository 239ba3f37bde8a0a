"""How a surface moves while one dimension grows, and what that does to the body's moments.

A dimension is a velocity: where it grows by one unit, the surface point x moves by V(x), per cm.
Moments change by what the surface sweeps, ∮ [x 1]ᵀ [x 1] (V·n) dS; a wall by what its two ends do.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Protocol, TypeAlias

import numpy as np

from geometry.edges import Edges
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
    """The velocity of a body turned about z whose outline is redrawn.

    `vertices` (n, 3) are r, z and bulge of its outline, either way round, as `Outline` has them;
    repeated ones are fine. `rates` (n, 3) are their derivatives.
    """

    vertices: Array
    rates: Array

    @cached_property
    def _edges(self) -> tuple[Edges, Edges]:
        edges = Edges.closed(self.vertices)
        return edges, edges.rates(self.vertices, self.rates)

    def at(self, points: Array) -> Array:
        """Return how fast surface points (k, 3) move, (k, 3): as their place on the outline does.

        For a point off the outline that is the place nearest to it.
        """
        edges, rates = self._edges
        drawn = edges.chord != 0
        edges, rates = edges[drawn], rates[drawn]
        r = np.hypot(points[:, 0], points[:, 1])
        p = (r + 1j * points[:, 2])[:, None]
        t = edges.nearest(p)
        nearest = np.argmin(np.abs(edges.points(t) - p), axis=1)
        v = edges.velocities(t, rates)[np.arange(len(points)), nearest]
        outward = points[:, :2] / np.where(r > 0, r, 1.0)[:, None]
        outward[r == 0] = [1.0, 0.0]  # on the axis any azimuth is as good
        return np.column_stack([v.real[:, None] * outward, v.imag])

    @property
    def rate(self) -> Array:
        """The derivative (4, 4) of the moments: a line integral round the outline, exact.

        Along an edge n dl = −i dp, and a point at r stands for a circle of 2πr, on which the mean
        of x² is ½r².
        """
        edges, rates = self._edges
        t, weights = edges.nodes()
        p, tangents = edges.points(t), edges.tangents(t)
        swept = weights * (np.conj(edges.velocities(t, rates)) * tangents).imag
        r, z = p.real, p.imag
        dV = 2 * np.pi * r * swept * np.sign(np.sum(edges.quadrature()[1]))
        across, first = np.sum(dV * r**2) / 2, np.sum(dV * z)
        J = np.diag([across, across, np.sum(dV * z**2), np.sum(dV)])
        J[2, 3] = J[3, 2] = first
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

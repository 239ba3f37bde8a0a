"""A solid whose surface is triangles, and what follows from them exactly."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from scipy.spatial import ConvexHull, cKDTree

from geometry.edges import Edges
from geometry.mesh.edges import Joins, joins, missed, unit
from geometry.mesh.within import Within
from geometry.moments import Moments
from geometry.surface import Surface
from shared.arrays import Array, Index, Mask, frozen

LEVEL: Final = 1e-6
"""Of the solid's size: what stands back or forth by less is rounding. STL holds seven digits."""
FLAT: Final = 0.01
"""Of the hull's area: a face that has as much of it counts as one of its flats."""


@dataclass(frozen=True, eq=False)
class Solid:
    """A solid by its surface: `vertices` (n, 3), cm, and `faces` (m, 3), outward seen.

    Closed, of one piece, turned outward, and not crossing itself: `geometry.mesh.sound` makes it so
    or refuses it. `name` is the file's, `notes` say what reading it changed. `modelled` are the
    moments of a CAD model that the triangles stand for, and `skin` (cm) how far they lie off it.
    """

    name: str
    vertices: Array
    faces: Index
    notes: tuple[str, ...] = ()
    modelled: Moments | None = None
    skin: float = 0.0

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Solid):
            return NotImplemented
        return self is other or (
            (self.name, self.notes) == (other.name, other.notes)
            and np.array_equal(self.vertices, other.vertices)
            and np.array_equal(self.faces, other.faces)
        )

    def __hash__(self) -> int:
        return hash((self.name, len(self.vertices), len(self.faces)))

    @property
    def corners(self) -> Array:
        """The corners (m, 3, 3) of each triangle."""
        return self.vertices[self.faces]

    @cached_property
    def size(self) -> float:
        """The longest side of the box around it, cm."""
        return float(np.ptp(self.vertices, axis=0).max())

    @cached_property
    def joins(self) -> Joins:
        """The edges, each with its two triangles."""
        return joins(self.vertices, self.faces)

    @cached_property
    def moments(self) -> Moments:
        """The exact moments of the solid between the triangles, or those of the model."""
        return self.modelled or polyhedron_moments(self.corners)

    @cached_property
    def missed(self) -> Moments:
        """What the moments miss, about, of a smooth surface that triangles may stand for."""
        return Moments.zero() if self.modelled else missed(self.corners, self.faces, self.joins)

    @cached_property
    def hull(self) -> ConvexHull:
        """The convex hull."""
        return ConvexHull(self.vertices)

    @cached_property
    def convex(self) -> bool:
        """Whether the solid is its convex hull, but for rounding."""
        if np.any(self.joins.rise > LEVEL * self.size):
            return False
        within = polyhedron_moments(self.corners).volume
        return bool(self.hull.volume - within <= LEVEL * self.hull.volume)

    @cached_property
    def flats(self) -> Array:
        """Unit normals (k, 3) of the hull's large flat faces."""
        p = self.hull.points[self.hull.simplices]
        areas = np.linalg.norm(np.cross(p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]), axis=1) / 2
        rounded = np.round(self.hull.equations[:, :3], 6) + 0.0
        normals, which = np.unique(rounded, axis=0, return_inverse=True)
        large = np.bincount(which.ravel(), areas) >= FLAT * self.hull.area
        return frozen(unit(normals[large]))

    @cached_property
    def _farthest(self) -> tuple[Array, cKDTree, float]:
        """The hull's vertices, so placed in four dimensions that the farthest is the nearest."""
        p = self.vertices[np.sort(self.hull.vertices)]
        local = p - (p.min(axis=0) + p.max(axis=0)) / 2
        square = np.sum(local**2, axis=1)
        R = float(square.max())
        tree = cKDTree(np.column_stack([local, np.sqrt(np.maximum(R - square, 0.0))]))
        return p, tree, float(np.sqrt(R))

    def support_points(self, directions: Array) -> Array:
        """Return the vertices (k, 3) farthest along unit `directions` (k, 3).

        |(n R, 0) − (v, √(R² − v²))|² = 2 R² − 2 R n·v, R the largest |v|: the nearest of these
        points is the vertex farthest along n, and a tree finds it.
        """
        p, tree, R = self._farthest
        _, nearest = tree.query(np.column_stack([R * directions, np.zeros(len(directions))]))
        return np.asarray(p[nearest])

    @cached_property
    def inside(self) -> Callable[[Array], Mask]:
        """The test of which points (n, 3) lie within the solid."""
        return Within(self.vertices, self.faces)

    def surface(self) -> Surface:
        """Return the surface: each triangle the fan of one straight edge."""
        a, b, c = self.corners.transpose(1, 0, 2)
        count = len(a)
        maps = np.zeros((count, 3, 4))
        maps[:, :, 0], maps[:, :, 2], maps[:, :, 3] = b - a, c - a, a
        none = np.zeros(count)
        edges = Edges(start=np.full(count, 1 + 0j), end=np.full(count, 1j), angle=none)
        return Surface(edges, none, none, none + 1.0, maps, self.inside)


def polyhedron_moments(corners: Array) -> Moments:
    """Return the moments of the solid between triangles (m, 3, 3) that close it.

    Each makes a tetrahedron with a point o, of signed volume v: seen from o, with s the sum of the
    corners a, b, c, ∫ x dV = v s / 4 and ∫ x xᵀ dV = v (s sᵀ + a aᵀ + b bᵀ + c cᵀ) / 20 (Tonon,
    J. Math. Stat. 1 (2005) 8). With o in the middle the tetrahedra are no larger than the solid.
    """
    o = (corners.min(axis=(0, 1)) + corners.max(axis=(0, 1))) / 2
    p = corners - o
    volume = np.einsum("ij,ij->i", p[:, 0], np.cross(p[:, 1], p[:, 2])) / 6
    s = p.sum(axis=1)
    arms = np.concatenate([s, p[:, 0], p[:, 1], p[:, 2]])
    second = (arms * np.tile(volume, 4)[:, None]).T @ arms / 20
    return Moments.of(float(volume.sum()), volume @ s / 4, second).about(-o)

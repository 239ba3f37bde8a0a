"""A solid whose surface is triangles, and its exact properties."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Final

import numpy as np

from geometry.mesh.edges import Joins, joins, missed, unit
from geometry.mesh.within import Within
from geometry.moments import Moments
from geometry.nearest import tree_of
from geometry.outlines.edges import Edges
from geometry.sections.section import ON_PLANE, Loop, plain_loop
from geometry.surfaces.surface import Surface
from shared.arrays import Array, Index, Mask, frozen
from shared.remembered import active, remembered

if TYPE_CHECKING:
    from scipy.spatial import ConvexHull, cKDTree

LEVEL: Final = 1e-6
"""Of the solid's size: smaller steps are rounding. STL has seven digits."""
FLAT: Final = 0.01
"""Of the hull's area: a face at least this large counts as flat."""

FEW: Final = 6
"""Directions: a tree, and the hull, aren't worth it."""


@dataclass(frozen=True, eq=False)
class Solid:
    """A solid by its surface: `vertices` (n, 3), cm, and `faces` (m, 3), facing outward.

    It is closed, in one piece, and doesn't cross itself: `geometry.mesh.sound` ensures this or
    refuses it. `name` is the file's, `notes` say what reading it changed. `modelled` are the
    moments of a CAD model that the triangles stand for, and `skin` (cm) their distance from it.
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
        """The exact moments of the solid within the triangles, or those of the model."""
        return self.modelled or polyhedron_moments(self.corners)

    @cached_property
    def missed(self) -> Moments:
        """An estimate of what triangles that stand for a smooth surface miss."""
        return Moments.zero() if self.modelled else _missed(self)

    @cached_property
    def hull(self) -> ConvexHull:
        """The convex hull."""
        from scipy.spatial import ConvexHull  # noqa: PLC0415 - heavy: a plain solve has no mesh

        return ConvexHull(self.vertices)

    @cached_property
    def convex(self) -> bool:
        """Whether the solid is its convex hull, up to rounding."""
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
        """The hull's vertices, embedded in four dimensions so that the farthest is the nearest."""
        p = self.vertices[np.sort(self.hull.vertices)]
        local = p - (p.min(axis=0) + p.max(axis=0)) / 2
        square = np.sum(local**2, axis=1)
        R = float(square.max())
        tree = tree_of(np.column_stack([local, np.sqrt(np.maximum(R - square, 0.0))]))
        return p, tree, float(np.sqrt(R))

    def support_points(self, directions: Array) -> Array:
        """Return the vertices (k, 3) farthest along unit `directions` (k, 3).

        |(n R, 0) − (v, √(R² − v²))|² = 2 R² − 2 R n·v, R the largest |v|: a tree finds the nearest
        of these points, which is the vertex farthest along n. Few directions need no tree.
        """
        if len(directions) <= FEW:
            return np.asarray(self.vertices[np.argmax(directions @ self.vertices.T, axis=1)])
        p, tree, R = self._farthest
        _, nearest = tree.query(np.column_stack([R * directions, np.zeros(len(directions))]))
        return np.asarray(p[nearest])

    @cached_property
    def inside(self) -> Callable[[Array], Mask]:
        """The test of which points (n, 3) are within the solid."""
        return Within(self.vertices, self.faces)

    def surface(self) -> Surface:
        """Return the surface, with each triangle as the fan of a straight edge."""
        a, b, c = self.corners.transpose(1, 0, 2)
        count = len(a)
        maps = np.zeros((count, 3, 4))
        maps[:, :, 0], maps[:, :, 2], maps[:, :, 3] = b - a, c - a, a
        none = np.zeros(count)
        edges = Edges(start=np.full(count, 1 + 0j), end=np.full(count, 1j), angle=none)
        return Surface(edges, none, none, none + 1.0, maps, self.inside)


@active()
@remembered(Moments)
def _missed(solid: Solid) -> Moments:
    return missed(solid.corners, solid.faces, solid.joins)


def polyhedron_moments(corners: Array) -> Moments:
    """Return the moments of the solid within a closed surface of triangles (m, 3, 3).

    Each forms a tetrahedron with a point o, of signed volume v: relative to o, with s the sum of
    the corners a, b, c, ∫ x dV = v s / 4 and ∫ x xᵀ dV = v (s sᵀ + a aᵀ + b bᵀ + c cᵀ) / 20 (Tonon,
    J. Math. Stat. 1 (2005) 8). With o in the middle, the tetrahedra are no larger than the solid.
    """
    o = (corners.min(axis=(0, 1)) + corners.max(axis=(0, 1))) / 2
    p = corners - o
    volume = np.einsum("ij,ij->i", p[:, 0], np.cross(p[:, 1], p[:, 2])) / 6
    s = p.sum(axis=1)
    arms = np.concatenate([s, p[:, 0], p[:, 1], p[:, 2]])
    second = (arms * np.tile(volume, 4)[:, None]).T @ arms / 20
    return Moments.of(float(volume.sum()), volume @ s / 4, second).about(-o)


def triangle_section(solid: Solid, T: Array) -> tuple[Loop, ...]:
    """Return the section by the plane y = 0 of a solid after the affine map `T` (4, 4).

    A vertex in the plane counts as above it, so each triangle is cut across two of its sides or not
    at all, and the cuts connect from triangle to triangle.
    """
    placed = solid.vertices @ T[:3, :3].T + T[:3, 3]
    y = np.where(np.abs(placed[:, 1]) <= ON_PLANE, 0.0, placed[:, 1])
    above = y >= 0
    ends = solid.joins.vertices
    cut = np.flatnonzero(above[ends[:, 0]] != above[ends[:, 1]])
    if len(cut) == 0:
        return ()
    i, j = ends[cut].T
    share = (y[i] / (y[i] - y[j]))[:, None]
    points = (placed[i] + share * (placed[j] - placed[i]))[:, [0, 2]]
    error = solid.skin * float(np.linalg.norm(T[:3, :3], 2))
    loops = []
    for run in _followed(solid.joins.faces[cut], above[i]):
        loop = points[run][np.linalg.norm(points[run] - points[np.roll(run, 1)], axis=1) > ON_PLANE]
        x, z = (loop - loop[:1]).T
        if len(loop) > 2 and abs(x @ np.roll(z, -1) - z @ np.roll(x, -1)) / 2 > ON_PLANE**2:
            loops.append(plain_loop(loop, error))
    return tuple(loops)


def _followed(faces: Index, first_above: Array) -> Iterator[Index]:
    """Yield the closed runs (n,) of cut edges, given the two triangles (k, 2) at each.

    A cut triangle, in its own direction, has one edge that goes down through the plane and one that
    goes up; between the two is a piece of the section.
    """
    out = np.where(first_above, faces[:, 0], faces[:, 1])  # which triangle goes down here
    into = np.where(first_above, faces[:, 1], faces[:, 0])
    leaves = np.argsort(into)
    after = leaves[np.searchsorted(into[leaves], out)]
    free = np.ones(len(faces), dtype=bool)
    for start in range(len(faces)):
        if not free[start]:
            continue
        run = [start]
        free[start] = False
        while free[after[run[-1]]]:
            run.append(int(after[run[-1]]))
            free[run[-1]] = False
        yield np.array(run)

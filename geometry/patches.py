"""The patches of some solids, and where each lies: on a plane, a quadric, or a torus.

There F(x, y, z) = 0, a polynomial of degree 1, 2 or 4.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final, Self

import numpy as np

from geometry.cells import Cells, View
from geometry.parts import Part
from geometry.rows import Rows
from geometry.surface import Surface
from shared.arrays import Array, Index, Mask

STRAIGHT: Final = 1e-9
"""An arc that turns by less is straight: its chord is a thousandth of a millionth of it off."""
AXIAL: Final = 1e-11
"""Of an arc's radius: a centre no farther than this from the axis is on it."""
SLACK: Final = 1e-9
"""Of a triangle: so far beyond its edges counts as on it."""


@dataclass(frozen=True, eq=False)
class Lines(Rows):
    """Lines along u: on which patch (n,), and at which v (n,)."""

    patch: Index
    v: Array


@dataclass(frozen=True, eq=False)
class Patches:
    """All patches of some solids: `owner` (k,) is the number of the solid that each is of."""

    surface: Surface
    owner: Index
    solids: Sequence[Part]

    @classmethod
    def of(cls, solids: Sequence[Part]) -> Self:
        """Return the patches of `solids`."""
        surfaces = [solid.surface for solid in solids]
        counts = [len(surface.sweep) for surface in surfaces]
        together = Surface.together(surfaces, surfaces[0].inside)
        return cls(together, np.repeat(np.arange(len(counts)), counts), solids)

    @cached_property
    def cells(self) -> View:
        """Every patch as one cell: a ball that holds it."""
        return self.surface.view(self.surface.cells(1, 1))

    @cached_property
    def balls(self) -> tuple[Array, Array]:
        """Middles (k, 3) and radii (k,) of balls that hold the patches: snug ones of triangles."""
        triangle, points, radius = self.triangle, self.cells.points.copy(), self.cells.radius
        sides = self._sides[triangle]
        corners = np.concatenate([0 * sides[:, :, :1], sides], axis=2)
        corners += self.surface.maps[triangle, :, 3:]
        points[triangle] = corners.mean(axis=2)
        radius[triangle] = np.linalg.norm(corners - points[triangle][:, :, None], axis=1).max(
            axis=1
        )
        return points, radius

    @cached_property
    def size(self) -> float:
        """How large all together are, cm."""
        return float(np.max(np.ptp(self.surface.view(self.surface.cells(2, 8)).points, axis=0)))

    @cached_property
    def straight(self) -> Mask:
        """Which patches have straight edges, (k,)."""
        return np.asarray(np.abs(self.surface.edges.angle) < STRAIGHT)

    @cached_property
    def flat(self) -> Mask:
        """Which patches are flat: fans, straight edges raised, and level ones turned."""
        s = self.surface
        level = np.abs(s.edges.chord.imag) <= 1e-12 * np.abs(s.edges.chord)
        return np.asarray((s.fan > 0) | (self.straight & ((s.rise != 0) | level)))

    @cached_property
    def degree(self) -> Index:
        """The degree of F, (k,)."""
        torus = ~self.flat & ~self.straight & (self.surface.sweep != 0)
        torus &= np.abs(self._centre.real) > AXIAL * np.abs(self._radius)
        return np.where(self.flat, 1, np.where(torus, 4, 2))

    @cached_property
    def _radius(self) -> Array:
        """Radii (k,) of the edges; 1 for straight ones."""
        e = self.surface.edges
        return np.asarray(np.where(self.straight, 1.0, e.length / np.abs(e.angle + self.straight)))

    @cached_property
    def _centre(self) -> Array:
        """Centres (k,), complex, of the edges; 0 for straight ones."""
        e = self.surface.edges
        half = np.where(self.straight, 1.0, e.angle / 2)
        middle = (e.start + e.end) / 2 + 0.5j * e.chord / np.tan(half)
        return np.asarray(np.where(self.straight, 0.0, middle))

    @cached_property
    def plain(self) -> Mask:
        """Which patches have a polynomial of degree 1 in u and v for a plane's crossing, (k,)."""
        return np.asarray(self.straight & (self.surface.sweep == 0))

    @cached_property
    def planes(self) -> Array:
        """The planes n·p = c of flat patches as n and c, (k, 4); 0 for others."""
        spans, p = self.cells.spans, self.cells.points
        n = np.cross(spans[:, 0], spans[:, 1])
        length = np.linalg.norm(n, axis=1, keepdims=True)
        n = n / np.where(length > 0, length, 1.0)
        found = np.column_stack([n, np.einsum("ki,ki->k", n, p)])
        return np.where(self.flat[:, None], found, 0.0)

    @cached_property
    def flat_names(self) -> Mask:
        """Which names are those of planes, (names,)."""
        found = np.zeros(int(self.name.max()) + 1, dtype=bool)
        found[self.name] = self.flat
        return found

    @cached_property
    def name(self) -> Index:
        """A number (k,) for each patch: the same for flat ones of a solid that lie in one plane."""
        plane = self.planes / [1.0, 1.0, 1.0, self.size]
        first = np.argmax(np.abs(plane[:, :3]) > 0.1, axis=1)
        plane = plane * np.sign(plane[np.arange(len(plane)), first])[:, None]
        own = np.where(self.flat, 0, 1 + np.arange(len(plane)))
        keys = np.column_stack([np.round(plane, 9) + 0.0, own, self.owner])
        return np.unique(keys, axis=0, return_inverse=True)[1].ravel()

    @cached_property
    def _local(self) -> Array:
        """From space to each patch's own axes (k, 3, 4), the line that it is turned about third."""
        s = self.surface
        T = np.tile(np.eye(4), (len(s.sweep), 1, 1))
        curved = ~self.flat
        T[curved, :3] = s.maps[curved]
        back = np.linalg.inv(T)[:, :3]
        raised = curved & (s.rise != 0)  # a cylinder along its second axis
        back[raised] = back[raised][:, [0, 2, 1]]
        back[raised, 0, 3] -= self._centre[raised].real
        back[raised, 1, 3] -= self._centre[raised].imag
        turned = curved & ~raised & ~self.straight
        back[turned, 2, 3] -= self._centre[turned].imag
        return np.asarray(back)

    @cached_property
    def _quadric(self) -> Array:
        """The numbers (k, 4) in F = a ρ² + b z² + c z + d, for a torus in (ρ² + z² + d)² − a ρ²."""
        s, e = self.surface, self.surface.edges
        R, r = self._centre.real, self._radius
        normal = 1j * e.chord / np.abs(e.chord)
        nr, nz = normal.real, normal.imag
        c = (np.conj(normal) * e.start).real
        one = np.ones(len(r))
        cone = np.stack([nr**2, -(nz**2), 2 * c * nz, -(c**2)], axis=1)
        ball = np.stack([one, one, 0 * one, -(r**2)], axis=1)
        pipe = np.stack([one, 0 * one, 0 * one, -(r**2)], axis=1)
        torus = np.stack([4 * R**2, 0 * one, 0 * one, R**2 - r**2], axis=1)
        straight, raised = self.straight[:, None], (s.rise != 0)[:, None]
        found = np.where(straight, cone, np.where(raised, pipe, ball))
        return np.where((self.degree == 4)[:, None], torus, found)

    @cached_property
    def scale(self) -> Array:
        """How large F (k,) is at the size from its patch."""
        e = self.surface.edges
        reach = np.maximum(np.abs(e.start), np.abs(e.end)) + self._radius * ~self.straight
        return np.where(self.flat, self.size, reach**self.degree)

    def at(self, lines: Lines, u: Array) -> tuple[Array, Array]:
        """Return points and ∂u × ∂v (n, 3) at `u` (n,) on lines (n,)."""
        middle = np.column_stack([u, lines.v])
        view = self.surface.view(Cells(lines.patch, middle, np.ones_like(middle)))
        return view.points, np.cross(view.spans[:, 0], view.spans[:, 1])

    def along(self, lines: Lines, u: Array) -> Array:
        """Return points (n, k, 3) of lines (n,) at `u` (k,) or (n, k)."""
        s = self.surface
        A = s.maps[lines.patch]
        sweep, rise, fan = (of[lines.patch] for of in (s.sweep, s.rise, s.fan))
        turn, size = sweep * lines.v, (1 - (1 - lines.v) * fan)[:, None]
        across = size * (A[:, :, 0] * np.cos(turn)[:, None] + A[:, :, 1] * np.sin(turn)[:, None])
        origin = A[:, :, 3] + A[:, :, 1] * (rise * lines.v)[:, None]
        u = np.broadcast_to(u, (len(lines), np.shape(u)[-1]))
        p = s.edges[lines.patch].points(u.T).T[:, :, None]
        upward = size * A[:, :, 2]
        return np.asarray(origin[:, None] + p.real * across[:, None] + p.imag * upward[:, None])

    def height(self, points: Array, patch: Index) -> Array:
        """Return how far `points` (n, 3) are above the plane of a flat patch each; 0 for others."""
        plane = self.planes[patch]
        return np.asarray(np.einsum("ni,ni->n", points, plane[:, :3]) - plane[:, 3])

    def value(self, points: Array, patch: Index) -> Array:
        """Return F of a patch each at `points` (n, 3)."""
        value = self.height(points, patch)
        bent = np.flatnonzero(~self.flat[patch])
        if not len(bent):
            return value
        T = self._local[patch[bent]]
        x, y, z = (np.einsum("nij,nj->ni", T[:, :, :3], points[bent]) + T[:, :, 3]).T
        a, b, c, d = self._quadric[patch[bent]].T
        q = x * x + y * y
        torus = self.degree[patch[bent]] == 4
        value[bent] = np.where(torus, (q + z * z + d) ** 2 - a * q, a * q + (b * z + c) * z + d)
        return value

    @cached_property
    def triangle(self) -> Mask:
        """Which patches are triangles, (k,)."""
        return np.asarray(self.straight & (self.surface.fan > 0))

    @cached_property
    def _sides(self) -> Array:
        """The ways (k, 3, 2) from each patch's origin to the ends of its edge."""
        ends = np.stack([self.surface.edges.start, self.surface.edges.end], axis=1)[:, None]
        across, along = self.surface.maps[:, :, [0]], self.surface.maps[:, :, [2]]
        return np.asarray(across * ends.real + along * ends.imag)

    @cached_property
    def _shares(self) -> Array:
        """From space to shares (2,) of both sides of each triangle, (k, 2, 4); 0 for others."""
        found = np.zeros((len(self.triangle), 2, 4))
        found[self.triangle, :, :3] = back = np.linalg.pinv(self._sides[self.triangle])
        origin = self.surface.maps[self.triangle, :, 3]
        found[self.triangle, :, 3] = -np.einsum("kij,kj->ki", back, origin)
        return found

    def on_triangle(self, lines: Lines, u: Array, patch: Index) -> Mask:
        """Say which points lie on the patch of each, if that is a triangle; else all do."""
        on = np.ones(len(u), dtype=bool)
        ours = np.flatnonzero(self.triangle[patch])
        T, points = self._shares[patch[ours]], self.along(lines[ours], u[ours, None])[:, 0]
        share = np.einsum("nij,nj->ni", T[:, :, :3], points) + T[:, :, 3]
        on[ours] = np.all(share >= -SLACK, axis=1) & (share.sum(axis=1) <= 1 + SLACK)
        return on

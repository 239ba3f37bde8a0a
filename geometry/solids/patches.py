"""The patches of some solids, and the plane, quadric or torus that each lies on.

It is F(x, y, z) = 0, a polynomial of degree 1, 2 or 4.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from geometry.outlines.edges import Complex
from geometry.parts import Part
from geometry.rows import Aligned
from geometry.surfaces.cells import Cells
from geometry.surfaces.surface import Surface
from shared.arrays import Array, Index, Mask

STRAIGHT: Final = 1e-9
"""rad. An arc that turns by less is straight: its chord is off by about 1e-10 of its length."""
AXIAL: Final = 1e-11
"""Of an arc's radius: a centre no farther than this from the axis is on it."""
SLACK: Final = 1e-9
"""Of a triangle: a point this far beyond its edges still counts as on it."""


@dataclass(frozen=True, eq=False)
class Lines(Aligned):
    """Lines along u: the patch (n,) and the v (n,) of each."""

    patch: Index
    v: Array


class Patches:
    """All k patches of some solids, and properties of each.

    `owner`     the number of its solid
    `straight`  whether its edge is straight
    `flat`      whether it is flat: a fan, a raised straight edge, or a turned level one
    `plain`     whether planes cross it where a polynomial of degree 1 in u and v is 0
    `triangle`  whether it is a triangle
    `planes`    n and c in n·p = c of a flat one, (k, 4); 0 for others
    `name`      a number, the same for a solid's flat ones in one plane
    `degree`    the degree of F
    `scale`     the magnitude of F at a distance of the size from the patch
    `middles`, `radii`  a ball (k, 3), (k,) that holds it, tight for a triangle

    `size` is that of all together, cm, `flat_names` (names,) says which names are of planes.
    """

    def __init__(self, solids: Sequence[Part]) -> None:
        surfaces = [solid.surface for solid in solids]
        self.solids, counts = solids, [len(surface.sweep) for surface in surfaces]
        self.owner: Index = np.repeat(np.arange(len(counts)), counts)
        self.surface = s = Surface.together(surfaces, surfaces[0].inside)
        self.cells = s.view(s.cells(1, 1))
        self.size = float(np.max(np.ptp(s.view(s.cells(2, 8)).points, axis=0)))

        e = s.edges
        self.straight: Mask = np.abs(e.angle) < STRAIGHT
        level = np.abs(e.chord.imag) <= 1e-12 * np.abs(e.chord)
        self.flat: Mask = (s.fan > 0) | (self.straight & ((s.rise != 0) | level))
        self.plain: Mask = self.straight & (s.sweep == 0)
        self.triangle: Mask = self.straight & (s.fan > 0)
        self.planes = self._planes()
        self.name = self._names()
        self.flat_names = np.zeros(int(self.name.max()) + 1, dtype=bool)
        self.flat_names[self.name] = self.flat

        half = np.where(self.straight, 1.0, e.angle / 2)
        middle = (e.start + e.end) / 2 + 0.5j * e.chord / np.tan(half)
        centre = np.where(self.straight, 0.0, middle)
        radius = np.where(self.straight, 1.0, e.length / np.abs(e.angle + self.straight))
        bent = ~self.flat & ~self.straight & (s.sweep != 0)
        torus = bent & (np.abs(centre.real) > AXIAL * np.abs(radius))
        self.degree: Index = np.where(self.flat, 1, np.where(torus, 4, 2))
        reach = np.maximum(np.abs(e.start), np.abs(e.end)) + radius * ~self.straight
        self.scale = np.where(self.flat, self.size, reach**self.degree)
        self._local, self._quadric = self._axes(centre), self._numbers(centre.real, radius)
        self.middles, self.radii, self._shares = self._triangles()

    def _planes(self) -> Array:
        n = np.cross(self.cells.spans[:, 0], self.cells.spans[:, 1])
        length = np.linalg.norm(n, axis=1, keepdims=True)
        n = n / np.where(length > 0, length, 1.0)
        planes = np.column_stack([n, np.einsum("ki,ki->k", n, self.cells.points)])
        return np.where(self.flat[:, None], planes, 0.0)

    def _names(self) -> Index:
        plane = self.planes / [1.0, 1.0, 1.0, self.size]
        first = np.argmax(np.abs(plane[:, :3]) > 0.1, axis=1)
        plane = plane * np.sign(plane[np.arange(len(plane)), first])[:, None]
        own = np.where(self.flat, 0, 1 + np.arange(len(plane)))
        keys = np.column_stack([np.round(plane, 9) + 0.0, own, self.owner])
        return np.unique(keys, axis=0, return_inverse=True)[1].ravel()

    def _axes(self, centre: Complex) -> Array:
        """Return the maps to each patch's own axes (k, 3, 4), the third one its axis."""
        s, curved = self.surface, ~self.flat
        T = np.tile(np.eye(4), (len(curved), 1, 1))
        T[curved, :3] = s.maps[curved]
        back = np.linalg.inv(T)[:, :3]
        raised = curved & (s.rise != 0)  # a cylinder along its second axis
        back[raised] = back[raised][:, [0, 2, 1]]
        back[raised, 0, 3] -= centre[raised].real
        back[raised, 1, 3] -= centre[raised].imag
        turned = curved & ~raised & ~self.straight
        back[turned, 2, 3] -= centre[turned].imag
        return np.asarray(back)

    def _numbers(self, R: Array, r: Array) -> Array:
        """Return a to d (k, 4): F = a ρ² + b z² + c z + d, for a torus (ρ² + z² + d)² − a ρ²."""
        e, ones = self.surface.edges, np.ones(len(r))
        normal = 1j * e.chord / np.abs(e.chord)
        nr, nz, c = normal.real, normal.imag, (np.conj(normal) * e.start).real
        cone = np.stack([nr**2, -(nz**2), 2 * c * nz, -(c**2)], axis=1)
        ball = np.stack([ones, ones, 0 * ones, -(r**2)], axis=1)
        torus = np.stack([4 * R**2, 0 * ones, 0 * ones, R**2 - r**2], axis=1)
        bent = np.where((self.surface.rise != 0)[:, None], ball * [1.0, 0.0, 1.0, 1.0], ball)
        numbers = np.where(self.straight[:, None], cone, bent)
        return np.where((self.degree == 4)[:, None], torus, numbers)

    def _triangles(self) -> tuple[Array, Array, Array]:
        """Return middles and radii, and the maps to shares of a triangle's sides, (k, 2, 4)."""
        ours, e = self.triangle, self.surface.edges
        points, radius = self.cells.points.copy(), self.cells.radius
        shares = np.zeros((len(e), 2, 4))
        A, ends = self.surface.maps[ours], np.stack([e.start, e.end], axis=1)[ours, None]
        sides = A[:, :, [0]] * ends.real + A[:, :, [2]] * ends.imag
        corners = A[:, :, 3:] + np.concatenate([0 * sides[:, :, :1], sides], axis=2)
        points[ours] = corners.mean(axis=2)
        radius[ours] = np.linalg.norm(corners - points[ours][:, :, None], axis=1).max(axis=1)
        shares[ours, :, :3] = back = np.linalg.pinv(sides)
        shares[ours, :, 3] = -np.einsum("kij,kj->ki", back, A[:, :, 3])
        return points, radius, shares

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
        """Return the heights of `points` (n, 3) above the plane of a flat patch each; else 0."""
        plane = self.planes[patch]
        return np.asarray(np.einsum("ni,ni->n", points, plane[:, :3]) - plane[:, 3])

    def value(self, points: Array, patch: Index) -> Array:
        """Return F at `points` (n, 3), of a patch each."""
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

    def on_triangle(self, lines: Lines, u: Array, patch: Index) -> Mask:
        """Return which points are on the patch of each, if that is a triangle; else all are."""
        on = np.ones(len(u), dtype=bool)
        ours = np.flatnonzero(self.triangle[patch])
        T, points = self._shares[patch[ours]], self.along(lines[ours], u[ours, None])[:, 0]
        share = np.einsum("nij,nj->ni", T[:, :, :3], points) + T[:, :, 3]
        on[ours] = np.all(share >= -SLACK, axis=1) & (share.sum(axis=1) <= 1 + SLACK)
        return on

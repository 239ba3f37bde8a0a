"""Surfaces of solids in patches, with bounds on every cell; moments from surfaces."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final, Self

import numpy as np

from geometry.moments import Moments
from geometry.outlines.edges import Edges, gauss
from geometry.outlines.outline import Outline
from geometry.outlines.profile import Profile
from geometry.surfaces.cells import Cells, View
from geometry.surfaces.face import fans
from shared.arrays import Array, Mask

NODES: Final = 24
"""Gauss points along each side of a patch. The integrand is a polynomial, of degree five at most,
in u, v and the cosines and sines of angles up to a full turn: only rounding errors remain."""
FEW: Final = 4
"""The same if no edge is curved or turned: exact for polynomials."""
NEAR: Final = 1e-7
"""Of the solid's size: the distance from the surface at which the inside is tested."""
SHARES: Final = 3 + np.add.outer([1, 1, 1, 0], [1, 1, 1, 0])
"""The divisors of the flux, for each entry of p pᵀ: three plus the entry's degree."""


@dataclass(frozen=True, eq=False)
class Surface:
    """The surface of a solid, in k patches over the unit square of u and v.

    A patch takes its edge, x + iy at u, shrinks it toward 0 by s = 1 − (1 − v)·fan, turns it about
    the third axis by φ = v·sweep, shifts it by v·rise, and maps the result (s·x cos φ,
    s·x sin φ + v·rise, s·y) by `maps` (k, 3, 4), homogeneous. With none of the three it is a curve,
    and v has no effect. `inside` says which points (n, 3) are within the solid, (n,).
    """

    edges: Edges
    sweep: Array
    rise: Array
    fan: Array
    maps: Array
    inside: Callable[[Array], Mask]

    @classmethod
    def turned(cls, profile: Profile, angle: float = 2 * np.pi) -> Self:
        """Return the surface of a turned solid; with `angle` 0, its curves in the half-plane."""
        edges = profile.outline.edges[profile.outline.turned_edges]
        across, along = profile.stretch
        T = np.diag([across, across, along, 1.0])
        T[2, 3] = profile.shift

        def inside(points: Array) -> Mask:
            r = np.hypot(points[:, 0], points[:, 1])
            return np.asarray(profile.contains(np.stack([r, points[:, 2]], axis=1)), dtype=bool)

        none = np.zeros(len(edges.angle))
        return cls(edges, none + angle, none, none, np.tile(T[:3], (len(none), 1, 1)), inside)

    @classmethod
    def box(cls, size: tuple[float, float, float]) -> Self:
        """Return the six faces of a box about the origin, its sides along the axes."""
        half = np.array(size) / 2
        maps = np.zeros((6, 3, 4))
        face = np.arange(6)
        for aside, way in ((1, 0), (2, 1)):
            maps[face, (face + aside) % 3, way] = 2 * half[(face + aside) % 3]
            maps[face, (face + aside) % 3, 3] = -half[(face + aside) % 3]
        maps[face, face % 3, 3] = np.concatenate([half, -half])
        unit = np.ones(6)
        start = np.zeros(6, dtype=complex)
        edges = Edges(start=start, end=start + 1, angle=0 * unit)

        def inside(points: Array) -> Mask:
            return np.asarray(np.all(np.abs(points) < half, axis=1))

        return cls(edges, 0 * unit, unit, 0 * unit, maps, inside)

    @classmethod
    def extruded(cls, outline: Outline, height: float) -> Self:
        """Return the sides and the two flat faces of an outline in x and y, from −½ to ½ `height`.

        Raises ValueError for an outline whose faces `fans` can't cut.
        """
        face = fans(outline)
        if face is None:
            raise ValueError("the outline comes too close to itself")
        sides, caps = outline.edges, face.edges
        kinds = np.repeat([0, 1, 2], [len(sides), len(caps), len(caps)])
        apex = np.concatenate([np.zeros(len(sides)), face.apex, face.apex])
        drawn = Edges.joined([sides, caps, caps])
        edges = Edges(start=drawn.start - apex, end=drawn.end - apex, angle=drawn.angle)
        maps = np.zeros((len(kinds), 3, 4))
        maps[:, [0, 1, 2], [0, 2, 1]] = 1.0
        z = np.array([-0.5, -0.5, 0.5])[kinds] * height
        maps[:, :, 3] = np.column_stack([apex.real, apex.imag, z])

        def inside(points: Array) -> Mask:
            return outline.contains(points[:, :2]) & (np.abs(points[:, 2]) < height / 2)

        side, cap = (np.asarray(of, dtype=np.float64) for of in (kinds == 0, kinds > 0))
        return cls(edges, 0 * side, height * side, cap, maps, inside)

    @classmethod
    def together(cls, surfaces: Sequence[Surface], inside: Callable[[Array], Mask]) -> Self:
        """Return the patches of all `surfaces`, with an `inside` of their own."""
        each = [(surface.sweep, surface.rise, surface.fan, surface.maps) for surface in surfaces]
        sweep, rise, fan, maps = (np.concatenate(of) for of in zip(*each, strict=True))
        edges = Edges.joined([surface.edges for surface in surfaces])
        return cls(edges, sweep, rise, fan, maps, inside)

    def moved(self, T: Array) -> Self:
        """Return the surface of the solid after the affine map `T` (4, 4)."""
        maps = T[:3, :3] @ self.maps
        maps[:, :, 3] += T[:3, 3]
        back = np.linalg.inv(T)

        def inside(points: Array) -> Mask:
            return self.inside(points @ back[:3, :3].T + back[:3, 3])

        return replace(self, maps=maps, inside=inside)

    @cached_property
    def curve(self) -> bool:
        """Whether it is curves: v has no effect."""
        return not (np.any(self.sweep) or np.any(self.rise) or np.any(self.fan))

    @cached_property
    def triangles(self) -> Array | None:
        """The corners (k, 3, 3) of its patches, if all are flat triangles."""
        e = self.edges
        if np.any(e.angle) or np.any(self.sweep) or np.any(self.rise) or not np.all(self.fan):
            return None
        ends = self.maps[:, :, :3:2] @ np.stack(
            [[e.start.real, e.end.real], [e.start.imag, e.end.imag]]
        ).transpose(2, 0, 1)
        apex = self.maps[:, :, 3]
        return np.stack([apex, apex + ends[:, :, 0], apex + ends[:, :, 1]], axis=1)

    @property
    def closed(self) -> Mask:
        """Which patches (k,) make a full turn, so that v continues beyond 0 and 1."""
        return np.asarray(np.abs(self.sweep) > 2 * np.pi - 1e-9)

    @cached_property
    def bends(self) -> Array:
        """Bounds (k, 3) on the second derivatives: by u twice, by u and v, by v twice, cm."""
        e = self.edges
        ends = [e.start, e.end, *(e.points(e.farthest(np.array(way + 0j))) for way in (1, -1))]
        reach = np.max(np.abs([p.real for p in ends]), axis=0)
        turn = self.sweep + 2 * self.fan
        uu, uv = e.length * np.abs(e.angle), e.length * (self.sweep + self.fan)
        local = np.stack([uu, uv, reach * self.sweep * turn], axis=1)
        return np.asarray(local * np.linalg.norm(self.maps[:, :, :3], 2, axis=(1, 2))[:, None])

    def view(self, cells: Cells) -> View:
        """Return the positions of `cells`, and the bounds on their extents."""
        e, A = self.edges[cells.patch], self.maps[cells.patch]
        u, v = cells.middle.T
        p, dp = e.points(u), e.tangents(u)
        local = np.zeros((len(cells), 3, 3))
        if self.curve:
            local[:, 0, 0], local[:, 0, 2] = p.real, p.imag
            local[:, 1, 0], local[:, 1, 2] = dp.real, dp.imag
        else:
            sweep, rise, fan = (f[cells.patch] for f in (self.sweep, self.rise, self.fan))
            cos, sin, size = np.cos(sweep * v), np.sin(sweep * v), 1 - (1 - v) * fan
            dv = fan * p
            p, dp = size * p, size * dp
            across, onward = p.real * sweep, dv.real
            local[:, 0] = np.stack([p.real * cos, p.real * sin + rise * v, p.imag], axis=1)
            local[:, 1] = np.stack([dp.real * cos, dp.real * sin, dp.imag], axis=1)
            swept = onward * cos - across * sin, onward * sin + across * cos + rise
            local[:, 2] = np.stack([*swept, dv.imag], axis=1)
        local[:, 1:] *= cells.half[:, :, None]
        placed = local @ A[:, :, :3].transpose(0, 2, 1)
        hu, hv = cells.half.T
        uu, uv, vv = self.bends[cells.patch].T
        rest = np.stack([hu * (uu * hu + uv * hv), hv * (vv * hv + uv * hu)], axis=1) / 2
        return View(placed[:, 0] + A[:, :, 3], placed[:, 1:], rest)

    def about(self, count: int, across: int) -> Cells:
        """Return every patch cut into `across` cells each way, or all into about `count` even ones.

        The latter if the former would be more; large patches then get more cells.
        """
        if len(self.sweep) * across ** (1 if self.curve else 2) <= count:
            return self.cells(across, across)
        cells, count = self.cells(1, 1), max(count, 2 * len(self.sweep))
        while len(cells) < count:
            view = self.view(cells)
            shares = np.linalg.norm(view.spans, axis=2) + view.rest
            width = shares.max(axis=1)
            least = np.sort(width)[max(0, 2 * len(width) - count)]
            cells, _ = cells.halved(np.argmax(shares, axis=1), width >= max(least, width.max() / 2))
        return cells

    def cells(self, across: int, around: int) -> Cells:
        """Return every patch cut into `across` cells along u and `around` along v, if it counts."""
        counts = np.array([across, 1 if self.curve else around])
        u, v = ((np.arange(count) + 0.5) / count for count in counts)
        middle = np.stack(np.meshgrid(u, v, indexing="ij"), axis=-1).reshape(-1, 2)
        patches, each = len(self.sweep), len(middle)
        half = np.tile(np.where(self.curve, [1, 0], [1, 1]) / (2 * counts), (patches * each, 1))
        return Cells(np.repeat(np.arange(patches), each), np.tile(middle, (patches, 1)), half)


def flux_moments(surface: Surface) -> Moments:
    """Return ∫ p pᵀ dV, p = (x, y, z, 1), cm, of the solid enclosed by `surface`.

    A homogeneous polynomial f of degree d is the divergence of f x / (d + 3), so ∫ f dV is the flux
    ∮ f (x · n) dA / (d + 3) through the surface (Gauss). By Gauss-Legendre quadrature.
    """
    straight = not (np.any(surface.edges.angle) or np.any(surface.sweep))
    at, weights = gauss(FEW if straight else NODES)
    u, v = (grid.ravel() for grid in np.meshgrid(at, at, indexing="ij"))
    each, patches = len(u), len(surface.sweep)
    middle = np.tile(np.column_stack([u, v]), (patches, 1))
    patch = np.repeat(np.arange(patches), each)
    view = surface.view(Cells(patch, middle, np.ones_like(middle)))
    across = np.cross(view.spans[:, 0], view.spans[:, 1]).reshape(patches, each, 3)
    points = view.points.reshape(patches, each, 3)
    out = _outward(surface, points, across)
    through = out[:, None] * np.einsum("kni,kni->kn", points, across)
    amount = (through * np.outer(weights, weights).ravel()).ravel()
    p = np.column_stack([view.points, np.ones(len(view.points))])
    return Moments((p.T * amount) @ p / SHARES)


def _outward(surface: Surface, points: np.ndarray, across: np.ndarray) -> np.ndarray:
    """Return +1 for each patch whose ∂u × ∂v points out of the solid, −1 for the others."""
    size = float(np.max(np.ptp(points.reshape(-1, 3), axis=0)))
    areas = np.linalg.norm(across, axis=2)
    k, best = np.arange(len(areas)), np.argmax(areas, axis=1)
    normal = across[k, best] / areas[k, best][:, None]
    return np.where(surface.inside(points[k, best] + NEAR * size * normal), -1.0, 1.0)

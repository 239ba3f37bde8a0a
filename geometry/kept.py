"""Moments of solids joined, cut and met, from what is left of their surfaces, with a stated error.

A point of a solid's surface is kept where one side of it lies in the result and the other doesn't.
On lines along u of a patch it is found to rounding where that changes; from line to line goes
Gauss' quadrature, on panels of v that are halved until all lines of each change alike and two
halves say what the whole did. A sliver narrower than the samples would be missed; but of a closed
surface ∮ n dA is 0, and ∮ x nᵀ dA is the volume times E, and this is asked.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import numpy as np

from geometry.flux import SHARES
from geometry.moments import Moments
from geometry.parts import Part
from geometry.surface import Cells, Index, Mask, Surface
from geometry.velocity import Velocity
from shared.arrays import Array, frozen

BESIDE: Final = 1e-8
"""Of the solids' size: so far to both sides of a surface is asked what lies there."""
TRIES: Final = ((8, 64), (16, 256), (64, 512))
"""Panels of a patch and samples of a line at first, and then, where the surface isn't closed."""
CLOSED: Final = 1e-6
"""A surface is closed where ∮ n dA and ∮ x nᵀ dA are off by less, as parts of the volume."""
LINES: Final = 8
"""Lines of a panel, at Gauss' points. One more at either end says where something begins."""
EDGES: Final = (-1 + 1e-6, 1 - 1e-6)
"""Not quite there: what lies along another surface, beside it."""
GAUSS: Final = 24
"""Points between two changes on a line: as many as `flux` takes."""
HALVINGS: Final = 20
"""So often a panel is halved..."""
ENOUGH: Final = 1e-10
"""...until its halves differ from it by less, in ∮ x n dA and the like of a body of size one."""
MOST: Final = 256
"""Samples of a line: what begins between two lines is as narrow as it likes, so that halved panels
have more, up to so many."""
ALIKE: Final = 8
"""So often a panel is halved because its lines don't change alike. Then what may hide between its
first line and its end is 3e-9 of the patch."""
CHANGES: Final = 45
"""Halvings of the stretch between two samples: to 2⁻⁴⁵ of it."""

Within = Callable[[Array], Mask]
"""Which points (n, 3) lie in a solid, (n,)."""


@dataclass(frozen=True, eq=False)
class Kept:
    """Quadrature over the surface of a result: `points` (n, 3), `flux` (n, 3), `owner` (n,).

    `flux` is outward normal times area, cm²; `owner` the number of the solid that a point is of.
    `error` is what the moments may be off, as a part of volume × size to their degree.
    """

    points: Array
    flux: Array
    owner: Index
    error: float

    @cached_property
    def moments(self) -> Moments:
        """∫ p pᵀ dV, p = (x, y, z, 1), cm."""
        p = np.column_stack([self.points, np.ones(len(self.points))])
        through = np.einsum("ij,ij->i", self.points, self.flux)
        return Moments((p.T * through) @ p / SHARES)

    def rate(self, owner: int, velocity: Velocity) -> Array:
        """Return the derivative (4, 4) of the moments while one of the solids moves so."""
        ours = self.owner == owner
        points, flux = self.points[ours], self.flux[ours]
        p = np.column_stack([points, np.ones(len(points))])
        swept = np.einsum("ij,ij->i", velocity.at(points), flux)
        return frozen((p.T * swept) @ p)


def kept(solids: Sequence[Part], within: Within) -> Kept:
    """Return what is left of the surfaces of `solids` as that of the solid of the points `within`.

    That must be put together of the solids. Where surfaces lie on each other the first one counts.
    """
    surfaces = [solid.surface for solid in solids]
    for panels, samples in TRIES:
        found = _Search(surfaces, within, samples).found(panels)
        if found.error <= CLOSED:
            break
    return found


@dataclass(frozen=True, eq=False)
class _Panels:
    """Stretches of v of patches: which surface and patch, from where to where, (n,)."""

    surface: Index
    patch: Index
    low: Array
    high: Array

    def __getitem__(self, which: Mask) -> _Panels:
        return _Panels(self.surface[which], self.patch[which], self.low[which], self.high[which])

    @classmethod
    def first(cls, surfaces: Sequence[Surface], each: int) -> _Panels:
        """Return so many panels of each patch."""
        counts = [len(surface.sweep) for surface in surfaces]
        patch = np.concatenate([np.arange(count) for count in counts])
        low = np.tile(np.arange(each) / each, len(patch))
        surface = np.repeat(np.arange(len(counts)), counts)
        return cls(np.repeat(surface, each), np.repeat(patch, each), low, low + 1 / each)

    def halved(self) -> _Panels:
        """Return both halves of each, side by side."""
        middle = (self.low + self.high) / 2
        low, high = np.stack([self.low, middle]), np.stack([middle, self.high])
        return _Panels(
            np.repeat(self.surface, 2), np.repeat(self.patch, 2), low.T.ravel(), high.T.ravel()
        )


@dataclass(frozen=True, eq=False)
class _Nodes:
    """Nodes (m) on panels (n): `alike` (n,) says whether all lines of a panel change alike."""

    points: Array
    flux: Array
    panel: Index
    alike: Mask


class _Search:
    """One try, with so many samples a line."""

    def __init__(self, surfaces: Sequence[Surface], within: Within, samples: int) -> None:
        self.surfaces, self.within, self.samples = surfaces, within, samples
        views = [surface.view(surface.cells(2, 8)) for surface in surfaces]
        self.middle = np.concatenate([view.points for view in views]).mean(axis=0)
        self.size = max(float(np.max(np.ptp(view.points, axis=0))) for view in views)

    def found(self, each: int) -> Kept:
        """Return the points that are left, their flux, and the error."""
        panels = _Panels.first(self.surfaces, each)
        nodes = self._nodes(panels, self.samples)
        whole = self._sums(nodes)
        gathered, off = list[tuple[Array, Array, Index]](), 0.0
        for level in range(HALVINGS):
            halves = panels.halved()
            fine = self._nodes(halves, min(self.samples << (level // 2), MOST))
            parts = self._sums(fine)
            apart = np.abs(whole - parts[::2] - parts[1::2]).max(axis=1)
            alike = nodes.alike & fine.alike[::2] & fine.alike[1::2]
            done = (apart <= ENOUGH) & (alike | (level >= ALIKE))
            done |= level == HALVINGS - 1
            off += float(apart[done].sum())
            left = np.repeat(~done, 2)
            ours = ~left[fine.panel]
            owner = halves.surface[fine.panel[ours]]
            gathered.append((fine.points[ours], fine.flux[ours], owner))
            if np.all(done):
                break
            panels, whole = halves[left], parts[left]
            nodes = replace(fine, alike=fine.alike[left])
        points, flux, owner = (np.concatenate(some) for some in zip(*gathered, strict=True))
        return Kept(points, flux, owner, self._error(points, flux, off))

    def _error(self, points: Array, flux: Array, off: float) -> float:
        """Return the error: by how much halves differed, and how far the surface is from closed."""
        if not len(points):
            return 0.0
        x, n = (points - points.mean(axis=0)) / self.size, flux / self.size**2
        stretch = x.T @ n
        volume = float(np.trace(stretch)) / 3
        opening = np.abs(np.vstack([n.sum(axis=0), stretch - volume * np.eye(3)])).max()
        return max(off, float(opening)) / max(volume, 1e-300)

    def _sums(self, nodes: _Nodes) -> Array:
        """Return the fluxes (n, 13) of 1 and of the moments' integrands through each panel."""
        x, n = (nodes.points - self.middle) / self.size, nodes.flux / self.size**2
        p = np.column_stack([x, np.ones(len(x))])
        through = np.einsum("ij,ij->i", x, n)
        i, j = np.triu_indices(4)
        each = np.column_stack([n, p[:, i] * p[:, j] * through[:, None]])
        count = len(nodes.alike)
        return np.stack([np.bincount(nodes.panel, one, count) for one in each.T], axis=1)

    def _nodes(self, panels: _Panels, samples: int) -> _Nodes:
        """Return what is left of each panel."""
        at, over = np.polynomial.legendre.leggauss(LINES)
        wide = ((panels.high - panels.low) / 2)[:, None]
        v = (panels.low[:, None] + wide * (np.concatenate([at, EDGES]) + 1)).ravel()
        line = np.repeat(np.arange(len(wide)), LINES + 2)
        row, begin, end, way = self._stretches(panels.surface[line], panels.patch[line], v, samples)
        alike = _alike(row, way, len(wide))

        inner = row % (LINES + 2) < LINES
        row, begin, end, way = row[inner], begin[inner], end[inner], way[inner]
        live = way != 0
        row, begin, end, way = row[live], begin[live], end[live], way[live]
        weight = (wide * np.concatenate([over, [0.0, 0.0]])).ravel()[row] * way
        at, over = np.polynomial.legendre.leggauss(GAUSS)
        half = ((end - begin) / 2)[:, None]
        u = (begin[:, None] + half * (at + 1)).ravel()
        share = (half * over * weight[:, None]).ravel()
        row = np.repeat(row, GAUSS)
        owner = line[row]
        points, across = self._at(panels.surface[owner], panels.patch[owner], u, v[row])
        return _Nodes(points, across * share[:, None], owner, alike)

    def _stretches(
        self, surface: Index, patch: Index, v: Array, samples: int
    ) -> tuple[Index, Array, Array, Array]:
        """Return all stretches of lines in order: which line, from where to where, which way.

        The way is 1 where ∂u × ∂v points out of the result, -1 into it, 0 where nothing is kept.
        """
        u = np.clip(np.linspace(0, 1, samples + 1), 1e-7, 1 - 1e-7)
        row = np.repeat(np.arange(len(v)), len(u))
        ways = self._way(surface[row], patch[row], np.tile(u, len(v)), v[row])
        ways = ways.reshape(len(v), len(u))
        row, k = np.nonzero(ways[:, :-1] != ways[:, 1:])
        low, high, before = u[k], u[k + 1], ways[row, k]
        for _ in range(CHANGES):
            middle = (low + high) / 2
            same = self._way(surface[row], patch[row], middle, v[row]) == before
            low, high = np.where(same, middle, low), np.where(same, high, middle)
        begin = np.concatenate([np.zeros(len(v)), (low + high) / 2])
        way = np.concatenate([ways[:, 0], ways[row, k + 1]])
        row = np.concatenate([np.arange(len(v)), row])
        order = np.lexsort((begin, row))
        row, begin, way = row[order], begin[order], way[order]
        last = np.append(row[1:] != row[:-1], True)
        return row, begin, np.where(last, 1.0, np.roll(begin, -1)), way

    def _at(self, surface: Index, patch: Index, u: Array, v: Array) -> tuple[Array, Array]:
        """Return points and ∂u × ∂v (n, 3)."""
        points, across = np.empty((len(u), 3)), np.empty((len(u), 3))
        for i, one in enumerate(self.surfaces):
            ours = surface == i
            middle = np.column_stack([u[ours], v[ours]])
            view = one.view(Cells(patch[ours], middle, np.ones_like(middle)))
            points[ours] = view.points
            across[ours] = np.cross(view.spans[:, 0], view.spans[:, 1])
        return points, across

    def _way(self, surface: Index, patch: Index, u: Array, v: Array) -> Array:
        """Return 1 where ∂u × ∂v points out of the result (n,), -1 into it, 0 where neither.

        Where surfaces lie on each other the first of them counts.
        """
        points, across = self._at(surface, patch, u, v)
        length = np.linalg.norm(across, axis=1, keepdims=True)
        beside = BESIDE * self.size * across / np.where(length > 0, length, 1.0)
        below, above = points - beside, points + beside
        way = self.within(below).astype(float) - self.within(above)
        for i, one in enumerate(self.surfaces[:-1]):
            later = np.flatnonzero((surface > i) & (way != 0))
            way[later[one.inside(below[later]) != one.inside(above[later])]] = 0.0
        return np.asarray(way)


def _alike(row: Index, way: Array, panels: int) -> Mask:
    """Say of which panels all lines have stretches that go the same ways in the same order."""
    first = np.flatnonzero(np.append(True, row[1:] != row[:-1]))
    count = np.bincount(row, minlength=panels * (LINES + 2))
    place = np.arange(len(row)) - np.repeat(first, count)
    told = np.bincount(row, (way + 2) * 4.0 ** np.minimum(place, 24), panels * (LINES + 2))
    told = told.reshape(panels, LINES + 2)
    return np.asarray(np.all(told == told[:, :1], axis=1))

"""A solid's moments from its surface alone: a second way, to check the first one by."""

from __future__ import annotations

from typing import Final

import numpy as np

from geometry.cells import Cells
from geometry.moments import Moments
from geometry.surface import Surface

NODES: Final = 24
"""Gauss points along each side of a patch. The integrand is a polynomial in u and v, and in the
cosines and sines of angles up to once round, of degree five at the most: they leave rounding."""
FEW: Final = 4
"""The same where no edge bends and none is turned: exact, of polynomials alone."""
NEAR: Final = 1e-7
"""Of the solid's size: so far beside the surface is asked where the inside is."""
SHARES: Final = 3 + np.add.outer([1, 1, 1, 0], [1, 1, 1, 0])
"""What the flux is divided by, entry by entry of p pᵀ: three and the entry's degree."""


def flux_moments(surface: Surface) -> Moments:
    """Return ∫ p pᵀ dV, p = (x, y, z, 1), cm, of the solid that `surface` is whole the surface of.

    A polynomial f of one degree d is the divergence of f x / (d + 3), so that ∫ f dV is its flux
    ∮ f (x · n) dA / (d + 3) through the surface (Gauss). By Gauss-Legendre quadrature.
    """
    straight = not (np.any(surface.edges.angle) or np.any(surface.sweep))
    at, weights = np.polynomial.legendre.leggauss(FEW if straight else NODES)
    at, weights = (at + 1) / 2, weights / 2
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
    """Return +1 for each patch whose ∂u × ∂v points out of the solid, -1 for the others."""
    size = float(np.max(np.ptp(points.reshape(-1, 3), axis=0)))
    areas = np.linalg.norm(across, axis=2)
    k, best = np.arange(len(areas)), np.argmax(areas, axis=1)
    normal = across[k, best] / areas[k, best][:, None]
    return np.where(surface.inside(points[k, best] + NEAR * size * normal), -1.0, 1.0)

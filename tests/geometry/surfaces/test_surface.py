"""Surfaces in cells: they are the shape's, and keep within their bounds."""

from __future__ import annotations

import numpy as np
from oracles import distances

from geometry.parts import Part
from geometry.placement import Placement
from geometry.shapes import SHAPES


def test_every_shape_has_a_surface_that_its_support_points_lie_on() -> None:
    """Two descriptions of one solid: cells lie up to each support plane and not beyond it.

    Of the convex hull, so this holds for shapes that aren't convex too.
    """
    n = distances.directions(200, 3)
    for kind in SHAPES:
        shape = kind.example()
        p = shape.surface().view(shape.surface().cells(64, 64)).points
        h = np.einsum("ij,ij->i", n, shape.support_points(n))
        short = h - (n @ p.T).max(axis=1)
        assert short.min() > -1e-9, kind
        assert short.max() < 0.25, kind


def test_cells_stay_within_their_bounds() -> None:
    """The bound that everything rests on: 500 random points of random cells of every shape."""
    rng = np.random.default_rng(5)
    for kind in SHAPES:
        placement = Placement((1, 2, 3), (20, 40, 60), (0.7, 1.4, 1.1))
        surface = Part("p", None, kind.example(), placement).surface
        cells = surface.cells(3, 5)
        cells = cells[rng.integers(len(cells), size=500)]
        view = surface.view(cells)
        s = rng.uniform(-1, 1, (500, 2))
        inner = type(cells)(cells.patch, cells.middle + s * cells.half, 0 * cells.half)
        points = surface.view(inner).points
        linear = view.points + np.einsum("ni,nij->nj", s, view.spans)
        off = np.linalg.norm(points - linear, axis=1)
        assert np.all(off <= view.rest.sum(axis=1) + 1e-12), kind
        assert np.all(np.linalg.norm(points - view.points, axis=1) <= view.radius + 1e-12), kind

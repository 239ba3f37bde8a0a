"""Corners of polytopes that are known from school."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import linprog

from optimizer.questions.window.exact.polytope import Cuts, polytope

NONE = Cuts(np.zeros((0, 3)), np.zeros(0))
ZERO, ONE = np.zeros(3), np.ones(3)


def test_a_cube_cut_across_its_diagonal_is_a_hexagon():
    """X + y + z = 3/2 cuts six edges of the unit cube, each in its middle."""
    whole = polytope(ZERO, ONE, ONE, 1.5, NONE)
    assert whole is not None
    corners = sorted(map(tuple, whole.corners.tolist()))
    assert len(corners) == 6
    assert all(sorted(corner) == [0.0, 0.5, 1.0] for corner in corners)
    assert len(whole.edges) == 6


def test_a_row_through_a_corner_makes_no_copy_of_it():
    """X + y + z = 1 is a triangle; x ≥ y halves it through the corner (0, 0, 1)."""
    rows = Cuts(np.array([[1.0, -1.0, 0.0]]), np.zeros(1))
    whole = polytope(ZERO, ONE, ONE, 1.0, rows)
    assert whole is not None
    corners = sorted(map(tuple, whole.corners.tolist()))
    assert corners == [(0.0, 0.0, 1.0), (0.5, 0.5, 0.0), (1.0, 0.0, 0.0)]
    assert len(whole.edges) == 3


@pytest.mark.parametrize("total", [-0.1, 3.1])
def test_an_equation_out_of_reach_leaves_nothing(total):
    whole = polytope(ZERO, ONE, ONE, total, NONE)
    assert whole is not None
    assert len(whole.corners) == 0


def test_too_many_densities_are_not_enumerated():
    n = 40
    assert polytope(np.zeros(n), np.ones(n), np.ones(n), 20.0, NONE) is None


def test_the_farthest_corner_is_linprogs():
    """A direction's optimum over a polytope is at a corner: 200 random ones, up to 8 densities."""
    random = np.random.default_rng(31)
    for _ in range(200):
        n, r = int(random.integers(2, 9)), int(random.integers(0, 6))
        low = random.uniform(0.5, 1.0, n)
        high, slope = low + random.uniform(0.2, 2.0, n), random.uniform(10.0, 500.0, n)
        total = float(slope @ (low + random.uniform(0.2, 0.8) * (high - low)))
        rows = Cuts(random.normal(size=(r, n)), random.normal(size=r) - 1.0)
        aim = random.normal(size=n)
        whole = polytope(low, high, slope, total, rows)
        known = linprog(
            -aim,
            A_ub=-rows.slope if r else None,
            b_ub=-rows.bound if r else None,
            A_eq=slope[None],
            b_eq=[total],
            bounds=np.column_stack([low, high]),
        )
        assert whole is not None
        assert (known.status == 2) == (len(whole.corners) == 0)
        if known.status == 0:
            assert np.max(whole.corners @ aim) == pytest.approx(-known.fun, abs=1e-7)

"""Where a part sits: first stretched, then rotated about x, y, z, then moved."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from oracles import quadrature
from oracles.strategies import positions, rotations, stretches

from geometry.placement import Placement

Triple = tuple[float, float, float]


@given(stretches, rotations, positions)
def test_points_are_stretched_then_rotated_then_moved(
    stretch: Triple, rotate: Triple, at: Triple
) -> None:
    """The oracle does one step after the other, with scipy's rotation about fixed axes."""
    T = Placement(at=at, rotate=rotate, stretch=stretch).matrix
    points = np.array([[1.0, 0, 0], [0, 2, 0], [0, 0, 3], [-1, 1, 0.5]])
    ours = points @ T[:3, :3].T + T[:3, 3]
    np.testing.assert_allclose(ours, quadrature.placed(points, stretch, rotate, at), atol=1e-12)


def test_axes_are_fixed_and_taken_in_order() -> None:
    """90° about x takes y to z; then 90° about the fixed z takes x to y and leaves z alone.

    In the other order, or about axes that turn with the part, y would end elsewhere.
    """
    T = Placement(rotate=(90.0, 0.0, 90.0)).matrix
    np.testing.assert_array_equal(T[:3, :3] @ [0, 1, 0], [0, 0, 1])
    np.testing.assert_array_equal(T[:3, :3] @ [1, 0, 0], [0, 1, 0])


@pytest.mark.parametrize("quarters", [1, 2, 3, -1, 4])
@pytest.mark.parametrize("axis", [0, 1, 2])
def test_quarter_turns_are_exact(axis: int, quarters: int) -> None:
    """Only 0, 1 and −1 stand in the matrix, so that parallel faces stay parallel."""
    degrees = [0.0, 0.0, 0.0]
    degrees[axis] = 90.0 * quarters
    A = Placement(rotate=(degrees[0], degrees[1], degrees[2])).matrix[:3, :3]
    assert set(np.abs(A).ravel()) <= {0.0, 1.0}
    np.testing.assert_array_equal(A @ A.T, np.eye(3))


def test_a_stretch_acts_along_the_parts_own_axes() -> None:
    """Doubled along its own x, then turned so that its x points along y: longer along y."""
    T = Placement(stretch=(2.0, 1.0, 1.0), rotate=(0.0, 0.0, 90.0), at=(5.0, 0.0, 0.0)).matrix
    np.testing.assert_array_equal(T @ [1, 0, 0, 1], [5, 2, 0, 1])


def test_unplaced_is_where_it_was_drawn() -> None:
    np.testing.assert_array_equal(Placement().matrix, np.eye(4))

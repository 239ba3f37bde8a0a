"""Parts out of place against closed forms, and against the same parts drawn where they then are."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from geometry.displaced import Parts, off_centre, shifted, tilted, turned
from geometry.parts import Part
from geometry.placement import Placement
from geometry.regions import regions
from geometry.shapes.capsule import Capsule
from geometry.shapes.ellipsoid import Ellipsoid
from geometry.shapes.sphere import Sphere
from optimizer.scenario.drawn import region_moments

AXES = range(3)


def drawn(
    block: tuple[float, float, float] = (0.4, -0.3, 0.8),
    heart: tuple[float, float, float] = (0.5, -0.1, 1.0),
    rotate: tuple[float, float, float] = (0.0, 0.0, 0.0),
    bead: tuple[float, float, float] = (0.0, 7.5, 0.0),
    diameter: float = 21.7,
) -> Parts:
    """A ball, a block in it, a heart in the block, and a bead in the ball; cm, degrees."""
    return (
        Part("ball", None, Sphere(diameter=diameter), Placement()),
        Part("block", "ball", Ellipsoid(diameters=(9, 10, 13)), Placement(at=block, rotate=rotate)),
        Part("heart", "block", Capsule(diameter=3, height=7), Placement(at=heart, rotate=rotate)),
        Part("bead", "ball", Sphere(diameter=2), Placement(at=bead)),
    )


def moments(parts: Parts) -> np.ndarray:
    """The moments of each part's own material, (n, 4, 4)."""
    return np.stack([region.moments.J for region in regions(parts)])


def moved(at: tuple[float, ...], axis: int, by: float) -> tuple[float, float, float]:
    x, y, z = (value + by * (k == axis) for k, value in enumerate(at))
    return x, y, z


@pytest.mark.parametrize("axis", AXES)
def test_a_part_takes_what_lies_inside_it_along(axis: int) -> None:
    """Drawn afresh: block and heart both moved; the bead stays, and the ball is filled up."""
    found = moments(shifted(drawn(), "block", axis, 0.25))
    again = drawn(moved((0.4, -0.3, 0.8), axis, 0.25), moved((0.5, -0.1, 1.0), axis, 0.25))
    assert found == pytest.approx(moments(again), abs=1e-8)
    alone = moments(shifted(drawn(), "heart", axis, 0.25))
    assert alone == pytest.approx(
        moments(drawn(heart=moved((0.5, -0.1, 1.0), axis, 0.25))), abs=1e-8
    )


def test_a_sphere_out_of_place_has_moments_by_the_parallel_axis_theorem() -> None:
    """Of volume V, by d: first moment V d, ∫z² V(R²/5 + d²), and the ball around loses both."""
    parts = (
        Part("ball", None, Sphere(diameter=21.7), Placement()),
        Part("core", "ball", Sphere(diameter=10.0), Placement()),
    )
    ball, core = moments(shifted(parts, "core", 2, 0.7))
    V, whole = np.pi * 10.0**3 / 6, np.pi * 21.7**3 / 6
    assert core[2, 3] == pytest.approx(0.7 * V, rel=1e-13)
    assert core[2, 2] == pytest.approx(V * (5.0**2 / 5 + 0.7**2), rel=1e-13)
    assert core[0, 0] == pytest.approx(V * 5.0**2 / 5, rel=1e-13)
    assert ball[2, 3] == pytest.approx(-0.7 * V, rel=1e-12)
    assert ball[2, 2] == pytest.approx(whole * 10.85**2 / 5 - core[2, 2], rel=1e-12)
    assert ball[3, 3] == pytest.approx(whole - V, rel=1e-13)


@pytest.mark.parametrize("axis", [0, 1])
def test_a_part_leans_about_its_own_place(axis: int) -> None:
    """R about the block's origin p: of the heart at q it makes one at p + R (q − p)."""
    angle = 3.0
    degrees = (angle, 0.0, 0.0) if axis == 0 else (0.0, angle, 0.0)
    R = Rotation.from_euler("xyz", degrees, degrees=True).as_matrix()
    block, heart = np.array([0.4, -0.3, 0.8]), np.array([0.5, -0.1, 1.0])
    x, y, z = (block + R @ (heart - block)).tolist()
    found = moments(tilted(drawn(), "block", axis, np.radians(angle)))
    assert found == pytest.approx(moments(drawn(heart=(x, y, z), rotate=degrees)), abs=1e-8)


def test_a_part_that_is_drawn_at_an_angle_leans_from_there() -> None:
    """About the ball's x, after its own rotation about x: angles add up."""
    parts = drawn(heart=(0.4, -0.3, 0.8), rotate=(20.0, 0.0, 0.0))
    again = drawn(heart=(0.4, -0.3, 0.8), rotate=(22.0, 0.0, 0.0))
    assert moments(tilted(parts, "block", 0, np.radians(2.0))) == pytest.approx(
        moments(again), abs=1e-8
    )


def test_a_part_that_was_moved_leans_about_where_it_is() -> None:
    """Which of the two comes first is no matter."""
    one = tilted(shifted(drawn(), "block", 1, 0.3), "block", 0, 0.02)
    other = shifted(tilted(drawn(), "block", 0, 0.02), "block", 1, 0.3)
    assert moments(one) == pytest.approx(moments(other), abs=1e-9)


@pytest.mark.parametrize("axis", AXES)
def test_a_centre_turned_off_moves_all_else_the_other_way(axis: int) -> None:
    at = (0.4, -0.3, 0.8), (0.5, -0.1, 1.0), (0.0, 7.5, 0.0)
    block, heart, bead = (moved(place, axis, -0.2) for place in at)
    again = drawn(block, heart, bead=bead)
    assert moments(off_centre(drawn(), axis, 0.2)) == pytest.approx(moments(again), abs=1e-8)


def test_a_ball_turned_larger_is_drawn_larger() -> None:
    assert moments(turned(drawn(), 0.1)) == pytest.approx(moments(drawn(diameter=21.8)), rel=1e-12)


def test_displacements_add_up() -> None:
    one = shifted(shifted(drawn(), "block", 0, 0.1), "heart", 0, -0.1)
    other = shifted(drawn(block=(0.5, -0.3, 0.8)), "bead", 2, 0.0)
    assert moments(one) == pytest.approx(moments(other), abs=1e-8)


def test_what_is_kept_for_one_place_is_not_told_of_another() -> None:
    """Moments of a mould are computed once: each displacement is a mould of its own."""
    near, far = (shifted(drawn(), "block", 2, by) for by in (0.1, 0.2))
    assert near != far
    assert near == shifted(drawn(), "block", 2, 0.1)
    for parts in (near, far, shifted(drawn(), "block", 0, 0.1), off_centre(drawn(), 1, 0.1)):
        assert region_moments(parts) == pytest.approx(moments(parts), abs=1e-12)

"""Walls against closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from oracles import distances
from oracles.distances import arc
from scenes import (
    BALL,
    CORNERS,
    INCH,
    Point,
    apart,
    nested,
    part,
    placed,
    points,
    turns,
)

from geometry.parts import Part
from geometry.placement import Placement
from geometry.shapes.box import Box
from geometry.shapes.capsule import Capsule
from geometry.shapes.cylinder import Cylinder
from geometry.shapes.ring import Ring
from geometry.shapes.sphere import Sphere
from geometry.shapes.spheroid import Spheroid
from geometry.walls.thinnest import walls


def test_the_wall_of_concentric_spheres_is_the_difference_of_their_radii() -> None:
    found = nested(part(Sphere(diameter=7.48 * INCH)), part(Sphere(diameter=8.58 * INCH)))
    assert found.thickness == pytest.approx(0.55 * INCH, abs=1e-12)
    assert found.direction == (0, 0, 1)  # all are as good; the first is taken, the same every time


@given(points, st.floats(1, 9))
def test_the_wall_of_a_sphere_in_a_sphere_is_what_its_offset_leaves(
    offset: Point, radius: float
) -> None:
    """R − r − d, of either sign; it lies where the offset points."""
    found = nested(part(Sphere(diameter=2 * radius), at=offset), part(BALL))
    d = np.linalg.norm(offset)
    assert found.thickness == pytest.approx(10.9 - radius - d, abs=1e-13)
    if d > 0.01:
        np.testing.assert_allclose(found.direction, offset / d, atol=1e-12)
        np.testing.assert_allclose(found.at, np.array(offset) * (1 + radius / d), atol=1e-3)


@given(points, turns, st.floats(0.5, 4))
def test_spheres_side_by_side_are_apart_by_their_centres_less_their_radii(
    offset: Point, rotate: Point, radius: float
) -> None:
    """D − r₁ − r₂; when negative, that is how far one must be moved to be clear."""
    centre = np.array([1.0, -2.0, 0.5])
    first = part(Sphere(diameter=2 * radius), (1, -2, 0.5))
    second = part(Sphere(diameter=3), offset, rotate)
    away = np.array(offset) - centre
    assume(np.linalg.norm(away) > 0.1)
    found = apart(first, second)
    assert found.thickness == pytest.approx(np.linalg.norm(away) - radius - 1.5, abs=1e-9)
    np.testing.assert_allclose(found.direction, away / np.linalg.norm(away), atol=1e-4)


@settings(max_examples=25)
@given(points, turns, st.tuples(*[st.floats(2, 12)] * 3))
def test_a_box_in_a_sphere_comes_nearest_with_its_farthest_corner(
    at: Point, rotate: Point, size: Point
) -> None:
    """|x| is convex, so over a box it is largest in a corner; the wall is R less that."""
    box = part(Box(size=size), at, rotate)
    corners = placed(box, CORNERS * np.array(size) / 2)
    reach = np.linalg.norm(corners, axis=1).max()
    assert nested(box, part(BALL)).thickness == pytest.approx(10.9 - reach, abs=1e-8)


@settings(max_examples=25)
@given(points, turns, turns)
def test_a_cylinder_in_a_tilted_box_comes_nearest_to_one_of_its_faces(
    at: Point, rotate: Point, tilt: Point
) -> None:
    """In a polytope the wall is least over its faces; h of a cylinder is r sin θ + ½H |cos θ|."""
    sides, at = np.array([16.0, 12.0, 14.0]), (at[0] / 3, at[1] / 3, at[2] / 3)
    cylinder = part(Cylinder(diameter=4, height=6), at, rotate)
    box = part(Box(size=(16, 12, 14)), (0, 0, 0), tilt)
    normals = np.vstack([np.eye(3), -np.eye(3)]) @ box.matrix[:3, :3].T
    x, y, z = cylinder.matrix[:3, :3].T @ normals.T
    h = normals @ at + 2 * np.hypot(x, y) + 3 * np.abs(z)
    expected = float(np.min(np.tile(sides / 2, 2) - h))
    assume(expected > 0)
    assert nested(cylinder, box).thickness == pytest.approx(expected, abs=1e-8)


@settings(max_examples=25)
@given(points, turns, turns, st.tuples(*[st.floats(1, 6)] * 3))
def test_boxes_side_by_side_agree_with_qhull(
    at: Point, rotate: Point, tilt: Point, size: Point
) -> None:
    """Apart and overlapping: the hull of all differences of corners, in oracles.distances."""
    first, second = part(Box(size=size), at, rotate), part(Box(size=(3, 4, 5)), (4, 1, 0), tilt)
    p = placed(first, CORNERS * np.array(size) / 2)
    q = placed(second, CORNERS * np.array([3, 4, 5]) / 2)
    assert apart(first, second).thickness == pytest.approx(distances.polytope_gap(p, q), abs=2e-8)


@given(st.floats(-4, 4), st.floats(0.2, 5), st.floats(0.2, 1.5))
def test_a_ring_round_a_sphere_on_its_line_is_apart_by_the_centre_lines_distance(
    height: float, radius: float, a: float
) -> None:
    """√(c² + h²) − a − R: from the sphere's centre to the ring's centre line, less both radii."""
    c = 5.9
    expected = np.hypot(c, height) - a - radius
    assume(expected > 0.01)
    found = apart(
        part(Ring(diameter=2 * c, thickness=2 * a)),
        part(Sphere(diameter=2 * radius), (0, 0, height)),
    )
    assert found.thickness == pytest.approx(expected, abs=2 * found.error)
    assert found.error < 1e-6


def test_a_ring_round_a_cylinder_is_apart_by_what_its_hole_leaves() -> None:
    """The wall is c − a − r, along the radius, at the ring's inner side."""
    found = apart(part(Ring(diameter=12, thickness=2)), part(Cylinder(diameter=7, height=9)))
    assert found.thickness == pytest.approx(1.5, abs=found.error)
    np.testing.assert_allclose(found.at, [5, 0, 0], atol=1e-3)
    np.testing.assert_allclose(found.direction, [-1, 0, 0], atol=1e-3)


@settings(max_examples=12)
@given(turns, st.tuples(*[st.floats(-2, 2)] * 3), st.floats(0.3, 1.5))
def test_a_sphere_anywhere_near_a_tilted_ring_is_apart_by_the_centre_lines_distance(
    rotate: Point, at: Point, radius: float
) -> None:
    """|p − centre line| − a − R, with ρ and z of the sphere's centre in the ring's own axes."""
    ring = part(Ring(diameter=10, thickness=1.6), rotate=rotate)
    sphere = part(Sphere(diameter=2 * radius), at)
    x, y, z = np.array(at) @ ring.matrix[:3, :3]
    expected = np.hypot(np.hypot(x, y) - 5, z) - 0.8 - radius
    assume(expected > 0.01)
    found = apart(sphere, ring)
    assert abs(found.thickness - expected) <= found.error
    assert found.error < 2e-2


@pytest.mark.parametrize("offset", [0.0, 1e-9, 1e-5, 1e-3, 0.05])
def test_a_ring_all_but_concentric_keeps_its_stated_error(offset: float) -> None:
    """It is c − a − R − e. Almost every place is as near: the hard case for branch and bound."""
    ring, sphere = part(Ring(diameter=10, thickness=1.6), (offset, 0, 0)), part(Sphere(diameter=5))
    found = apart(ring, sphere)
    assert abs(found.thickness - (5 - 0.8 - 2.5 - offset)) <= found.error
    assert found.error < 5e-3


def test_the_wall_names_the_part_the_host_and_the_neighbour() -> None:
    """One wall for each part with a host, then one for each pair in the same host; in file order.

    The mantle's is the difference of radii, the spindle's what its pole leaves: 3.74 − 3.05 − 0.30.
    """
    parts = [
        Part("cover", None, Sphere(diameter=8.58 * INCH), Placement()),
        Part("mantle", "cover", Sphere(diameter=7.48 * INCH), Placement()),
        Part(
            "spindle",
            "mantle",
            Spheroid(diameter=3.30 * INCH, height=6.10 * INCH),
            Placement(at=(0, 0, 0.30 * INCH)),
        ),
        Part(
            "keel",
            "spindle",
            Capsule(diameter=2.20 * INCH, height=5.00 * INCH),
            Placement(at=(0, 0, 0.20 * INCH)),
        ),
        Part("girdle", "mantle", Ring(diameter=4.60 * INCH, thickness=0.80 * INCH), Placement()),
    ]
    found = walls(parts)
    assert [(w.between, w.nested) for w in found] == [
        (("mantle", "cover"), True),
        (("spindle", "mantle"), True),
        (("keel", "spindle"), True),
        (("girdle", "mantle"), True),
        (("spindle", "girdle"), False),
    ]
    assert found[0].thickness == pytest.approx(0.55 * INCH, abs=1e-9)
    assert found[1].thickness == pytest.approx(0.39 * INCH, abs=1e-9)
    assert found[3].thickness == pytest.approx((3.74 - 2.30 - 0.40) * INCH, abs=1e-9)

    def spheroid(t: np.ndarray) -> np.ndarray:
        angle = np.pi * (np.clip(t, 0, 1) - 0.5)
        r, z = 1.65 * np.cos(angle), 3.05 * np.sin(angle) + 0.30
        return INCH * np.stack([r, z], axis=1)

    circle = arc((2.30 * INCH, 0), 0.40 * INCH, 0, 2 * np.pi)
    beside = distances.least_distance(
        [lambda u, _: np.insert(spheroid(u), 1, 0, axis=1)],
        [lambda u, _: np.insert(circle(u), 1, 0, axis=1)],
    )
    assert found[4].thickness == pytest.approx(beside, abs=1e-6)

    # A capsule reaches out of a spheroid along the normal at one of its ends' caps.
    theta = np.linspace(0, np.pi, 2_000_001)
    s, c = np.sin(theta), np.cos(theta)
    host = np.hypot(1.65 * s, 3.05 * c) + 0.30 * c
    keel = 1.10 + 1.40 * np.abs(c) + 0.20 * c
    assert found[2].thickness == pytest.approx(INCH * (host - keel).min(), abs=1e-9)

"""Walls against closed forms, against independent oracles, and against themselves moved about."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import combinations_with_replacement

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from geometry.distance import surface_wall
from geometry.parts import Part
from geometry.placement import Placement
from geometry.shapes import SHAPES, Shape
from geometry.shapes.box import Box
from geometry.shapes.capsule import Capsule
from geometry.shapes.cone import Cone
from geometry.shapes.cylinder import Cylinder
from geometry.shapes.dome import Dome
from geometry.shapes.ellipsoid import Ellipsoid
from geometry.shapes.revolved import Revolved
from geometry.shapes.ring import Ring
from geometry.shapes.sphere import Sphere
from geometry.shapes.spheroid import Spheroid
from geometry.support import section_wall, space_wall
from geometry.surface import Surface
from geometry.walls import Wall, wall, walls
from oracles import distances
from oracles.distances import arc, line, turned

Point = tuple[float, float, float]
INCH = 2.54
CORNERS = np.array(np.meshgrid([-1, 1], [-1, 1], [-1, 1])).reshape(3, -1).T
BALL = Sphere(diameter=21.8)

angles = st.floats(-180, 180)
points = st.tuples(*[st.floats(-3, 3)] * 3)
turns = st.tuples(angles, angles, angles)


def part(
    shape: Shape, at: Point = (0, 0, 0), rotate: Point = (0, 0, 0), stretch: Point = (1, 1, 1)
) -> Part:
    return Part("part", "host", shape, Placement(at, rotate, stretch))


def nested(inner: Part, host: Part) -> Wall:
    return wall(inner, host, nested=True)


def apart(first: Part, second: Part) -> Wall:
    return wall(first, second, nested=False)


def placed(of: Part, local: np.ndarray) -> np.ndarray:
    return local @ of.matrix[:3, :3].T + of.matrix[:3, 3]


def revolved(outline: Sequence[Sequence[float]]) -> Revolved:
    return Revolved.model_validate({"outline": [list(vertex) for vertex in outline]})


WAIST = ((0, -6), (4, -6), (2.5, 0), (4, 6), (0, 6))
"""A block with straight sides that lean in to a waist of radius 2.5 at z = 0."""
WAISTED = revolved(WAIST)


# Closed forms ------------------------------------------------------------------------------------


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
    assert found.thickness == pytest.approx(10.9 - radius - d, abs=1e-9)
    if d > 0.01:
        np.testing.assert_allclose(found.direction, offset / d, atol=1e-4)
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


@settings(max_examples=25, deadline=None)
@given(points, turns, st.tuples(*[st.floats(2, 12)] * 3))
def test_a_box_in_a_sphere_comes_nearest_with_its_farthest_corner(
    at: Point, rotate: Point, size: Point
) -> None:
    """|x| is convex, so over a box it is largest in a corner; the wall is R less that."""
    box = part(Box(size=size), at, rotate)
    corners = placed(box, CORNERS * np.array(size) / 2)
    reach = np.linalg.norm(corners, axis=1).max()
    assert nested(box, part(BALL)).thickness == pytest.approx(10.9 - reach, abs=1e-8)


@settings(max_examples=25, deadline=None)
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


@settings(max_examples=25, deadline=None)
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
    """c − a − r, along the radius, at the ring's inner side."""
    found = apart(part(Ring(diameter=12, thickness=2)), part(Cylinder(diameter=7, height=9)))
    assert found.thickness == pytest.approx(1.5, abs=found.error)
    np.testing.assert_allclose(found.at, [5, 0, 0], atol=1e-3)
    np.testing.assert_allclose(found.direction, [-1, 0, 0], atol=1e-3)


@settings(max_examples=12, deadline=None)
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
    """c − a − R − e. Almost every place is as near: the hard case for branch and bound."""
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


# The support formula does not hold for a host that isn't convex --------------------------------


def test_in_a_waisted_block_the_support_formula_is_wrong_and_ours_is_not() -> None:
    """A sphere at the waist is nearest to the waist's corner: 2.5 from its centre, less 2.

    The hull of the block is a cylinder of radius 4, which is all that a support function sees.
    """
    insert, block = part(Sphere(diameter=4)), part(WAISTED)
    naive, _, _ = space_wall(insert, block, nested=True)
    assert naive == pytest.approx(4 - 2, abs=1e-9)
    found = nested(insert, block)
    assert found.thickness == pytest.approx(2.5 - 2, abs=found.error)


def test_beside_a_ring_the_support_formula_is_wrong_and_ours_is_not() -> None:
    """A spindle in the hole of a ring is clear of it, but not of the ring's hull."""
    spindle, ring = part(Sphere(diameter=6)), part(Ring(diameter=10, thickness=2))
    naive, _, _ = space_wall(spindle, ring, nested=False)
    assert naive < -3
    assert apart(spindle, ring).thickness == pytest.approx(1, abs=1e-6)


@settings(max_examples=10, deadline=None)
@given(st.floats(-0.7, 0.7), st.floats(-0.7, 0.7), st.floats(-4, 4), turns)
def test_an_insert_off_the_axis_of_a_waisted_block_agrees_with_its_closed_form(
    x: float, y: float, z: float, rotate: Point
) -> None:
    """A sphere inside a body turned about z: only its centre's distance to the outline counts.

    So the wall is the distance of (ρ, z) from the outline's segments, less the radius.
    """
    insert = part(Sphere(diameter=2), (x, y, z), rotate)
    found = nested(insert, part(WAISTED))
    expected = distances.to_segments((np.hypot(x, y), z), np.array(WAIST, dtype=float)) - 1
    assert abs(found.thickness - expected) <= found.error + 1e-12
    assert found.error < 2e-3


WAIST_PATCHES = [turned(line(a, b)) for a, b in zip(WAIST[:-1], WAIST[1:], strict=True)]


@settings(max_examples=6, deadline=None)
@given(turns, st.tuples(*[st.floats(-0.3, 0.3)] * 3))
def test_an_ellipsoid_in_a_waisted_block_agrees_with_clouds(rotate: Point, at: Point) -> None:
    """Both as dense grids, their nearest points polished; the ellipsoid stays inside."""
    egg = part(Ellipsoid(diameters=(1.6, 2.4, 3.6)), at, rotate)
    axes = np.diag([0.8, 1.2, 1.8])
    sphere = turned(arc((0, 0), 1, -np.pi / 2, np.pi / 2))
    patch = distances.placed(sphere, egg.matrix[:3, :3] @ axes, at)
    expected = distances.least_distance([patch], WAIST_PATCHES)
    assert nested(egg, part(WAISTED)).thickness == pytest.approx(expected, abs=2e-4)


@settings(max_examples=5, deadline=None)
@given(turns, turns)
def test_a_box_beside_a_waisted_block_agrees_with_clouds(rotate: Point, tilt: Point) -> None:
    """The box may come nearest with a corner, an edge or a face."""
    box, block = part(Box(size=(3, 2, 4)), (9.5, 0, 1), rotate), part(WAISTED, rotate=tilt)
    half = np.array([1.5, 1.0, 2.0])
    faces = []
    for k in range(6):
        axis, sign = k % 3, 1.0 if k < 3 else -1.0

        def face(u: np.ndarray, v: np.ndarray, axis: int = axis, sign: float = sign) -> np.ndarray:
            p, (u, v) = np.zeros((len(u), 3)), np.clip((u, v), 0, 1)
            p[:, axis], p[:, (axis + 1) % 3], p[:, (axis + 2) % 3] = sign, 2 * u - 1, 2 * v - 1
            return placed(box, p * half)

        faces.append(face)
    sides = [distances.placed(p, block.matrix[:3, :3], (0, 0, 0)) for p in WAIST_PATCHES]
    expected = distances.least_distance(faces, sides, 60)
    assume(expected > 0.05)
    found = apart(box, block)
    assert found.thickness == pytest.approx(expected, abs=2e-4)
    assert found.thickness <= expected + 1e-6  # the oracle finds no less than the truth


# Bodies that cross, or lie on the wrong side -----------------------------------------------------


def profile_cloud(outline: Sequence[Sequence[float]], n: int) -> np.ndarray:
    ends = zip(outline[:-1], outline[1:], strict=True)
    return np.concatenate([line(a[:2], b[:2])(np.linspace(0, 1, n)) for a, b in ends])


@pytest.mark.parametrize(("radius", "height"), [(3.0, 0.0), (3.4, -1.0), (2.4, 4.5)])
def test_a_sphere_that_sticks_out_of_a_waisted_block_does_so_by_what_a_cloud_shows(
    radius: float, height: float
) -> None:
    """On the axis a half-plane tells it all: the farthest of the circle's points outside."""
    found = nested(part(Sphere(diameter=2 * radius), (0, 0, height)), part(WAISTED))
    circle = arc((0, height), radius, -np.pi / 2, np.pi / 2)(np.linspace(0, 1, 20_001))
    out = circle[~distances.in_polygon(circle, np.array(WAIST, dtype=float))]
    expected = distances.reach(out, profile_cloud(WAIST, 20_001))
    assert found.thickness == pytest.approx(-expected, abs=found.error + 1e-6)
    assert found.error < 2e-3
    assert expected > 0.1


def test_a_sphere_off_the_axis_that_sticks_out_of_a_block_does_so_by_the_same_amount() -> None:
    """As above, by the surfaces; clouds are coarser here, 0.05 cm."""
    at, radius = np.array([2.0, 0.4, -3.0]), 1.5
    found = nested(part(Sphere(diameter=3), (2, 0.4, -3)), part(WAISTED))
    points = at + radius * distances.directions(40_000, 1)
    section = np.stack([np.hypot(points[:, 0], points[:, 1]), points[:, 2]], axis=1)
    out = section[~distances.in_polygon(section, np.array(WAIST, dtype=float))]
    expected = distances.reach(out, profile_cloud(WAIST, 20_001))  # of turned bodies, in r and z
    assert found.thickness == pytest.approx(-expected, abs=found.error + 2e-3)
    assert expected > 0.2
    assert found.error < 2e-3


def test_a_ring_that_overlaps_a_cylinder_does_so_by_how_deep_it_reaches() -> None:
    """The ring's inner side lies at c − a = 4, the cylinder's at 4.3."""
    found = apart(part(Ring(diameter=10, thickness=2)), part(Cylinder(diameter=8.6, height=9)))
    assert found.thickness == pytest.approx(-0.3, abs=found.error)
    np.testing.assert_allclose(found.direction, [-1, 0, 0], atol=0.05)


def test_a_part_quite_outside_its_host_sticks_out_by_its_far_side() -> None:
    """A sphere of radius 1 at z = 10 over a flat top at z = 6: its far side is 5 away from it."""
    found = nested(part(Sphere(diameter=2), (0, 0, 10)), part(WAISTED))
    assert found.thickness == pytest.approx(-5, abs=found.error)


def test_a_neighbour_swallowed_whole_overlaps() -> None:
    """A sphere inside a waisted block that should stand beside it: no surface crosses."""
    for at in ((0, 0, -3), (0.3, 0, -3)):
        first, second = part(Sphere(diameter=1), at), part(WAISTED)
        assert apart(first, second).thickness < -1
        assert apart(second, first).thickness < -1


def test_a_hollow_host_holds_what_lies_in_its_material_but_not_what_fills_its_hollow() -> None:
    """A shell from 6 to 8: a small sphere at radius 7 is in it, a sphere of radius 7 isn't.

    The second's surface lies in the material all round, 1 from either side, but the hollow of
    radius 6 would be filled: the shell's inner surface reaches 1 into it.
    """
    shell = part(revolved([(0, -8, 1), (0, 8, 0), (0, 6, -1), (0, -6, 0)]))
    inside = nested(part(Sphere(diameter=1), (7, 0, 0)), shell)
    assert inside.thickness == pytest.approx(0.5, abs=inside.error)
    around = nested(part(Sphere(diameter=14)), shell)
    assert around.thickness == pytest.approx(-1, abs=around.error)
    within = apart(part(Sphere(diameter=10)), shell)
    assert within.thickness == pytest.approx(1, abs=within.error)


# Brute force over directions, for pairs of convex bodies ------------------------------------------

RANDOM = np.random.default_rng(7)
CONVEX = {
    "sphere": (Sphere(diameter=5), lambda n: np.full(len(n), 2.5)),
    "egg": (Ellipsoid(diameters=(3, 5, 8)), lambda n: np.linalg.norm(n * [1.5, 2.5, 4], axis=1)),
    "disc": (
        Spheroid(diameter=9, height=0.6),
        lambda n: np.linalg.norm(n * [4.5, 4.5, 0.3], axis=1),
    ),
    "box": (Box(size=(3, 4, 6)), lambda n: np.abs(n) @ [1.5, 2.0, 3.0]),
    "cylinder": (
        Cylinder(diameter=4, height=6),
        lambda n: 2 * np.hypot(n[:, 0], n[:, 1]) + 3 * np.abs(n[:, 2]),
    ),
    "capsule": (Capsule(diameter=3, height=8), lambda n: 1.5 + 2.5 * np.abs(n[:, 2])),
    "cone": (
        Cone(bottom=6, top=2, height=5),
        lambda n: np.maximum(
            3 * np.hypot(n[:, 0], n[:, 1]) - 2.5 * n[:, 2],
            np.hypot(n[:, 0], n[:, 1]) + 2.5 * n[:, 2],
        ),
    ),
    "half ball": (
        Dome(sphere=6, height=3),
        lambda n: np.where(n[:, 2] > 0, 3, 3 * np.hypot(n[:, 0], n[:, 1])),
    ),
}
"""Shapes, and their support functions for unit n, written down from their definitions."""
HOSTS = {
    "ball": (BALL, lambda n: np.full(len(n), 10.9)),
    "box": (Box(size=(19, 20, 21)), lambda n: np.abs(n) @ [9.5, 10.0, 10.5]),
    "cylinder": (
        Cylinder(diameter=18, height=20),
        lambda n: 9 * np.hypot(n[:, 0], n[:, 1]) + 10 * np.abs(n[:, 2]),
    ),
    "egg": (
        Ellipsoid(diameters=(17, 20, 24)),
        lambda n: np.linalg.norm(n * [8.5, 10, 12], axis=1),
    ),
}


def h_placed(of: Part, h: Callable[[np.ndarray], np.ndarray], n: np.ndarray) -> np.ndarray:
    """h(n) = |Aᵀn| h(Aᵀn/|Aᵀn|) + t·n."""
    local = n @ of.matrix[:3, :3]
    length = np.linalg.norm(local, axis=1)
    return length * h(local / length[:, None]) + n @ of.matrix[:3, 3]


@pytest.mark.parametrize("inner", CONVEX)
@pytest.mark.parametrize("outer", HOSTS)
def test_no_direction_shows_a_thinner_wall_in_a_convex_host(inner: str, outer: str) -> None:
    """15 000 directions and Nelder–Mead from the best three; both only ever find too much."""
    tilt, turn = RANDOM.uniform(-90, 90, (2, 3))
    shape, h = CONVEX[inner]
    host_shape, h_host = HOSTS[outer]
    inside = part(shape, tuple(RANDOM.uniform(-3, 3, 3)), tuple(turn))
    host = part(host_shape, (0.2, -0.1, 0.3), tuple(tilt))
    expected = distances.least_over_directions(
        lambda n: h_placed(host, h_host, n) - h_placed(inside, h, n)
    )
    found = nested(inside, host).thickness
    assert found <= expected + 1e-9
    assert found == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize(("first", "second"), combinations_with_replacement(CONVEX, 2))
def test_no_direction_shows_convex_neighbours_farther_apart(first: str, second: str) -> None:
    """The same with the sign turned; near or overlapping, as it comes."""
    tilt, turn = RANDOM.uniform(-90, 90, (2, 3))
    one = part(CONVEX[first][0], tuple(RANDOM.uniform(-5, -1, 3)), tuple(turn))
    two = part(CONVEX[second][0], tuple(RANDOM.uniform(0, 3, 3)), tuple(tilt))
    expected = -distances.least_over_directions(
        lambda n: h_placed(one, CONVEX[first][1], n) + h_placed(two, CONVEX[second][1], -n)
    )
    found = apart(one, two)
    assert found.thickness >= expected - 1e-9
    assert found.thickness == pytest.approx(expected, abs=1e-3)
    across = np.array(found.direction)
    reached = one.support_points(across[None])[0] @ across
    assert np.array(found.at) @ across == pytest.approx(reached, abs=1e-6)


# Roads agree --------------------------------------------------------------------------------------

ON_LINE = [
    (Spheroid(diameter=8, height=15), BALL, 0.6),
    (Capsule(diameter=5, height=12), Spheroid(diameter=8.4, height=15.5), 0.4),
    (Cylinder(diameter=6, height=9), Cone(bottom=14, top=9, height=13), -0.5),
    (Dome(sphere=9, height=6), Cylinder(diameter=12, height=15), -2.0),
    (Cone(bottom=8, top=0, height=7), BALL, 1.0),
]


@pytest.mark.parametrize(("inner", "outer", "height"), ON_LINE)
@pytest.mark.parametrize("flip", [0, 180])
def test_the_wall_is_the_same_by_section_by_support_by_curves_and_by_surfaces(
    inner: Shape, outer: Shape, height: float, flip: float
) -> None:
    """Four ways to the same number, on a common line that is tilted."""
    host = part(outer, (0.3, -0.4, 0.2), (25, 40, 10))
    way = 1 if flip == 0 else -1
    tilt = (25, 40, 10) if flip == 0 else (25 + 180, 40, 10)
    inside = part(inner, tuple(host.matrix[:3, 3] + height * host.matrix[:3, 2]), tilt)
    found = nested(inside, host)
    thick, _, _ = space_wall(inside, host, nested=True)
    assert found.thickness == pytest.approx(thick, abs=2e-9)
    profile = inside.profile
    assert profile is not None
    assert host.profile is not None
    moved = profile.placed(1, way, height)
    by_section, _, _ = section_wall(moved, host.profile, nested=True)
    assert found.thickness == pytest.approx(by_section, abs=2e-9)
    curves = surface_wall(Surface.turned(moved, 0), Surface.turned(host.profile, 0), nested=True)
    assert found.thickness == pytest.approx(curves.thickness, abs=curves.error + 2e-9)
    if found.thickness > 0:
        surfaces = surface_wall(inside.surface, host.surface, nested=True)
        assert found.thickness == pytest.approx(surfaces.thickness, abs=surfaces.error + 2e-9)


def test_a_stretch_that_is_even_across_keeps_a_part_on_its_line() -> None:
    """A sphere stretched by 0.5, 0.5, 2 is a spheroid of 4 by 16 in a sphere of 20: 10 − 8."""
    found = nested(part(Sphere(diameter=8), stretch=(0.5, 0.5, 2)), part(Sphere(diameter=20)))
    assert found.thickness == pytest.approx(2, abs=1e-12)


def test_a_stretch_that_is_uneven_across_leaves_the_line() -> None:
    """A ring stretched by 1.5 along x reaches 1.5 (c + a) there."""
    found = nested(part(Ring(diameter=8, thickness=1), stretch=(1.5, 1, 1)), part(BALL))
    assert found.thickness == pytest.approx(10.9 - 1.5 * 4.5, abs=1e-9)


# Laws ---------------------------------------------------------------------------------------------

PAIRS = [
    (part(Spheroid(diameter=8, height=14), (0, 0, 1)), part(BALL), True),
    (part(Box(size=(3, 4, 5)), (1, 2, 0), (10, 20, 30)), part(BALL), True),
    (part(Ellipsoid(diameters=(4, 5, 9)), (1, 0, 0.5), (15, 0, 0)), part(BALL), True),
    (part(Ellipsoid(diameters=(4, 5, 9)), (1, 0, 0.5), (80, 0, 0)), part(BALL), True),
    (part(Capsule(diameter=2, height=5), (3, 0, 0), (0, 20, 0)), part(Cylinder(diameter=3, height=4)), False),
    (part(Ring(diameter=11, thickness=2)), part(Spheroid(diameter=8, height=15), (0, 0, 0.7)), False),
    (part(Sphere(diameter=2.5), (0.6, 0.2, 2)), part(WAISTED), True),
    (part(Sphere(diameter=3), (0, 0, -2)), part(WAISTED), True),
    (part(Ring(diameter=9, thickness=1), (0.3, 0, 0), (5, 0, 0)), part(WAISTED), False),
]  # fmt: skip
IDS = ["spheroid", "box", "egg 15", "egg 80", "inserts", "ring", "insert", "on axis", "tilted ring"]


def shifted(of: Part, by: np.ndarray) -> Part:
    p = of.placement
    x, y, z = (float(a + b) for a, b in zip(p.at, by, strict=True))
    return Part(of.name, of.inside, of.shape, Placement((x, y, z), p.rotate, p.stretch))


@pytest.mark.parametrize(("inner", "outer", "is_nested"), PAIRS, ids=IDS)
def test_moving_a_part_toward_the_wall_takes_as_much_off_it(
    inner: Part, outer: Part, is_nested: bool
) -> None:
    """Along the direction the wall falls as fast as the part moves, whatever the bodies' curves."""
    before = wall(inner, outer, nested=is_nested)
    delta = min(0.1, before.thickness / 3)
    after = wall(shifted(inner, delta * np.array(before.direction)), outer, nested=is_nested)
    loose = 2e-4 * delta + before.error + after.error
    assert after.thickness == pytest.approx(before.thickness - delta, abs=loose)


def scaled(of: Part, s: float) -> Part:
    p = of.placement
    at, stretch = (tuple(s * np.array(v)) for v in (p.at, p.stretch))
    return Part(of.name, of.inside, of.shape, Placement(at, p.rotate, stretch))  # type: ignore[arg-type]


@pytest.mark.parametrize(("inner", "outer", "is_nested"), PAIRS, ids=IDS)
def test_scaling_everything_scales_the_wall(inner: Part, outer: Part, is_nested: bool) -> None:
    before = wall(inner, outer, nested=is_nested)
    after = wall(scaled(inner, 1.7), scaled(outer, 1.7), nested=is_nested)
    loose = 1.7 * before.error + after.error
    assert after.thickness == pytest.approx(1.7 * before.thickness, abs=loose)


class Rotated(Placement):
    """A placement whose matrix is turned as a whole: tests need any rotation of the scene."""

    whole = np.eye(4)

    @property
    def matrix(self) -> np.ndarray:
        return self.whole @ super().matrix


@pytest.mark.parametrize(("inner", "outer", "is_nested"), PAIRS, ids=IDS)
def test_turning_the_whole_scene_leaves_the_wall(inner: Part, outer: Part, is_nested: bool) -> None:
    T = np.eye(4)
    T[:3, :3] = Placement(rotate=(37, -62, 118)).matrix[:3, :3]

    def rotated(of: Part) -> Part:
        p = Rotated(of.placement.at, of.placement.rotate, of.placement.stretch)
        object.__setattr__(p, "whole", T)
        return Part(of.name, of.inside, of.shape, p)

    before = wall(inner, outer, nested=is_nested)
    after = wall(rotated(inner), rotated(outer), nested=is_nested)
    assert after.thickness == pytest.approx(before.thickness, abs=before.error + after.error)


@pytest.mark.parametrize(("inner", "outer", "is_nested"), PAIRS, ids=IDS)
def test_the_wall_lies_on_the_parts_surface_and_ends_on_the_others(
    inner: Part, outer: Part, is_nested: bool
) -> None:
    """`at` is on the part, and a wall's thickness on along `direction` is on the other's surface.

    A little short of either surface is inside the one and not yet in (or still in) the other.
    """
    found = wall(inner, outer, nested=is_nested)
    at, n = np.array(found.at), np.array(found.direction)
    assert np.linalg.norm(n) == pytest.approx(1, abs=1e-9)
    steps = np.array([-1e-3, 1e-3])
    on_part = inner.surface.inside(at + steps[:, None] * n)
    on_other = outer.surface.inside(at + (found.thickness + steps)[:, None] * n)
    assert list(on_part) == [True, False]
    assert list(on_other) == [is_nested, not is_nested]


def test_a_cylinder_faces_a_sphere_beside_it_at_the_spheres_height() -> None:
    """Its side is a straight line: both ends are as far out, the nearest point lies between."""
    for tilt in ((0, 0, 0), (0, 35, 0)):
        sphere_at = (5 * np.cos(np.radians(tilt[1])), 0, -5 * np.sin(np.radians(tilt[1])))
        cylinder = part(Cylinder(diameter=4, height=9), (0, 0, 0), tilt)
        found = apart(cylinder, part(Sphere(diameter=2), sphere_at))
        assert found.thickness == pytest.approx(2, abs=1e-9)
        np.testing.assert_allclose(found.at, np.array(sphere_at) * 2 / 5, atol=1e-4)


def test_every_shape_has_a_surface_that_its_support_points_lie_on() -> None:
    """Two descriptions of one solid: no cell's middle lies beyond a support plane, and nearly on it.

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

"""Bars: closed forms, faces in fans, walls and sections."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from oracles import bars, distances, meshes, quadrature
from oracles.distances import arc, turned
from oracles.drawings import drawn, sampled, unit_directions
from oracles.quadrature import apart as off
from oracles.strategies import sections
from pydantic import ValidationError
from scenes import BALL, Point, apart, extruded, nested, part, turns

from geometry.moments import Moments
from geometry.outlines.faults import faults
from geometry.outlines.outline import Outline
from geometry.parts import Part
from geometry.placement import Placement
from geometry.shapes.box import Box
from geometry.shapes.cylinder import Cylinder
from geometry.shapes.ellipsoid import Ellipsoid
from geometry.shapes.sphere import Sphere
from geometry.surfaces.face import convex, fans
from geometry.surfaces.surface import flux_moments

L_PROFILE = [[0, 0], [4, 0], [4, 1], [1, 1], [1, 5], [0, 5]]
STADIUM = [[-3, -2], [3, -2, 1], [3, 2], [-3, 2, 1]]
THIN_C = [[0, 0, 1], [4, 0], [3.99, 0, -1], [0.01, 0]]
"""Half a ring, 0.01 thick on a radius of 2."""
HORN = [[-1, 0, 1], [1, 0, -0.98]]
"""A crescent: its horns are sharper than a fifth of a degree."""
BUCKLED = [[-3, -2, 0.3], [3, -2, -0.5], [3, 2, 0.4], [0, 2.5, -0.2], [-3, 2, -0.6]]
"""Arcs both ways; all of it is seen from (0, 0)."""
OUTLINES = [L_PROFILE, STADIUM, THIN_C, HORN, BUCKLED]


def moved(shape: Any, *at: float) -> Moments:
    return shape.moments().moved(Placement(at=(at[0], at[1], 0.0)).matrix)


# Closed forms


def test_a_rectangle_makes_a_box() -> None:
    bar, box = extruded([[-2, -3], [2, -3], [2, 3], [-2, 3]], 5), Box(size=(4, 6, 5))
    assert off(bar.moments().J, box.moments().J) < 1e-15
    d = unit_directions()
    heights = [np.sum(s.support_points(d) * d, axis=1) for s in (bar, box)]
    np.testing.assert_allclose(*heights, atol=1e-12)
    flats = [{tuple(n) for n in np.round(s.flats(), 12) + 0.0} for s in (bar, box)]
    assert flats[0] == flats[1]
    assert bar.convex


def test_a_circle_of_two_arcs_makes_a_cylinder() -> None:
    bar, cylinder = extruded([[-2, 0, 1], [2, 0, 1]], 5), Cylinder(diameter=4, height=5)
    assert off(bar.moments().J, cylinder.moments().J) < 1e-14
    assert bar.convex
    assert len(bar.flats()) == 2


def test_a_half_round_bar_has_its_handbook_figures() -> None:
    """A half disc's centroid is 4r/3π above its flat, ∫ x² = ∫ y² = πr⁴/8."""
    r, h = 3.0, 5.0
    J = extruded([[-r, 0], [r, 0, 1]], h).moments().J
    area, second = np.pi * r**2 / 2, np.pi * r**4 / 8
    expected = np.diag([second * h, second * h, area * h**3 / 12, area * h])
    expected[1, 3] = expected[3, 1] = 4 * r / (3 * np.pi) * area * h
    assert off(J, expected) < 1e-14


def test_an_l_profile_is_two_boxes() -> None:
    whole = moved(Box(size=(4, 1, 7)), 2, 0.5) + moved(Box(size=(1, 4, 7)), 0.5, 3)
    bar = extruded(L_PROFILE, 7)
    assert off(bar.moments().J, whole.J) < 1e-14
    assert not bar.convex


def test_a_stadium_is_a_box_and_a_cylinder_in_two_halves() -> None:
    """The halves put together make a cylinder; apart, each is moved by Steiner."""
    right, left = (extruded([[0, -2 * way, 1], [0, 2 * way]], 5) for way in (1, -1))
    both, cylinder = right.moments() + left.moments(), Cylinder(diameter=4, height=5).moments()
    assert off(both.J, cylinder.J) < 1e-14
    whole = moved(Box(size=(6, 4, 5)), 0, 0) + moved(right, 3, 0) + moved(left, -3, 0)
    assert off(extruded(STADIUM, 5).moments().J, whole.J) < 1e-14
    assert extruded(STADIUM, 5).convex


@given(sections(), st.floats(0.5, 9))
@settings(max_examples=30)
def test_a_mesh_comes_closer_by_a_quarter_each_time(outline: list[list[float]], h: float) -> None:
    """By trimesh's mass properties: chords miss an arc by the square of their length."""
    bar = extruded(outline, h)
    size = np.sqrt(np.diag(bar.moments().J))
    errors = [
        (meshes.moments(bars.mesh({"outline": outline, "height": h}, n)) - bar.moments().J)
        / np.outer(size, size)
        for n in (32, 64)
    ]
    np.testing.assert_allclose(errors[0], 4 * errors[1], atol=1e-6)
    assert np.abs(errors[1]).max() < 1e-4


# Faces in fans


@st.composite
def wild(draw: Any) -> list[list[float]]:
    """Corners round a middle, near and far, with strong arcs between them."""
    count = draw(st.integers(2, 7))
    r = draw(st.lists(st.floats(0.5, 5), min_size=count, max_size=count))
    bends = st.one_of(st.just(0.0), st.floats(0.01, 1.5), st.floats(-1.5, -0.01))
    b = draw(st.lists(bends, min_size=count, max_size=count))
    angle = 2 * np.pi * np.arange(count) / count
    return [
        [float(x * np.cos(a)), float(x * np.sin(a)), y] for x, a, y in zip(r, angle, b, strict=True)
    ]


def check_fans(vertices: np.ndarray) -> None:
    """No line of a fan leaves the face, and together they are as large as it is, none turned."""
    outline = Outline(vertices)
    cut = fans(outline)
    assert cut is not None
    u, weights = np.polynomial.legendre.leggauss(24)
    p = cut.edges.points((u[:, None] + 1) / 2)
    swept = (np.conj(p - cut.apex) * cut.edges.tangents((u[:, None] + 1) / 2)).imag
    assert swept.min() > -1e-12 * outline.size**2
    area = float(np.sum(weights / 4 @ swept))
    assert area == pytest.approx(outline.area_moments()[2, 2], rel=1e-12)
    for share in (0.1, 0.5, 0.9, 1 - 1e-7):
        lines = (cut.apex + share * (p - cut.apex)).ravel()
        inside = outline.contains(np.stack([lines.real, lines.imag], axis=1))
        rim = outline.edges
        gap = np.abs(rim.points(rim.nearest(lines[:, None])) - lines[:, None]).min(axis=1)
        assert np.all(inside | (gap < 1e-9 * outline.size))


@pytest.mark.parametrize("outline", OUTLINES)
def test_fans_lie_within_the_face_and_fill_it(outline: list[list[float]]) -> None:
    check_fans(drawn(outline))
    check_fans(drawn(outline) * [-1, 1, -1])


@given(wild())
@settings(max_examples=150)
def test_fans_of_wild_outlines_do_too(outline: list[list[float]]) -> None:
    vertices = drawn(outline)
    assume(not faults(vertices, axis=False))
    assume(fans(Outline(vertices)) is not None)
    check_fans(vertices)


@given(wild())
@settings(max_examples=150)
def test_convex_outlines_are_those_whose_middles_are_all_inside(outline: list[list[float]]) -> None:
    """Tried on points of the rim, drawn in by a billionth, that crowd at the corners.

    What is bent by less than shows there is left out.
    """
    vertices = drawn(outline)
    assume(not faults(vertices, axis=False))
    face = Outline(vertices)
    along = sampled(face.vertices, 1000).reshape(-1, 1000)
    after = np.roll(along[:, 0], -1)
    turns = np.angle((np.roll(along[:, 1], -1) - after) / (after - along[:, -1]))
    assume(np.all(np.abs(turns) > 0.02))
    crowd = np.geomspace(1e-5, 0.02, 5)
    t = np.concatenate([crowd, np.linspace(0.03, 0.97, 16), 1 - crowd])
    rim = face.edges.points(t[:, None]).ravel()
    i, j = np.triu_indices(len(rim), 1)
    middle = rim.mean()
    middles = middle + ((rim[i] + rim[j]) / 2 - middle) * (1 - 1e-9)
    all_inside = np.all(face.contains(np.stack([middles.real, middles.imag], axis=1)))
    assert convex(face) == all_inside


@pytest.mark.parametrize("outline", OUTLINES)
def test_the_flux_through_it_is_what_the_outline_gives(outline: list[list[float]]) -> None:
    bar = extruded(outline, 6)
    assert off(flux_moments(bar.surface()).J, bar.moments().J) < 1e-12


def test_a_corner_of_no_angle_is_refused() -> None:
    """Two arcs that leave (0, 0) along +x, one twice as bent: chords would cross for ever."""
    ends = [2 * np.exp(0.3j), 1.8 * np.exp(0.6j)]
    outline = [
        [0, 0, float(np.tan(0.15))],
        [ends[0].real, ends[0].imag],
        [ends[1].real, ends[1].imag, -float(np.tan(0.3))],
    ]
    assert not faults(drawn(outline), axis=False)
    with pytest.raises(ValidationError) as caught:
        extruded(outline, 3)
    (error,) = caught.value.errors()
    assert error["msg"] == (
        "outline comes too close to itself, or has a corner with zero angle; "
        "keep its edges apart, and blunt a corner where arcs meet without an angle"
    )


# Walls


def to_rim(point: Point, outline: list[list[float]]) -> float:
    """The distance in the plane from an outline, by 20 000 points on each edge."""
    return float(np.abs(sampled(drawn(outline), 20_000) - complex(*point[:2])).min())


@given(st.floats(-1.2, 1.2), st.floats(-0.8, 0.8), st.floats(-2.5, 2.5), st.floats(0.2, 0.6))
@settings(max_examples=15)
def test_a_sphere_in_a_bar_is_as_far_from_it_as_its_centre_less_its_radius(
    x: float, y: float, z: float, radius: float
) -> None:
    """From inside, the nearest of the sides is as in the plane, and of the ends straight on."""
    tilt = (20.0, 30.0, 40.0)
    host = part(extruded(BUCKLED, 7), rotate=tilt)
    x, y, z = (host.matrix[:3, :3] @ [x, y, z]).tolist()
    inner = host.matrix[:3, :3].T @ [x, y, z]
    expected = min(to_rim(tuple(inner), BUCKLED), 3.5 - abs(inner[2])) - radius
    found = nested(part(Sphere(diameter=2 * radius), (x, y, z)), host)
    assert found.error < 2e-3
    assert found.thickness == pytest.approx(expected, abs=found.error + 1e-6)


@given(st.floats(-6, 6), st.floats(-6, 6), st.floats(-6, 6))
@settings(max_examples=25)
def test_a_sphere_beside_a_bar_is_as_far_from_it_as_its_centre_less_its_radius(
    x: float, y: float, z: float
) -> None:
    """Outside, what is missing in the plane and along the height are two legs of a triangle."""
    outline = drawn(L_PROFILE)
    in_plane = bool(Outline(outline).contains(np.array([[x, y]]))[0])
    beside = 0.0 if in_plane else to_rim((x, y, z), L_PROFILE)
    expected = np.hypot(beside, max(abs(z) - 2.0, 0.0)) - 0.5
    assume(expected > 0.01)
    found = apart(part(Sphere(diameter=1), (x, y, z)), part(extruded(L_PROFILE, 4)))
    assert found.thickness == pytest.approx(expected, abs=found.error + 1e-6)


@settings(max_examples=6)
@given(turns, st.tuples(*[st.floats(-0.5, 0.5)] * 3))
def test_an_egg_in_a_bar_agrees_with_clouds(rotate: Point, at: Point) -> None:
    egg = part(Ellipsoid(diameters=(1.0, 1.6, 2.4)), at, rotate)
    sphere = turned(arc((0, 0), 1, -np.pi / 2, np.pi / 2))
    patch = distances.placed(sphere, egg.matrix[:3, :3] @ np.diag([0.5, 0.8, 1.2]), at)
    sides = bars.patches({"outline": BUCKLED, "height": 4.0}, (0, 0))
    expected = distances.least_distance([patch], sides)
    found = nested(egg, part(extruded(BUCKLED, 4)))
    assert found.thickness <= expected + 1e-6  # the oracle finds no less than the truth
    assert found.thickness == pytest.approx(expected, abs=2e-3)


@settings(max_examples=8)
@given(turns, turns)
@pytest.mark.slow
def test_two_bars_side_by_side_agree_with_clouds(rotate: Point, tilt: Point) -> None:
    one = part(extruded(BUCKLED, 4), rotate=rotate)
    other = part(extruded(BUCKLED, 3), (8.5, 0.5, -0.3), tilt)
    clouds = [
        [
            distances.placed(p, of.matrix[:3, :3], of.placement.at)
            for p in bars.patches({"outline": BUCKLED, "height": h}, (0, 0))
        ]
        for of, h in ((one, 4.0), (other, 3.0))
    ]
    expected = distances.least_distance(*clouds, n=40)
    assume(expected > 0.05)
    found = apart(one, other)
    assert found.thickness <= expected + 1e-6
    assert found.thickness == pytest.approx(expected, abs=3e-3)


@settings(max_examples=8)
@given(turns, st.tuples(*[st.floats(-2, 2)] * 3))
def test_in_a_ball_a_bar_reaches_as_far_as_its_rim(rotate: Point, at: Point) -> None:
    """Whatever its outline: the farthest of the points round both ends."""
    bar = part(extruded(BUCKLED, 7), at, rotate)
    rim = sampled(drawn(BUCKLED), 4000)
    ends = [np.column_stack([rim.real, rim.imag, 0 * rim.real + z]) for z in (-3.5, 3.5)]
    reach = np.linalg.norm(np.vstack(ends) @ bar.matrix[:3, :3].T + bar.matrix[:3, 3], axis=1).max()
    assert nested(bar, part(BALL)).thickness == pytest.approx(10.9 - reach, abs=1e-5)


def test_a_sphere_that_sticks_out_of_an_l_does_so_by_what_a_cloud_shows() -> None:
    """Through the inner corner's two sides; a sphere's points and the profile's, both dense."""
    at, radius = np.array([0.5, 0.6, 0.2]), 1.0
    found = nested(part(Sphere(diameter=2), tuple(at)), part(extruded(L_PROFILE, 7)))
    points = at + radius * distances.directions(60_000, 1)
    out = ~distances.in_polygon(points[:, :2], np.array(L_PROFILE, dtype=float))
    rim = sampled(drawn(L_PROFILE), 2000)
    expected = distances.reach(points[out][:, :2], np.column_stack([rim.real, rim.imag]))
    assert found.thickness == pytest.approx(-expected, abs=found.error + 5e-3)
    assert found.error < 2e-3
    assert expected > 0.3


# Sections


def area(of: Part) -> float:
    return sum(
        float(abs(np.linalg.det(loop.matrix)) * loop.outline.area_moments()[2, 2])
        for loop in of.section()
    )


ROTATIONS = [(0, 0, 0), (0, 40, 0), (90, 0, 0), (90, 0, 30), (0, 0, 50), (20, 30, 40), (63, 0, 12)]


@pytest.mark.parametrize("rotate", ROTATIONS)
@pytest.mark.parametrize("outline", [L_PROFILE, STADIUM, BUCKLED])
def test_slices_make_up_the_volume(rotate: Point, outline: list[list[float]]) -> None:
    """∫ area dy between the heights where its law changes: at the corners of either end.

    An arc may end level with the plane there, and its area begin like a power of 3/2: Gauss's
    nodes evenly in an angle.
    """
    shape, stretch = extruded(outline, 5), (1.0, 1.2, 0.9)
    of = part(shape, rotate=rotate, stretch=stretch)
    d = np.array([of.matrix[1, :3], -of.matrix[1, :3]])
    rim = shape.vertices()[:, :2]
    arcs = Outline(shape.vertices()).edges
    level = [arcs.points(arcs.farthest(np.array(complex(*n[:2])))) for n in d if np.any(n[:2])]
    points = np.vstack([rim, *(np.stack([p.real, p.imag], axis=1) for p in level)])
    heights = np.concatenate([points @ d[0, :2] + d[0, 2] * z for z in (-2.5, 2.5)])
    breaks = np.unique(np.round(heights, 12))
    nodes, weights = np.polynomial.legendre.leggauss(24)
    u = (nodes + 1) * np.pi / 2
    volume = 0.0
    for low, high in pairwise(breaks):
        y = (low + high) / 2 - (high - low) / 2 * np.cos(u)
        found = [area(part(shape, (0, -at, 0), rotate, stretch)) for at in y]
        volume += np.sum(weights * np.sin(u) * found) * np.pi * (high - low) / 4
    assert volume == pytest.approx(of.moments().volume, rel=1e-10)


@pytest.mark.parametrize("rotate", ROTATIONS)
def test_a_rectangle_is_cut_as_a_box_is(rotate: Point) -> None:
    bar = part(extruded([[-2, -3], [2, -3], [2, 3], [-2, 3]], 5), (0.1, 0.7, 0.2), rotate)
    box = part(Box(size=(4, 6, 5)), (0.1, 0.7, 0.2), rotate)
    assert area(bar) == pytest.approx(area(box), rel=1e-12)
    assert all(loop.error == 0 for loop in bar.section())


def test_a_trough_cut_through_both_legs_shows_two_pieces() -> None:
    """A trough: two legs 1 wide above y = 1, one foot 4 wide below."""
    trough = extruded([[0, 0], [4, 0], [4, 5], [3, 5], [3, 1], [1, 1], [1, 5], [0, 5]], 7)
    assert [len(part(trough, (0, -y, 0)).section()) for y in (-1, 0.5, 3, 6)] == [0, 1, 2, 0]
    assert area(part(trough, (0, -3, 0))) == pytest.approx(2 * 7, rel=1e-14)
    assert area(part(trough, (0, -0.5, 0))) == pytest.approx(4 * 7, rel=1e-14)


def test_quadrature_knows_an_l() -> None:
    """The oracle itself, by hand: 8 cm² times 2."""
    J = quadrature.moments("extruded", {"outline": L_PROFILE, "height": 2.0})
    assert J[3, 3] == pytest.approx(16)

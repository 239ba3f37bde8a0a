"""Walls of solids that aren't convex, and of solids that cross."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from oracles import distances
from oracles.distances import arc, line, turned
from scenes import (
    WAIST,
    WAISTED,
    Point,
    apart,
    nested,
    part,
    placed,
    revolved,
    turns,
)

from geometry.shapes.box import Box
from geometry.shapes.cylinder import Cylinder
from geometry.shapes.ellipsoid import Ellipsoid
from geometry.shapes.ring import Ring
from geometry.shapes.sphere import Sphere
from geometry.walls.convex_bodies import space_wall


def test_in_a_waisted_block_the_support_formula_is_wrong_and_ours_is_not() -> None:
    """A sphere at the waist is nearest to the waist's corner: 2.5 from its centre, less 2.

    The hull of the block is a cylinder of radius 4, which is all that a support function sees.
    """
    insert, block = part(Sphere(diameter=4)), part(WAISTED)
    naive = space_wall(insert, block, nested=True).thickness
    assert naive == pytest.approx(4 - 2, abs=1e-9)
    found = nested(insert, block)
    assert found.thickness == pytest.approx(2.5 - 2, abs=found.error)


def test_beside_a_ring_the_support_formula_is_wrong_and_ours_is_not() -> None:
    """A spindle in the hole of a ring is clear of it, but not of the ring's hull."""
    spindle, ring = part(Sphere(diameter=6)), part(Ring(diameter=10, thickness=2))
    naive = space_wall(spindle, ring, nested=False).thickness
    assert naive < -3
    assert apart(spindle, ring).thickness == pytest.approx(1, abs=1e-6)


@settings(max_examples=10)
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


WAIST_PATCHES = [turned(line(a, b)) for a, b in pairwise(WAIST)]


@settings(max_examples=6)
@given(turns, st.tuples(*[st.floats(-0.3, 0.3)] * 3))
def test_an_ellipsoid_in_a_waisted_block_agrees_with_clouds(rotate: Point, at: Point) -> None:
    """Both as dense grids, their nearest points polished; the ellipsoid stays inside."""
    egg = part(Ellipsoid(diameters=(1.6, 2.4, 3.6)), at, rotate)
    axes = np.diag([0.8, 1.2, 1.8])
    sphere = turned(arc((0, 0), 1, -np.pi / 2, np.pi / 2))
    patch = distances.placed(sphere, egg.matrix[:3, :3] @ axes, at)
    expected = distances.least_distance([patch], WAIST_PATCHES)
    found = nested(egg, part(WAISTED))
    assert found.thickness <= expected + 1e-6  # the oracle finds no less than the truth
    assert found.thickness == pytest.approx(expected, abs=2e-3)


@settings(max_examples=4)
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
    expected = distances.least_distance(faces, sides)
    assume(expected > 0.05)
    found = apart(box, block)
    assert found.thickness <= expected + 1e-6  # the oracle finds no less than the truth
    assert found.thickness == pytest.approx(expected, abs=2e-3)


def profile_cloud(outline: Sequence[Sequence[float]], n: int) -> np.ndarray:
    along = np.linspace(0, 1, n)
    return np.concatenate([line(a, b)(along) for a, b in pairwise(outline)])


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


@pytest.mark.turns(3)
@pytest.mark.parametrize("tilt", [(0, 0, 0), (20, 0, 0)])
@pytest.mark.parametrize("gap", [0.0, 1e-6, -1e-6])
def test_bodies_that_all_but_touch_are_neither_missed_nor_made_up(tilt: Point, gap: float) -> None:
    """A ring's hole of radius 4 − gap beside a sphere of radius 1 that fits it from within."""
    ring = part(Ring(diameter=10, thickness=2), rotate=tilt)
    sphere = part(Sphere(diameter=2), (3 - gap, 0, 0))
    found = apart(sphere, ring)
    assert abs(found.thickness - gap) <= found.error
    assert found.error < 2e-2


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

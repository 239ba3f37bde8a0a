"""Walls of convex bodies against brute force over directions, and by each road there is."""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations_with_replacement

import numpy as np
import pytest
from oracles import distances
from scenes import (
    BALL,
    apart,
    nested,
    part,
)

from geometry.parts import Part
from geometry.shapes import Shape
from geometry.shapes.box import Box
from geometry.shapes.capsule import Capsule
from geometry.shapes.cone import Cone
from geometry.shapes.cylinder import Cylinder
from geometry.shapes.dome import Dome
from geometry.shapes.ellipsoid import Ellipsoid
from geometry.shapes.ring import Ring
from geometry.shapes.sphere import Sphere
from geometry.shapes.spheroid import Spheroid
from geometry.surfaces.surface import Surface
from geometry.walls.between_surfaces import surface_wall
from geometry.walls.convex_bodies import space_wall
from geometry.walls.support_functions import section_wall

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


@pytest.mark.parametrize(("first", "second"), list(combinations_with_replacement(CONVEX, 2)))
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


ON_LINE = [
    (Spheroid(diameter=8, height=15), BALL, 0.6),
    (Capsule(diameter=5, height=12), Spheroid(diameter=8.4, height=15.5), 0.4),
    (Cylinder(diameter=6, height=9), Cone(bottom=14, top=9, height=13), -0.5),
    (Dome(sphere=9, height=6), Cylinder(diameter=12, height=15), -2.0),
    (Cone(bottom=8, top=0, height=7), BALL, 1.0),
]


@pytest.mark.turns(5)
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
    thick = space_wall(inside, host, nested=True).thickness
    assert found.thickness == pytest.approx(thick, abs=2e-9)
    profile = inside.profile
    assert profile is not None
    assert host.profile is not None
    moved = profile.placed(1, way, height)
    by_section = section_wall(moved, host.profile, nested=True).thickness
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

"""Derivatives of walls against differences of walls, and every place that ties with the least."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from oracles.differences import central, value_at
from scenes import BALL, WAISTED, Point, longer, part, revolved

from geometry.parts import Part
from geometry.shapes import SHAPES
from geometry.shapes.box import Box
from geometry.shapes.capsule import Capsule
from geometry.shapes.cone import Cone
from geometry.shapes.cylinder import Cylinder
from geometry.shapes.dome import Dome
from geometry.shapes.ellipsoid import Ellipsoid
from geometry.shapes.ring import Ring
from geometry.shapes.sphere import Sphere
from geometry.shapes.spheroid import Spheroid
from geometry.velocity import Dimension
from geometry.walls import Wall, close_walls, wall, wall_rates


def named(first: Part, second: Part) -> tuple[Part, Part]:
    return (
        Part("inner", None, first.shape, first.placement),
        Part("outer", None, second.shape, second.placement),
    )


PAIRS = {
    # turned about one line, convex: in the section
    "spindle in a ball": (part(Spheroid(diameter=8, height=14), (0, 0, 1)), part(BALL), True),
    "capsule in a spheroid": (
        part(Capsule(diameter=5.5, height=12.5), (0, 0, 0.5)),
        part(Spheroid(diameter=8.4, height=15.5)),
        True,
    ),
    "dome in a cone": (
        part(Dome(sphere=7, height=3), (0, 0, -2.1)),
        part(Cone(bottom=14, top=5, height=11)),
        True,
    ),
    "block in a ball": (part(SHAPES[-1].example(), (0, 0, 0.4)), part(BALL), True),
    "sphere above a stretched dome": (
        part(Sphere(diameter=3), (0, 0, 6)),
        part(Dome(sphere=8, height=3), stretch=(1.2, 1.2, 0.8)),
        False,
    ),
    # convex: in space
    "egg in a ball": (
        part(Ellipsoid(diameters=(4, 5, 9)), (1, 0, 0.5), (15, 0, 0)),
        part(BALL),
        True,
    ),
    "tilted box in a box": (
        part(Box(size=(3, 4, 5)), (0.4, 0.7, 0.1), (10, 20, 30)),
        part(Box(size=(9, 10, 12))),
        True,
    ),
    "capsule in a cone": (
        part(Capsule(diameter=2, height=5), (0.5, 0.2, -1), (0, 25, 0)),
        part(Cone(bottom=14, top=5, height=11), rotate=(5, 0, 0)),
        True,
    ),
    "spheres apart": (
        part(Sphere(diameter=4), (-3, 0, 0)),
        part(Sphere(diameter=3), (2, 1, 1)),
        False,
    ),
    "spheres too close": (
        part(Sphere(diameter=4), (-1, 0, 0)),
        part(Sphere(diameter=5), (2, 1, 1)),
        False,
    ),
    "capsule beside a cone": (
        part(Capsule(diameter=2, height=5), (6, 0, 0.3), (0, 12, 0)),
        part(Cone(bottom=8, top=4, height=6)),
        False,
    ),
    "cones through each other": (
        part(Cone(bottom=8, top=4, height=6), (-2, 0, 0)),
        part(Cone(bottom=7, top=2, height=8), (4.5, 0.3, 0.5), (180, 0, 10)),
        False,
    ),
    # not convex, turned about one line: by curves
    "ring round a spindle": (
        part(Ring(diameter=11, thickness=2), (0, 0, 0.3)),
        part(Spheroid(diameter=8, height=15)),
        False,
    ),
    "insert on the line of a waisted block": (
        part(Sphere(diameter=2.5), (0, 0, 1)),
        part(WAISTED),
        True,
    ),
    "ring about an arc": (
        part(Ring(diameter=9, thickness=1), (0, 0, 1.5)),
        part(revolved([[0, -6], [4, -6, -0.3], [3.4, 6], [0, 6]])),
        False,
    ),
    # not convex: by surfaces
    "insert in a waisted block": (part(Sphere(diameter=2.5), (0.6, 0.2, 2)), part(WAISTED), True),
    "tilted ring round a spindle": (
        part(Ring(diameter=11, thickness=2), (0.4, 0, 0.3), (12, 0, 0)),
        part(Spheroid(diameter=8, height=15)),
        False,
    ),
}


def dimensions(*parts: Part) -> list[Dimension]:
    """All, but the r of a vertex on the axis, which can't go beyond it."""
    return [
        (p.name, path)
        for p in parts
        for path in p.dimensions()
        if not (path[1] == "outline" and path[3] == 0 and value_at(dict(p.shape), path[1:]) == 0)
    ]


def changed(parts: Sequence[Part], dimension: Dimension, by: float) -> list[Part]:
    name, path = dimension
    return [longer(p, path, by) if p.name == name else p for p in parts]


@pytest.mark.parametrize("pair", PAIRS)
def test_a_wall_grows_as_differences_of_walls_do(pair: str) -> None:
    """In every length of either part and where they sit.

    Parts turned about one line are as close all round, so that any move off it is a kink: those
    moves are for the ties below.
    """
    inner, outer, nested = PAIRS[pair]
    parts = named(inner, outer)
    on_line = all(p.placement.at[:2] == (0, 0) and p.placement.rotate == (0, 0, 0) for p in parts)
    before = wall(*parts, nested=nested)
    moved = {("at", axis) for axis in range(2 if on_line else 0)}
    smooth = [d for d in dimensions(*parts) if d[1] not in moved]
    rates = wall_rates([before], parts, smooth)[0]
    for dimension, rate in zip(smooth, rates, strict=True):

        def thickness(by: float, dimension: Dimension = dimension) -> float:
            return wall(*changed(parts, dimension, by), nested=nested).thickness

        assert rate == pytest.approx(float(central(thickness, 1e-3)), abs=2e-6), dimension


@given(st.tuples(*[st.floats(-3, 3)] * 3), st.floats(1, 9))
def test_a_sphere_in_a_sphere_has_the_rates_of_its_closed_form(at: Point, radius: float) -> None:
    """R − r − |t|: half off for each cm of its diameter, half more for the host's, −t/|t|."""
    d = float(np.linalg.norm(at))
    assume(d > 0.1)
    parts = named(part(Sphere(diameter=2 * radius), at), part(BALL))
    (rates,) = wall_rates([wall(*parts, nested=True)], parts, dimensions(*parts))
    off = np.array(at) / d
    np.testing.assert_allclose(rates, [-0.5, *-off, 0.5, *off], atol=1e-6)


# Ties


def close(pair: tuple[Part, Part], reach: float, *, nested: bool) -> tuple[Wall, ...]:
    found = close_walls(*pair, nested=nested, reach=reach)
    assert found[0] == wall(*pair, nested=nested)
    assert max(w.thickness for w in found) <= found[0].thickness + reach + 1e-9
    return found


def test_concentric_balls_tell_of_every_side() -> None:
    """All directions tie. After a move along an axis, by δ, the wall is R − r − δ."""
    parts = named(part(Sphere(diameter=19)), part(BALL))
    found = close(parts, 0.1, nested=True)
    ways = {tuple(np.round(w.direction, 9) + 0.0) for w in found}
    assert ways == {tuple(way) for way in np.vstack([np.eye(3), -np.eye(3)])}
    shifts = wall_rates(found, parts, [("inner", ("at", axis)) for axis in range(3)])
    np.testing.assert_allclose(np.min(shifts, axis=0), -1)
    np.testing.assert_allclose(np.max(shifts, axis=0), 1)
    np.testing.assert_allclose(wall_rates(found, parts, [("inner", ("shape", "diameter"))]), -0.5)


def test_a_capsule_midway_is_as_close_at_either_end() -> None:
    """In a ball of radius R its poles leave R − ½h each; a move up takes from one, gives to one."""
    parts = named(part(Capsule(diameter=4, height=15)), part(BALL))
    found = close(parts, 0.01, nested=True)
    np.testing.assert_allclose([w.direction for w in found], [[0, 0, 1], [0, 0, -1]], atol=1e-9)
    dims = [("inner", ("at", 2)), ("inner", ("shape", "height")), ("outer", ("shape", "diameter"))]
    np.testing.assert_allclose(
        wall_rates(found, parts, dims), [[-1, -0.5, 0.5], [1, -0.5, 0.5]], atol=1e-9
    )


def test_only_what_lies_within_reach_is_told() -> None:
    """A little above the middle, the poles differ by twice that."""
    parts = named(part(Capsule(diameter=4, height=15), (0, 0, 0.1)), part(BALL))
    assert len(close(parts, 0.19, nested=True)) == 1
    assert [w.thickness for w in close(parts, 0.21, nested=True)] == pytest.approx([3.3, 3.5])


@pytest.mark.parametrize("rotate", [(0, 0, 0), (20, 30, 40)])
def test_a_cube_in_a_cube_is_as_close_on_six_sides(rotate: Point) -> None:
    parts = named(
        part(Box(size=(4, 4, 4)), rotate=rotate), part(Box(size=(9, 9, 9)), rotate=rotate)
    )
    found = close(parts, 1e-6, nested=True)
    assert len(found) == 6
    assert sum(np.array(w.direction) for w in found) == pytest.approx(0, abs=1e-8)
    size = wall_rates(found, parts, [("inner", ("shape", "size", k)) for k in range(3)])
    np.testing.assert_allclose(np.sort(size, axis=1), [[-0.5, 0, 0]] * 6, atol=1e-8)


def test_a_tilted_cylinder_is_as_close_all_round_its_rims() -> None:
    """Not turned about the ball's axis, but their centres meet: a tie in two circles, on all sides.

    Any move brings some point of the rim nearer, and none says so by more than it is.
    """
    parts = named(
        part(Cylinder(diameter=6, height=9), rotate=(30, 0, 0)), part(Box(size=(30,) * 3))
    )
    ball = named(
        part(Cylinder(diameter=6, height=9), rotate=(30, 0, 0)),
        part(Ellipsoid(diameters=(20,) * 3)),
    )
    assert close(parts, 1e-3, nested=True)
    found = close(ball, 1e-3, nested=True)
    assert [w.thickness for w in found] == pytest.approx([10 - np.hypot(3, 4.5)] * len(found))
    shifts = wall_rates(found, ball, [("inner", ("at", axis)) for axis in range(3)])
    for move in np.vstack([np.eye(3), -np.eye(3)]):
        least = wall(
            *changed(ball, ("inner", ("at", int(np.argmax(np.abs(move))))), 1e-3 * move.sum()),
            nested=True,
        )
        told = found[0].thickness + 1e-3 * np.min(shifts @ move)
        assert 0 <= told - least.thickness < 3e-4


@pytest.mark.parametrize("aside", [0.0, 0.3])
def test_a_ring_round_a_waist_is_as_close_above_and_below(aside: float) -> None:
    """By curves on one line, by surfaces aside of it: the sides above and below the waist tie."""
    parts = named(part(Ring(diameter=8, thickness=2), (aside, 0, 0)), part(WAISTED))
    found = close(parts, 1e-3, nested=False)
    assert len(found) == (2 if aside else 8)
    rates = wall_rates(found, parts, [("inner", ("at", 2)), ("inner", ("shape", "thickness"))])
    lean = 0.25 / np.hypot(1, 0.25)
    assert {tuple(np.round(rate, 6)) for rate in rates} == {
        (round(-lean, 6), -0.5), (round(lean, 6), -0.5)
    }  # fmt: skip


def test_parallel_sides_are_as_close_at_either_end() -> None:
    """A cone in a cone with the same slope: its bottom can grow into one end, its top into one."""
    parts = named(part(Cone(bottom=8, top=4, height=6)), part(Cone(bottom=12, top=6, height=9)))
    found = close(parts, 1e-6, nested=True)
    ends = [("inner", ("shape", "bottom")), ("inner", ("shape", "top"))]
    rates = {tuple(np.round(rate, 9) + 0.0) for rate in wall_rates(found, parts, ends)}
    half = round(0.5 * 3 / np.hypot(3, 1), 9)
    assert rates == {(-half, 0.0), (0.0, -half)}


@pytest.mark.parametrize("pair", PAIRS)
def test_after_a_change_the_wall_is_the_least_of_the_places_told(pair: str) -> None:
    """Every length and place by up to 0.002 cm: what is left is of second order."""
    inner, outer, nested = PAIRS[pair]
    parts = named(inner, outer)
    found = close(parts, 0.3, nested=nested)
    along = [d for d in dimensions(*parts) if d[1] not in {("at", 0), ("at", 1)}]
    rates = wall_rates(found, parts, along)
    for by in np.random.default_rng(5).uniform(-0.002, 0.002, (3, len(along))):
        after = list(parts)
        for dimension, step in zip(along, by, strict=True):
            after = changed(after, dimension, float(step))
        told = min(w.thickness + rate @ by for w, rate in zip(found, rates, strict=True))
        assert wall(*after, nested=nested).thickness == pytest.approx(told, abs=2e-5)

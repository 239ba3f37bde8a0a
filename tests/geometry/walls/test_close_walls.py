"""Every place that ties with the least wall, or almost, and what each says of a change."""

from __future__ import annotations

import numpy as np
import pytest
from scenes import BALL, SMOOTH_PAIRS, WAISTED, Point, changed, dimensions, named, part, revolved

from geometry.parts import Part
from geometry.shapes import Shape
from geometry.shapes.box import Box
from geometry.shapes.capsule import Capsule
from geometry.shapes.cone import Cone
from geometry.shapes.cylinder import Cylinder
from geometry.shapes.ellipsoid import Ellipsoid
from geometry.shapes.ring import Ring
from geometry.shapes.sphere import Sphere
from geometry.walls.thinnest import Wall, close_walls, wall, wall_rates


def close(pair: tuple[Part, Part], reach: float, *, nested: bool) -> tuple[Wall, ...]:
    walls = close_walls(*pair, nested=nested, reach=reach)
    assert walls[0] == wall(*pair, nested=nested)
    assert max(w.thickness for w in walls) <= walls[0].thickness + reach + 1e-9
    return walls


def test_concentric_balls_tell_of_every_side() -> None:
    """All directions tie. After a move along an axis, by δ, the wall is R − r − δ."""
    parts = named(part(Sphere(diameter=19)), part(BALL))
    walls = close(parts, 0.1, nested=True)
    ways = {tuple(np.round(w.direction, 9) + 0.0) for w in walls}
    assert ways == {tuple(way) for way in np.vstack([np.eye(3), -np.eye(3)])}
    shifts = wall_rates(walls, parts, [("inner", ("at", axis)) for axis in range(3)])
    np.testing.assert_allclose(np.min(shifts, axis=0), -1)
    np.testing.assert_allclose(np.max(shifts, axis=0), 1)
    np.testing.assert_allclose(wall_rates(walls, parts, [("inner", ("shape", "diameter"))]), -0.5)


@pytest.mark.parametrize("aside", [(0, 0, 1e-3), (1e-3, 2e-3, 1e-3)])
def test_a_ball_almost_midway_tells_of_every_side_too(aside: Point) -> None:
    """The nearest side is the only minimum. Moved the other way, past the middle, another is."""
    parts = named(part(Sphere(diameter=19), aside), part(BALL))
    walls = close(parts, 0.1, nested=True)
    shifts = wall_rates(walls, parts, [("inner", ("at", axis)) for axis in range(3)])
    for move in (-2 * np.array(aside), np.array([0.0, 5e-3, 0.0]), np.array([-8e-3, 0.0, 0.0])):
        told = min(w.thickness + rate @ move for w, rate in zip(walls, shifts, strict=True))
        truth = 1.4 - np.linalg.norm(aside + move)
        assert truth - 1e-9 <= told <= truth + 2e-3
    np.testing.assert_allclose(
        wall_rates(walls, parts, [("inner", ("shape", "diameter"))]), -0.5, atol=1e-6
    )


def test_a_capsule_midway_is_as_close_at_either_end() -> None:
    """In a ball of radius R its poles leave R − ½h each; a move up takes from one, gives to one."""
    parts = named(part(Capsule(diameter=4, height=15)), part(BALL))
    walls = close(parts, 0.01, nested=True)
    np.testing.assert_allclose([w.direction for w in walls], [[0, 0, 1], [0, 0, -1]], atol=1e-9)
    dims = [("inner", ("at", 2)), ("inner", ("shape", "height")), ("outer", ("shape", "diameter"))]
    np.testing.assert_allclose(
        wall_rates(walls, parts, dims), [[-1, -0.5, 0.5], [1, -0.5, 0.5]], atol=1e-9
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
    walls = close(parts, 1e-6, nested=True)
    assert len(walls) == 6
    assert sum(np.array(w.direction) for w in walls) == pytest.approx(0, abs=1e-8)
    size = wall_rates(walls, parts, [("inner", ("shape", "size", k)) for k in range(3)])
    np.testing.assert_allclose(np.sort(size, axis=1), [[-0.5, 0, 0]] * 6, atol=1e-8)


def test_a_tilted_cylinder_is_as_close_all_round_its_rims() -> None:
    """Not turned about the ball's axis, but their centres meet: a tie in two circles, on all sides.

    Any move brings some point of the rim nearer, and none says so by more than it is.
    """
    parts = named(
        part(Cylinder(diameter=6, height=9), rotate=(30, 0, 0)),
        part(Ellipsoid(diameters=(20,) * 3)),
    )
    walls = close(parts, 1e-3, nested=True)
    assert [w.thickness for w in walls] == pytest.approx([10 - np.hypot(3, 4.5)] * len(walls))
    shifts = wall_rates(walls, parts, [("inner", ("at", axis)) for axis in range(3)])
    for move in np.vstack([np.eye(3), -np.eye(3)]):
        least = wall(
            *changed(parts, ("inner", ("at", int(np.argmax(np.abs(move))))), 1e-3 * move.sum()),
            nested=True,
        )
        told = walls[0].thickness + 1e-3 * np.min(shifts @ move)
        assert 0 <= told - least.thickness < 3e-4


@pytest.mark.parametrize("aside", [0.0, 0.3])
def test_a_ring_round_a_waist_is_as_close_above_and_below(aside: float) -> None:
    """By curves on one line, by surfaces aside of it: the sides above and below the waist tie."""
    parts = named(part(Ring(diameter=8, thickness=2), (aside, 0, 0)), part(WAISTED))
    walls = close(parts, 1e-3, nested=False)
    assert len(walls) == (2 if aside else 8)
    rates = wall_rates(walls, parts, [("inner", ("at", 2)), ("inner", ("shape", "thickness"))])
    lean = 0.25 / np.hypot(1, 0.25)
    assert {tuple(np.round(rate, 6)) for rate in rates} == {
        (round(-lean, 6), -0.5), (round(lean, 6), -0.5)
    }  # fmt: skip


FLARED = revolved([[0, -8], [7, -8], [4, -4.5], [1, 4.5], [4, 8], [0, 8]])


@pytest.mark.parametrize(
    ("inner", "host"),
    [
        (Cone(bottom=8, top=4, height=6), Cone(bottom=12, top=6, height=9)),
        (Cone(bottom=4, top=2, height=3), FLARED),
    ],
    ids=["convex", "not convex"],
)
def test_parallel_sides_are_as_close_at_either_end(inner: Shape, host: Shape) -> None:
    """A cone in a cone with the same slope: its bottom can grow into one end, its top into one."""
    parts = named(part(inner), part(host))
    walls = close(parts, 1e-6, nested=True)
    ends = [("inner", ("shape", "bottom")), ("inner", ("shape", "top"))]
    rates = wall_rates(walls, parts, ends)
    half = 0.5 * 3 / np.hypot(3, 1)
    np.testing.assert_allclose(rates.sum(axis=1), -half, atol=1e-9)  # some may lie between
    np.testing.assert_allclose(rates.min(axis=0), -half, atol=1e-9)
    np.testing.assert_allclose(rates.max(axis=0), 0, atol=1e-9)


@pytest.mark.turns(4)
@pytest.mark.parametrize("pair", SMOOTH_PAIRS)
def test_after_a_change_the_wall_is_the_least_of_the_places_told(pair: str) -> None:
    """Every length and place by up to 0.002 cm: what is left is of second order."""
    inner, outer, nested = SMOOTH_PAIRS[pair]
    parts = named(inner, outer)
    walls = close(parts, 0.3, nested=nested)
    along = [d for d in dimensions(*parts) if d[1] not in {("at", 0), ("at", 1)}]
    rates = wall_rates(walls, parts, along)
    for by in np.random.default_rng(5).uniform(-0.002, 0.002, (3, len(along))):
        after = list(parts)
        for dimension, step in zip(along, by, strict=True):
            after = changed(after, dimension, float(step))
        told = min(w.thickness + rate @ by for w, rate in zip(walls, rates, strict=True))
        assert wall(*after, nested=nested).thickness == pytest.approx(told, abs=2e-5)

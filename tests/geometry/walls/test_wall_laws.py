"""Laws of walls: moved, scaled and turned as a whole, and where they lie."""

from __future__ import annotations

import numpy as np
import pytest
from scenes import (
    BALL,
    WAISTED,
    apart,
    part,
)

from geometry.parts import Part
from geometry.placement import Placement
from geometry.shapes.box import Box
from geometry.shapes.capsule import Capsule
from geometry.shapes.cylinder import Cylinder
from geometry.shapes.ellipsoid import Ellipsoid
from geometry.shapes.ring import Ring
from geometry.shapes.sphere import Sphere
from geometry.shapes.spheroid import Spheroid
from geometry.walls.thinnest import wall

STUB = Cylinder(diameter=3, height=4)
PAIRS = [
    (part(Spheroid(diameter=8, height=14), (0, 0, 1)), part(BALL), True),
    (part(Box(size=(3, 4, 5)), (1, 2, 0), (10, 20, 30)), part(BALL), True),
    (part(Ellipsoid(diameters=(4, 5, 9)), (1, 0, 0.5), (15, 0, 0)), part(BALL), True),
    (part(Ellipsoid(diameters=(4, 5, 9)), (1, 0, 0.5), (80, 0, 0)), part(BALL), True),
    (part(Capsule(diameter=2, height=5), (3, 0, 0), (0, 20, 0)), part(STUB), False),
    (part(Ring(diameter=11, thickness=2)), part(Spheroid(diameter=8, height=15)), False),
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
    loose = 2e-4 * abs(delta) + before.error + after.error
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
        """The matrix of the placement, then the whole scene's turn."""
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
    np.testing.assert_allclose(found.onto, at + found.thickness * n, atol=1e-12)
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

"""Derivatives in a mould's dimensions, against differences of moments and support functions."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from oracles.differences import central
from oracles.drawings import unit_directions
from oracles.strategies import positions, rotations, solids, stretches
from pydantic import TypeAdapter, ValidationError
from scenes import Point, longer

from geometry.parts import Part
from geometry.placement import Placement
from geometry.regions import region_rates, regions
from geometry.shapes import SHAPES, AnyShape, Shape
from geometry.shapes.box import Box
from geometry.shapes.capsule import Capsule
from geometry.shapes.cone import Cone
from geometry.shapes.dome import Dome
from geometry.shapes.revolved import Revolved
from geometry.shapes.ring import Ring
from geometry.shapes.sphere import Sphere
from geometry.surfaces.velocity import Path

ANY: TypeAdapter[Shape] = TypeAdapter(AnyShape)
PLACED = Placement(at=(0.7, -1.2, 2.0), rotate=(25, -40, 70), stretch=(1.3, 0.8, 1.1))
TURNED = Placement(at=(0, 0, 0.4), stretch=(1.3, 1.3, 0.9))


def dimensions(kind: type[Shape]) -> list[Path]:
    """Every dimension but the r of a vertex on the axis, which can't go on beyond it."""
    part = Part("part", None, kind.example(), Placement())
    on_axis = {("shape", "outline", i, 0) for i in (0, 4)} if kind is Revolved else set()
    return [p for p in part.dimensions() if p not in on_axis]


every_dimension = pytest.mark.parametrize(
    ("kind", "path"),
    [(kind, path) for kind in SHAPES for path in dimensions(kind)],
    ids=lambda x: x.__name__ if isinstance(x, type) else ".".join(map(str, x)),
)
every_place = pytest.mark.parametrize(
    "placement", [Placement(), TURNED, PLACED], ids=["as drawn", "on its line", "anywhere"]
)


def off(part: Part, path: Path) -> float:
    """How far the rate of the moments is from their difference, by the scale of each entry."""
    expected = central(lambda by: longer(part, path, by).moments().J)
    scale = np.sqrt(np.diag(part.moments().J))
    return float(np.max(np.abs(part.velocity(path).rate - expected) / np.outer(scale, scale)))


@every_dimension
@every_place
def test_moments_grow_as_their_differences_do(
    kind: type[Shape], path: Path, placement: Placement
) -> None:
    assert off(Part("part", None, kind.example(), placement), path) < 1e-9


@every_dimension
@every_place
def test_the_surface_goes_where_the_support_function_does(
    kind: type[Shape], path: Path, placement: Placement
) -> None:
    """h(n) = max n·x, so by the envelope theorem dh = n·V at the support point.

    The directions lie on no kink of an example, where a difference would be none.
    """
    part = Part("part", None, kind.example(), placement)
    n = unit_directions(40)[:40]

    def h(by: float) -> np.ndarray:
        return np.einsum("ij,ij->i", longer(part, path, by).support_points(n), n)

    reached = part.velocity(path).at(part.support_points(n))
    np.testing.assert_allclose(np.einsum("ij,ij->i", reached, n), central(h), atol=1e-6)


@settings(max_examples=60)
@given(solids, stretches, rotations, positions)
def test_any_solid_anywhere_grows_as_its_differences_do(
    solid: dict[str, Any], stretch: Point, rotate: Point, at: Point
) -> None:
    """But at the edge of what may be drawn: there no difference can be taken on both sides."""
    part = Part("part", None, ANY.validate_python(solid), Placement(at, rotate, stretch))
    for path in part.dimensions():
        try:
            difference = off(part, path)
        except ValidationError:
            continue
        assert difference < 1e-6, path


# Closed forms


def rate(shape: Shape, *path: str | int) -> np.ndarray:
    return Part("part", None, shape, Placement()).velocity(("shape", *path)).rate


def test_a_sphere_gains_half_its_surface() -> None:
    """V = πd³/6 and ∫ x² = πd⁵/120: dV/dd = πd²/2, and πd⁴/24 along each axis."""
    d = 19.0
    expected = np.diag([np.pi * d**4 / 24] * 3 + [np.pi * d**2 / 2])
    np.testing.assert_allclose(rate(Sphere(diameter=d), "diameter"), expected, rtol=1e-14)


def test_a_capsule_gains_a_disc_for_its_height() -> None:
    """Half a centimetre at either end of the barrel: πr² in all."""
    found = rate(Capsule(diameter=5.0, height=12.0), "height")
    assert found[3, 3] == pytest.approx(np.pi * 2.5**2, rel=1e-13)


def test_a_ring_gains_by_pappus() -> None:
    """V = πD · πt²/4: dV/dD = V/D and dV/dt = 2V/t."""
    ring = Ring(diameter=11.0, thickness=2.0)
    volume = ring.moments().volume
    assert rate(ring, "diameter")[3, 3] == pytest.approx(volume / 11.0, rel=1e-13)
    assert rate(ring, "thickness")[3, 3] == pytest.approx(volume, rel=1e-13)


def test_a_full_cone_can_grow_a_top() -> None:
    """V = πh(b² + bt + t²)/12: at t = 0, dV/dt = πhb/12. No difference could tell."""
    found = rate(Cone(bottom=8.0, top=0.0, height=6.0), "top")
    assert found[3, 3] == pytest.approx(np.pi * 6 * 8 / 12, rel=1e-13)


def test_a_capsule_as_high_as_wide_grows_like_a_ball() -> None:
    """Both lengths at once: a ball's rate, though its two round ends share their rim."""
    round_one = Capsule(diameter=6.0, height=6.0)
    both = rate(round_one, "diameter") + rate(round_one, "height")
    np.testing.assert_allclose(both, rate(Sphere(diameter=6.0), "diameter"), atol=1e-10)


def test_an_outline_drawn_either_way_round_gains_the_same() -> None:
    one = [[0.0, 0.0], [2.0, 0.0, 0.3], [1.5, 3.0], [0.0, 3.0]]
    other = [[0.0, 0.0], [0.0, 3.0], [1.5, 3.0, -0.3], [2.0, 0.0]]
    forth, back = (ANY.validate_python({"kind": "revolved", "outline": o}) for o in (one, other))
    np.testing.assert_allclose(
        rate(forth, "outline", 1, 0), rate(back, "outline", 3, 0), rtol=1e-13, atol=1e-13
    )


def test_a_box_stretched_and_turned_gains_a_slab() -> None:
    """A slab half a centimetre thick on either face, stretched with it: V/size."""
    part = Part("part", None, Box(size=(3, 4, 5)), PLACED)
    found = part.velocity(("shape", "size", 1)).rate
    assert found[3, 3] == pytest.approx(part.moments().volume / 4, rel=1e-13)


# What has no derivative


def test_a_dome_that_is_a_whole_ball_has_no_derivative() -> None:
    """Its rim's radius √(h(d − h)) starts out upright: infinitely fast."""
    with pytest.raises(ValueError, match="a dome of these dimensions has no derivative in"):
        Dome(sphere=6.0, height=6.0).velocity(("height",))


@pytest.mark.parametrize(
    "path", [("shape", "radius"), ("at", 3), ("shape", "outline", 3, 2), ("rotate", 0), ()]
)
def test_what_is_no_length_is_refused(path: Path) -> None:
    part = Part("part", None, SHAPES[-1].example(), Placement())
    assert path not in part.dimensions()
    with pytest.raises(ValueError, match="has no length"):
        part.velocity(path)


def test_a_changed_copy_is_drawn_anew() -> None:
    """A shape keeps its drawing; a copy with another length must not."""
    cone = Cone.example()
    assert cone.profile().outline.size == 8.0
    assert cone.model_copy(update={"height": 11.0}).profile().outline.size == 11.0
    with pytest.raises(ValidationError):
        cone.model_copy(update={"height": -1.0})


# Regions


def test_what_a_part_gains_its_host_loses() -> None:
    """Against differences of the regions; a part that isn't the host's own is none of its."""
    parts = [
        Part("pin", "block", Capsule(diameter=1.0, height=2.5), Placement(at=(0.2, 0, 0.5))),
        Part("ball", None, Sphere(diameter=21.8), Placement()),
        Part("block", "mantle", Box(size=(3, 4, 5)), PLACED),
        Part("mantle", "ball", Sphere(diameter=19.0), Placement(at=(0, 0, 0.4))),
        Part("girdle", "mantle", Ring(diameter=12, thickness=2), Placement()),
    ]
    dimensions = [(part.name, path) for part in parts for path in part.dimensions()]
    found = region_rates(parts, dimensions)
    assert found.shape == (len(dimensions), 5, 4, 4)
    for (name, path), rates in zip(dimensions, found, strict=True):

        def after(by: float, name: str = name, path: Path = path) -> np.ndarray:
            changed = [longer(p, path, by) if p.name == name else p for p in parts]
            return np.array([region.moments.J for region in regions(changed)])

        np.testing.assert_allclose(rates, central(after), rtol=1e-7, atol=1e-6)
        if name != "ball":
            np.testing.assert_allclose(rates.sum(axis=0), 0, atol=1e-9)

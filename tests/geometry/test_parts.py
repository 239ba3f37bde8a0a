"""Parts as drawn: where they reach, what holds what, and in which order they are cast."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from oracles.strategies import positions, rotations, stretches, triples

from geometry.nesting import casting_order, children, outermost
from geometry.parts import Part
from geometry.placement import Placement
from geometry.shapes.box import Box
from geometry.shapes.ellipsoid import Ellipsoid
from geometry.shapes.sphere import Sphere

CORNERS = np.array(np.meshgrid([-1, 1], [-1, 1], [-1, 1])).reshape(3, -1).T


def ball(name: str, inside: str | None, at: tuple[float, float, float] = (0, 0, 0)) -> Part:
    return Part(name, inside, Sphere(diameter=2.0), Placement(at=at))


TREE = (
    ball("cover", None),
    ball("mantle", "cover"),
    ball("girdle", "mantle"),
    ball("spindle", "mantle"),
    ball("keel", "spindle"),
)


def placed(part: Part, points: np.ndarray) -> np.ndarray:
    return points @ part.matrix[:3, :3].T + part.matrix[:3, 3]


def test_parts_are_cast_innermost_first_and_neighbours_in_file_order() -> None:
    """A part is cast before the one that surrounds it: the girdle stands before the spindle."""
    names = [part.name for part in casting_order(TREE)]
    assert names == ["girdle", "keel", "spindle", "mantle", "cover"]


def test_casting_order_does_not_need_hosts_to_stand_first() -> None:
    names = [part.name for part in casting_order(TREE[::-1])]
    assert names == ["keel", "spindle", "girdle", "mantle", "cover"]


def test_children_are_those_directly_inside() -> None:
    found = {name: [part.name for part in inner] for name, inner in children(TREE).items()}
    assert found == {
        "cover": ["mantle"],
        "mantle": ["girdle", "spindle"],
        "girdle": [],
        "spindle": ["keel"],
        "keel": [],
    }
    assert outermost(TREE).name == "cover"


@pytest.mark.parametrize(
    ("parts", "says"),
    [
        ([], "not 0"),
        ([ball("a", None), ball("b", None)], "not 2"),
        ([ball("a", None), ball("a", "a")], "same name"),
        ([ball("a", None), ball("b", "c")], '"c", which is not a part'),
        ([ball("a", None), ball("b", "c"), ball("c", "b")], '"b" is inside itself'),
        ([ball("a", None), ball("b", "b")], '"b" is inside itself'),
    ],
)
def test_parts_that_are_no_tree_are_refused(parts: list[Part], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        casting_order(parts)


@given(triples, positions, rotations, stretches, st.integers(0, 99))
def test_a_placed_box_reaches_to_its_farthest_placed_corner(
    size: tuple[float, float, float],
    at: tuple[float, float, float],
    rotate: tuple[float, float, float],
    stretch: tuple[float, float, float],
    seed: int,
) -> None:
    """A convex polytope reaches farthest in a corner, and corners map by the matrix itself."""
    part = Part("box", None, Box(size=size), Placement(at, rotate, stretch))
    n = np.random.default_rng(seed).normal(size=(20, 3))
    n /= np.linalg.norm(n, axis=1, keepdims=True)
    corners = placed(part, CORNERS * np.array(size) / 2)
    reached = np.einsum("ij,ij->i", n, part.support_points(n))
    np.testing.assert_allclose(reached, (n @ corners.T).max(axis=1), rtol=0, atol=1e-11)


@given(triples, positions, rotations, stretches, st.integers(0, 99))
def test_the_farthest_point_of_an_ellipsoid_has_the_direction_as_its_normal(
    diameters: tuple[float, float, float],
    at: tuple[float, float, float],
    rotate: tuple[float, float, float],
    stretch: tuple[float, float, float],
    seed: int,
) -> None:
    """With x = M s + t, |s| = 1, the surface is F = |M⁻¹(x − t)|² = 1 and ∇F = 2 M⁻ᵀ s."""
    part = Part("egg", None, Ellipsoid(diameters=diameters), Placement(at, rotate, stretch))
    n = np.random.default_rng(seed).normal(size=(20, 3))
    n /= np.linalg.norm(n, axis=1, keepdims=True)
    inverse = np.linalg.inv(part.matrix[:3, :3] @ np.diag(diameters) / 2)
    s = (part.support_points(n) - part.matrix[:3, 3]) @ inverse.T
    np.testing.assert_allclose(np.linalg.norm(s, axis=1), 1, rtol=1e-12)
    normal = s @ inverse
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    np.testing.assert_allclose(normal, n, rtol=0, atol=1e-11)


@given(triples, rotations, stretches)
def test_flats_of_a_stretched_box_are_square_to_its_placed_sides(
    size: tuple[float, float, float],
    rotate: tuple[float, float, float],
    stretch: tuple[float, float, float],
) -> None:
    """A face's normal is square to both edges of the face, however the box is stretched."""
    part = Part("box", None, Box(size=size), Placement(rotate=rotate, stretch=stretch))
    sides = part.matrix[:3, :3] / np.linalg.norm(part.matrix[:3, :3], axis=0)
    np.testing.assert_allclose(np.linalg.norm(part.flats, axis=1), 1, rtol=1e-12)
    along = np.sort(np.abs(part.flats @ sides), axis=1)
    np.testing.assert_allclose(along[:, :2], 0, atol=1e-12)
    assert len(part.flats) == 6


def test_a_placed_part_has_its_volume_stretched_and_its_centroid_moved() -> None:
    """A sphere of radius 1 stretched by 2, 3, 4: 24 · 4π/3 around the place it is moved to."""
    part = Part("egg", None, Sphere(diameter=2.0), Placement((1, 2, 3), (20, 30, 40), (2, 3, 4)))
    assert part.moments().volume == pytest.approx(32 * np.pi, rel=1e-14)
    np.testing.assert_allclose(part.moments().centroid, [1, 2, 3], rtol=1e-14)


@given(positions, rotations, stretches)
def test_from_the_side_y_lies_where_x_did(at, rotate, stretch) -> None:
    part = Part("lobe", "cover", Box(size=(1.0, 2.0, 3.0)), Placement(at, rotate, stretch))
    x, y, z, one = part.matrix
    assert np.allclose(part.from_the_side().matrix, [y, -x, z, one], rtol=0, atol=1e-14)

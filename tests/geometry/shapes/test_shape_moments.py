"""Shapes have the moments that their definitions, the books and each other give them."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from oracles import quadrature
from oracles.drawings import QUARTER, unit_directions
from oracles.quadrature import apart
from oracles.solids import dimensions
from oracles.strategies import blocks, lengths, positions, rotations, solids, stretches
from pydantic import TypeAdapter
from scenes import swept

from geometry.moments import Moments
from geometry.placement import Placement
from geometry.shapes import AnyShape, Shape
from geometry.shapes.capsule import Capsule
from geometry.shapes.cone import Cone
from geometry.shapes.cylinder import Cylinder
from geometry.shapes.dome import Dome
from geometry.shapes.ellipsoid import Ellipsoid
from geometry.shapes.revolved import Revolved
from geometry.shapes.ring import Ring
from geometry.shapes.sphere import Sphere
from geometry.shapes.spheroid import Spheroid
from shared.reference import table

ANY: TypeAdapter[Shape] = TypeAdapter(AnyShape)


# Random shapes, anywhere


@given(solids, stretches, rotations, positions)
@settings(max_examples=150)
def test_placed_stretched_and_rotated_solids_agree_with_quadrature(
    solid: dict[str, Any],
    stretch: tuple[float, float, float],
    rotate: tuple[float, float, float],
    at: tuple[float, float, float],
) -> None:
    """The oracle places each of its points; ours moves ten numbers by |det A|·T J Tᵀ."""
    shape = ANY.validate_python(solid)
    moved = shape.moments().moved(Placement(at=at, rotate=rotate, stretch=stretch).matrix)
    expected = quadrature.moments(
        solid["kind"], dimensions(shape.model_dump())[1], stretch, rotate, at
    )
    assert apart(moved.J, expected) < 1e-9


@given(blocks())
def test_convex_blocks_are_those_whose_middles_are_all_inside(outline: list[list[float]]) -> None:
    """A set is convex when it holds the middle of any two of its points: tried on its outline.

    For rounding's sake the middles are drawn in by a billionth; points crowd at the corners, where
    a dent may be that small.
    """
    shape = Revolved.model_validate({"outline": outline})
    profile = shape.profile()
    crowd = np.geomspace(1e-5, 0.02, 5)
    t = np.concatenate([crowd, np.linspace(0.03, 0.97, 16), 1 - crowd])
    rim = np.concatenate([piece.points(t) for piece in profile.surface_edges()])
    rim = np.concatenate([rim, rim * [-1, 1]])
    i, j = np.triu_indices(len(rim), 1)
    middles = (rim[i] + rim[j]) / 2
    middle = np.array([0, np.mean([outline[0][1], outline[-1][1]])])
    assert np.all(profile.contains(middle + (middles - middle) * (1 - 1e-9))) == shape.convex


# Published figures


@pytest.mark.parametrize("row", table("solids")["solids"], ids=lambda row: row["name"])
def test_published_formulas(row: dict[str, Any]) -> None:
    """Volume, centroid and inertia from the textbooks (shared/reference/solids.toml)."""
    J = ANY.validate_python(row["shape"]).moments()
    inertia = J.about(J.centroid).inertia
    assert J.volume == pytest.approx(row["volume"], rel=1e-9)
    assert J.centroid[2] == pytest.approx(row["from_z"] + row["centroid"], rel=1e-9, abs=1e-12)
    assert inertia[2, 2] == pytest.approx(row["inertia_axis"], rel=1e-9)
    assert inertia[0, 0] == pytest.approx(row["inertia_across"], rel=1e-9)
    assert inertia[1, 1] == pytest.approx(row["inertia_across"], rel=1e-9)


# Three ways: closed form, drawn by hand, and the limits where one shape is another


@pytest.mark.parametrize(
    ("shape", "outline"),
    [
        (Ring(diameter=10.0, thickness=3.0), [[3.5, 0, 1], [6.5, 0, 1]]),
        (
            Capsule(diameter=4.0, height=9.0),
            [[0, -4.5, QUARTER], [2, -2.5], [2, 2.5, QUARTER], [0, 4.5]],
        ),
        (  # radius 5, cut 2 below its top: the flat's radius is 4, the arc's angle acos(3/5)
            Dome(sphere=10.0, height=2.0),
            [[0, 0], [4, 0, np.tan(np.arccos(0.6) / 4)], [0, 2]],
        ),
        (  # the same ball's other part: the flat's radius is 4 again
            Dome(sphere=10.0, height=8.0),
            [[0, 0], [4, 0, np.tan((np.pi - np.arccos(0.6)) / 4)], [0, 8]],
        ),
        (Cone(bottom=6.0, top=3.0, height=4.0), [[0, -2], [3, -2], [1.5, 2], [0, 2]]),
        (Cone(bottom=0.0, top=3.0, height=4.0), [[0, -2], [1.5, 2], [0, 2]]),
        (Cylinder(diameter=4.0, height=3.0), [[0, 1.5], [2, 1.5], [2, -1.5], [0, -1.5]]),
        (Sphere(diameter=6.0), [[0, 3], [0, -3, 1]]),
    ],
    ids=lambda value: getattr(value, "kind", ""),
)
def test_a_drawn_outline_is_the_shape(shape: Shape, outline: list[list[float]]) -> None:
    """Drawn by hand as `revolved`, either way round, a shape has its closed form's moments."""
    drawn = Revolved.model_validate({"outline": outline})
    assert apart(drawn.moments().J, shape.moments().J) < 1e-12
    assert drawn.convex == shape.convex
    d = unit_directions()
    heights = [np.sum(s.support_points(d) * d, axis=1) for s in (drawn, shape)]
    np.testing.assert_allclose(*heights, atol=1e-12)


@pytest.mark.parametrize(
    ("limit", "shape"),
    [
        (Capsule(diameter=5.0, height=5.0), Sphere(diameter=5.0)),
        (Cone(bottom=5.0, top=5.0, height=7.0), Cylinder(diameter=5.0, height=7.0)),
        (Spheroid(diameter=5.0, height=5.0), Sphere(diameter=5.0)),
        (Ellipsoid(diameters=(4.0, 4.0, 6.0)), Spheroid(diameter=4.0, height=6.0)),
    ],
    ids=lambda value: value.kind,
)
def test_a_shape_at_its_limit_is_another(limit: Shape, shape: Shape) -> None:
    assert apart(limit.moments().J, shape.moments().J) < 1e-14
    profile = limit.profile()
    if profile is not None:
        assert apart(swept(profile).J, shape.moments().J) < 1e-13
        assert profile.convex


@given(lengths)
def test_a_dome_as_high_as_its_sphere_is_the_sphere(diameter: float) -> None:
    """Its origin, the centre of a flat face of no size, is the ball's lowest point."""
    up = Placement(at=(0.0, 0.0, diameter / 2)).matrix
    ball = Sphere(diameter=diameter).moments().moved(up)
    dome = Dome(sphere=diameter, height=diameter)
    assert apart(dome.moments().J, ball.J) < 1e-14
    assert apart(swept(dome.profile()).J, ball.J) < 1e-13


@given(lengths, st.floats(0.001, 0.999))
def test_a_dome_and_the_rest_of_its_sphere_are_the_sphere(diameter: float, part: float) -> None:
    """Two domes face to face; the lower one is upside down."""
    height = diameter * part
    upper = Dome(sphere=diameter, height=height).moments()
    lower = Dome(sphere=diameter, height=diameter - height).moments()
    both = upper + lower.moved(np.diag([1.0, 1.0, -1.0, 1.0]))
    down = Placement(at=(0.0, 0.0, height - diameter / 2)).matrix
    assert apart(both.J, Sphere(diameter=diameter).moments().moved(down).J) < 1e-13


@given(lengths, st.floats(1e-4, 0.05))
def test_a_thin_dome_keeps_its_digits(diameter: float, part: float) -> None:
    """As h/R → 0 a cap is a paraboloid: V = πRh²(1 − h/3R) exactly, and its profile agrees."""
    R, h = diameter / 2, diameter * part
    dome = Dome(sphere=diameter, height=h)
    assert dome.moments().volume == pytest.approx(np.pi * R * h**2 * (1 - h / (3 * R)), rel=1e-13)
    assert apart(swept(dome.profile()).J, dome.moments().J) < 1e-12


@given(lengths, lengths, lengths, st.floats(0.1, 0.9))
def test_a_cone_cut_in_two_is_two_cones(
    bottom: float, top: float, height: float, part: float
) -> None:
    """The cut's diameter lies on the straight line between the two."""
    cut = bottom + (top - bottom) * part
    low = Cone(bottom=bottom, top=cut, height=height * part).moments()
    high = Cone(bottom=cut, top=top, height=height * (1 - part)).moments()
    down = Placement(at=(0.0, 0.0, -height * (1 - part) / 2)).matrix
    up = Placement(at=(0.0, 0.0, height * part / 2)).matrix
    whole = Cone(bottom=bottom, top=top, height=height).moments()
    assert apart((low.moved(down) + high.moved(up)).J, whole.J) < 1e-13


def test_a_bore_taken_out_of_a_cylinder_is_a_drawn_tube() -> None:
    """An outline away from the axis is a solid with a bore: the algebra gives the same."""
    tube = Revolved.model_validate({"outline": [[1, -3], [2, -3], [2, 3], [1, 3]]})
    taken_out: Moments = (
        Cylinder(diameter=4.0, height=6.0).moments() - Cylinder(diameter=2.0, height=6.0).moments()
    )
    assert apart(tube.moments().J, taken_out.J) < 1e-13
    assert not tube.convex

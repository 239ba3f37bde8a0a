"""Every shape keeps the contract, and has the moments that its definition and the books give it."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from oracles import meshes, quadrature
from oracles.quadrature import apart
from oracles.strategies import blocks, lengths, positions, rotations, solids, stretches
from pydantic import TypeAdapter, ValidationError

from geometry.moments import Moments
from geometry.placement import Placement
from geometry.shapes import SHAPES, AnyShape, Shape
from geometry.shapes.capsule import Capsule
from geometry.shapes.cone import Cone
from geometry.shapes.cylinder import Cylinder
from geometry.shapes.dome import Dome
from geometry.shapes.ellipsoid import Ellipsoid
from geometry.shapes.revolved import Revolved
from geometry.shapes.ring import Ring
from geometry.shapes.sphere import Sphere
from geometry.shapes.spheroid import Spheroid
from shared.models import Reading
from shared.reference import table
from shared.units import INCH

ANY: TypeAdapter[Shape] = TypeAdapter(AnyShape)
QUARTER = float(np.tan(np.pi / 8))

every_shape = pytest.mark.parametrize("kind", SHAPES, ids=lambda kind: kind.__name__)


def dimensions(shape: Shape) -> tuple[str, dict[str, Any]]:
    """Return a shape's kind and its dimensions in cm, for the oracles."""
    written = shape.model_dump()
    return written.pop("kind"), written


def unit_directions(count: int = 400) -> np.ndarray:
    """Return random directions (count + 6, 3), and the axes, both ways."""
    d = np.random.default_rng(3).normal(size=(count, 3))
    return np.vstack([d / np.linalg.norm(d, axis=1, keepdims=True), np.eye(3), -np.eye(3)])


# The contract


@every_shape
def test_moments_are_those_of_a_body(kind: type[Shape]) -> None:
    assert kind.example().moments().fault() is None


@every_shape
def test_moments_agree_with_quadrature(kind: type[Shape]) -> None:
    """The oracle integrates over slices that follow from each solid's definition."""
    shape = kind.example()
    assert apart(shape.moments().J, quadrature.moments(*dimensions(shape))) < 1e-12


@every_shape
def test_a_mesh_approaches_the_moments_by_a_quarter_each_time_it_is_refined(
    kind: type[Shape],
) -> None:
    """Chords miss a curve by the square of their length: twice as many, a quarter of the error.

    A box is its mesh.
    """
    shape = kind.example()
    J = shape.moments().J
    errors = [
        np.diag(meshes.moments(meshes.mesh(*dimensions(shape), n))) / np.diag(J) - 1
        for n in (16, 32, 64)
    ]
    if shape.kind == "box":
        np.testing.assert_allclose(errors, 0, atol=1e-12)
        return
    for coarse, fine in pairwise(errors):
        np.testing.assert_allclose(coarse / fine, 4, rtol=0.05)


@every_shape
def test_a_support_point_is_the_farthest_of_the_mesh_and_no_farther(kind: type[Shape]) -> None:
    """A mesh's vertices lie on the surface; a fine one misses the hull by little."""
    shape = kind.example()
    d = unit_directions()
    reached = np.sum(shape.support_points(d) * d, axis=1)
    vertices = meshes.mesh(*dimensions(shape), 100).vertices
    sample = np.max(vertices @ d.T, axis=0)
    size = np.ptp(vertices, axis=0).max()
    assert np.all(sample <= reached + 1e-12 * size)
    assert np.all(reached <= sample + 2e-4 * size)


@every_shape
def test_support_points_of_a_turned_shape_lie_on_its_surface(kind: type[Shape]) -> None:
    """Straight along the axis too, where a ring's farthest points are a circle."""
    shape = kind.example()
    profile = shape.profile()
    if profile is None:
        return
    x, y, z = shape.support_points(unit_directions()).T
    (sr, sz), edges = profile.stretch, profile.outline.edges
    drawn = (np.hypot(x, y) / sr + 1j * z / sz)[:, None]
    gap = np.abs(edges.points(edges.nearest(drawn)) - drawn).min(axis=1)
    np.testing.assert_allclose(gap, 0, atol=1e-12)


@every_shape
def test_the_support_point_is_the_gradient_of_the_support_function(kind: type[Shape]) -> None:
    """h(n) = max n·x is homogeneous; by the envelope theorem dh = x·dn. Central differences."""
    shape = kind.example()
    d = unit_directions(60)[:60]
    step = 1e-5

    def h(n: np.ndarray) -> np.ndarray:
        size = np.linalg.norm(n, axis=1)
        return size * np.sum(shape.support_points(n / size[:, None]) * n, axis=1) / size

    slopes = np.stack(
        [(h(d + step * axis) - h(d - step * axis)) / (2 * step) for axis in np.eye(3)], axis=1
    )
    np.testing.assert_allclose(slopes, shape.support_points(d), atol=1e-4)


@every_shape
def test_a_profile_turns_to_the_closed_form(kind: type[Shape]) -> None:
    """The drawing of a turned shape and its formula are two ways to the same solid."""
    shape = kind.example()
    profile = shape.profile()
    if profile is not None:
        assert apart(profile.turned().J, shape.moments().J) < 1e-12
        assert profile.convex == shape.convex


@every_shape
def test_flats_are_faces(kind: type[Shape]) -> None:
    """A support point that jumps by a length, at one height, when the normal tilts: a flat face."""
    shape = kind.example()
    for normal in shape.flats():
        assert np.linalg.norm(normal) == pytest.approx(1.0)
        sideways = np.roll(normal, 1)
        tilted = np.stack([normal + 1e-7 * sideways, normal - 1e-7 * sideways])
        one, other = shape.support_points(tilted / np.linalg.norm(tilted, axis=1, keepdims=True))
        assert np.linalg.norm(one - other) > 1.0
        assert abs((one - other) @ normal) < 1e-6


@every_shape
def test_an_example_survives_being_written_and_read_in_inches(kind: type[Shape]) -> None:
    """The reading's unit goes both ways; 12 written digits leave 1e-11."""
    shape = kind.example()
    inches = Reading(length=INCH)
    back = ANY.validate_python(shape.model_dump(context=inches), context=inches)
    assert type(back) is kind
    assert apart(back.moments().J, shape.moments().J) < 1e-10


@every_shape
def test_a_mistyped_dimension_is_refused(kind: type[Shape]) -> None:
    with pytest.raises(ValidationError, match="Extra inputs"):
        ANY.validate_python({**kind.example().model_dump(), "colour": 1})


def test_kinds_are_told_apart() -> None:
    """One kind, one shape: the union is read by its discriminator."""
    kinds = [shape.example().model_dump()["kind"] for shape in SHAPES]
    assert len(set(kinds)) == len(SHAPES) == 10
    with pytest.raises(ValidationError, match="does not match any of the expected tags"):
        ANY.validate_python({"kind": "ball", "diameter": 8.0})


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
    expected = quadrature.moments(solid["kind"], dimensions(shape)[1], stretch, rotate, at)
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
        assert apart(profile.turned().J, shape.moments().J) < 1e-13
        assert profile.convex


@given(lengths)
def test_a_dome_as_high_as_its_sphere_is_the_sphere(diameter: float) -> None:
    """Its origin, the centre of a flat face of no size, is the ball's lowest point."""
    up = Placement(at=(0.0, 0.0, diameter / 2)).matrix
    ball = Sphere(diameter=diameter).moments().moved(up)
    dome = Dome(sphere=diameter, height=diameter)
    assert apart(dome.moments().J, ball.J) < 1e-14
    assert apart(dome.profile().turned().J, ball.J) < 1e-13


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
    assert apart(dome.profile().turned().J, dome.moments().J) < 1e-12


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


# Refusals

IN_INCHES = Reading(length=INCH, named={"belly": 3.0})


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            {"kind": "capsule", "diameter": "belly", "height": 2.5},
            (
                "capsule is lower than it is wide (2.5); "
                "its height is overall, the round ends included: make it 3 or more"
            ),
        ),
        (
            {"kind": "dome", "sphere": 2, "height": 2.25},
            "dome is higher than its sphere (2.25); make it 2, the sphere's diameter, or less",
        ),
        (
            {"kind": "ring", "diameter": 2, "thickness": 2},
            (
                "ring is too thick to leave a hole (2); "
                "its diameter is that of the centre line: make it thinner than 2"
            ),
        ),
        (
            {"kind": "cone", "bottom": 0, "top": 0, "height": 2},
            "a cone with both diameters 0 is a line; give one of them a size",
        ),
        (
            {"kind": "revolved", "outline": [[1, 0], ["belly", 0], [1, 2], [3, 2]]},
            (
                "outline crosses or touches itself: the edges from vertex 2 to 3 and from "
                "vertex 4 to 1 meet near (2, 1); keep the edges apart"
            ),
        ),
        (
            {"kind": "revolved", "outline": [[0, 0], [1, 0], [-0.5, 2]]},
            (
                "outline crosses the axis: the edge from vertex 3 to 1 reaches a negative r near "
                "(-0.5, 2); keep r at 0 or above"
            ),
        ),
        (
            {"kind": "revolved", "outline": [[0, 0], [1, 0, 0.5, 3]]},
            "a vertex has 2 or 3 numbers (4); write [r, z] or [r, z, bulge]",
        ),
    ],
)
def test_what_cannot_be_is_refused_in_plain_words(text: dict[str, Any], said: str) -> None:
    """What is wrong, the value in the text's own unit, and what would be right."""
    with pytest.raises(ValidationError) as caught:
        ANY.validate_python(text, context=IN_INCHES)
    (error,) = caught.value.errors()
    assert error["msg"] == said
    assert error["ctx"]["instead"] == said.split("; ", 1)[1]


@pytest.mark.parametrize(
    "text",
    [
        {"kind": "sphere", "diameter": 0},
        {"kind": "sphere", "diameter": -8.5},
        {"kind": "sphere", "diameter": float("inf")},
        {"kind": "sphere", "diameter": "8.5"},
        {"kind": "sphere", "diameter": True},
        {"kind": "box", "size": [1, 2]},
        {"kind": "revolved", "outline": [[0, 0], [1, 0, 90], [0, 1]]},  # degrees, not a bulge
        {"kind": "revolved", "outline": "circle"},
        {"kind": "revolved", "outline": [1, 2, 3]},
    ],
)
def test_no_number_that_is_no_dimension_gets_in(text: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        ANY.validate_python(text)


def test_a_revolved_outline_is_written_as_it_was_read() -> None:
    """Two numbers stay two, and units go back; named lengths come back as numbers."""
    outline = [[0, -1], ["belly", -1, 0.25], [3, 1], [0, 1]]
    shape = ANY.validate_python({"kind": "revolved", "outline": outline}, context=IN_INCHES)
    assert shape.model_dump(mode="json", context=IN_INCHES)["outline"] == [
        [0, -1],
        [3, -1, 0.25],
        [3, 1],
        [0, 1],
    ]


def test_the_schema_says_what_a_vertex_is() -> None:
    schema = ANY.json_schema()
    vertex = schema["$defs"]["Revolved"]["properties"]["outline"]["items"]
    assert (vertex["minItems"], vertex["maxItems"]) == (2, 3)

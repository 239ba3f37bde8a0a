"""Every shape keeps the contract, and has the moments that its definition and the books give it."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from oracles import meshes, quadrature
from oracles.drawings import unit_directions
from oracles.quadrature import apart
from oracles.solids import dimensions
from pydantic import TypeAdapter, ValidationError
from scenes import swept

from geometry.shapes import SHAPES, AnyShape, Shape
from shared.models import Reading
from shared.units import INCH

ANY: TypeAdapter[Shape] = TypeAdapter(AnyShape)

every_shape = pytest.mark.parametrize("kind", SHAPES, ids=lambda kind: kind.__name__)


# The contract


@every_shape
def test_moments_are_those_of_a_body(kind: type[Shape]) -> None:
    assert np.linalg.eigvalsh(kind.example().moments().J)[0] > 0


@every_shape
def test_moments_agree_with_quadrature(kind: type[Shape]) -> None:
    """The oracle integrates over slices that follow from each solid's definition."""
    shape = kind.example()
    assert apart(shape.moments().J, quadrature.moments(*dimensions(shape.model_dump()))) < 1e-12


@every_shape
def test_a_mesh_approaches_the_moments_by_a_quarter_each_time_it_is_refined(
    kind: type[Shape],
) -> None:
    """Chords miss a curve by the square of their length: twice as many, a quarter of the error.

    A box is its mesh, and so is a mesh.
    """
    shape = kind.example()
    J = shape.moments().J
    errors = [
        np.diag(meshes.moments(meshes.mesh(*dimensions(shape.model_dump()), n))) / np.diag(J) - 1
        for n in (16, 32, 64)
    ]
    if shape.kind in {"box", "mesh"}:
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
    vertices = meshes.mesh(*dimensions(shape.model_dump()), 100).vertices
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
        assert apart(swept(profile).J, shape.moments().J) < 1e-12
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
    """The reading's unit goes both ways; 12 written digits leave 1e-11, a file 7 digits."""
    shape = kind.example()
    inches = Reading(length=INCH, files=lambda _: meshes.stl(meshes.waist(), 0.1))
    back = ANY.validate_python(shape.model_dump(context=inches), context=inches)
    assert type(back) is kind
    assert apart(back.moments().J, shape.moments().J) < (1e-6 if shape.kind == "mesh" else 1e-10)


@every_shape
def test_a_mistyped_dimension_is_refused(kind: type[Shape]) -> None:
    with pytest.raises(ValidationError, match="Extra inputs"):
        ANY.validate_python({**kind.example().model_dump(), "colour": 1})


def test_kinds_are_told_apart() -> None:
    """One kind, one shape: the union is read by its discriminator."""
    kinds = [shape.example().model_dump()["kind"] for shape in SHAPES]
    assert len(set(kinds)) == len(SHAPES) == 12
    with pytest.raises(ValidationError, match="does not match any of the expected tags"):
        ANY.validate_python({"kind": "ball", "diameter": 8.0})


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
            {"kind": "revolved", "outline": [[0, 0], [0, 3]]},
            "outline has too few vertices (2); draw at least three corners, or two and an arc",
        ),
        (
            {"kind": "revolved", "outline": [[0, 0], [1, 0, 0.5, 3]]},
            "a vertex has 2 or 3 numbers (4); write [r, z] or [r, z, bulge]",
        ),
        (
            {"kind": "extruded", "outline": [[0, 0], [1], [1, 1]], "height": 2},
            "a vertex has 2 or 3 numbers (1); write [x, y] or [x, y, bulge]",
        ),
        (
            {"kind": "extruded", "outline": [[-1, 0], ["belly", 0], [3, 2], [1, -1]], "height": 2},
            (
                "outline crosses or touches itself: the edges from vertex 1 to 2 and from "
                "vertex 3 to 4 meet near (1.66667, 0); keep the edges apart"
            ),
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
    written = schema["$defs"]["Revolved"]["properties"]["outline"]["anyOf"][0]  # the rest: a file
    vertex = written["items"]
    assert (vertex["minItems"], vertex["maxItems"]) == (2, 3)

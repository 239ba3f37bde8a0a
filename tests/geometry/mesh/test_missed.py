"""The estimate of what chords miss, against closed forms of what they stand for."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import trimesh
from oracles import meshes

from geometry.mesh.solid import Solid
from geometry.shapes.capsule import Capsule
from geometry.shapes.cylinder import Cylinder
from geometry.shapes.dome import Dome
from geometry.shapes.ring import Ring
from geometry.shapes.sphere import Sphere

SMOOTH: dict[str, Any] = {
    "sphere": Sphere(diameter=6),
    "capsule": Capsule(diameter=4, height=9),
    "ring": Ring(diameter=8, thickness=2),
    "dome": Dome(sphere=8, height=5),
    "cylinder": Cylinder(diameter=5, height=6),
}


def solid(body: trimesh.Trimesh) -> Solid:
    body = trimesh.Trimesh(body.vertices, body.faces)  # the oracle's points on the axis are one
    body.update_faces(body.nondegenerate_faces())
    return Solid("a.stl", np.array(body.vertices), np.array(body.faces))


@pytest.mark.parametrize("name", SMOOTH)
@pytest.mark.parametrize("n", [8, 24, 48])
def test_the_estimate_is_within_a_factor_of_two_of_the_truth(name, n):
    """256 to 18 000 triangles, volume and second moments; the closed forms say what is true."""
    shape = SMOOTH[name]
    dims = {key: value for key, value in shape.model_dump().items() if key != "kind"}
    drawn = solid(meshes.mesh(name, dims, n))
    true = np.diag(shape.moments().J - drawn.moments.J)
    told = np.diag(drawn.missed.J)
    assert np.all(told / true > 0.5)
    assert np.all(told / true < 2.0)


def test_an_even_sphere_is_told_to_a_hundredth():
    ball = trimesh.creation.icosphere(subdivisions=4, radius=3.0)
    drawn = solid(ball)
    true = 4 / 3 * np.pi * 27 - drawn.moments.volume
    assert drawn.missed.volume == pytest.approx(true, rel=0.01)


def test_a_block_of_flat_faces_misses_nothing():
    """Its edges are sharp; and where they are bevelled by 45°, they are its own as well."""
    for body in (
        trimesh.creation.box(extents=(1, 2, 3)),
        trimesh.creation.cylinder(2.0, 3.0, sections=8),
    ):
        assert abs(solid(body).missed.volume) < 1e-12


def test_a_hollow_is_told_as_volume_that_is_too_much():
    """The inner half of a ring's surface is hollow: seen alone it has more than the torus."""
    drawn = solid(meshes.lathe(np.array([[1, -2], [3, -2], [3, 2], [1, 2]]), 40))
    true = np.pi * (9 - 1) * 4 - drawn.moments.volume
    assert drawn.missed.volume == pytest.approx(true, rel=0.02)

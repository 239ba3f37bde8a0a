"""Moments of solids between triangles: published polyhedra, closed forms, and a second program."""

from __future__ import annotations

import io
import zipfile

import numpy as np
import pytest
import trimesh
from oracles import meshes
from oracles.quadrature import apart

from geometry.mesh.solid import polyhedron_moments
from geometry.mesh.sound import solid

EXACT = 1e-6
"""What the seven digits of a binary STL leave."""


def read(body: trimesh.Trimesh, unit: str = "mm", name: str = "block.stl") -> np.ndarray:
    """J of the mesh, in cm, once it has been through a file."""
    return solid(name, meshes.stl(body, {"mm": 0.1, "in": 2.54}[unit]), unit).moments.J


def as_text(vertices: np.ndarray, faces: np.ndarray) -> bytes:
    """An STL in text, with all digits."""
    lines = ["solid block"]
    for face in faces:
        corners = [f"vertex {x!r} {y!r} {z!r}" for x, y, z in vertices[face].tolist()]
        lines += ["facet normal 0 0 0", "outer loop", *corners, "endloop", "endfacet"]
    return "\n".join([*lines, "endsolid block"]).encode()


def test_tonons_tetrahedron_has_the_published_inertia():
    """J. Math. Stat. 1 (2005) 8, in mm here; about the centroid.

    The paper's own vertices are rounded: recomputed from them the last digits differ (1e-8). Its
    products b′ and c′, −46343.16662 and 11996.20119, stand in each other's place: with
    x, y, z as in its own vertices ∫xy dV is 11996.20119 and ∫xz dV is −46343.16662.
    """
    vertices = np.array(
        [
            (8.33220, -11.86875, 0.93355),
            (0.75523, 5.0, 16.37072),
            (52.61236, 5.0, -5.38580),
            (2.0, 5.0, 3.0),
        ]
    )
    body = meshes.tetrahedron(vertices)
    J = solid("t.stl", as_text(vertices, body.faces), "mm").moments
    about = J.about(J.centroid)
    mm5 = 1e5
    np.testing.assert_allclose(
        np.diag(about.inertia) * mm5, [43520.33257, 194711.28938, 191168.76173], rtol=3e-8
    )
    products = about.J[:3, :3] * mm5
    found = [products[1, 2], products[0, 1], products[0, 2]]
    assert found == pytest.approx([4417.66150, 11996.20119, -46343.16662], rel=3e-8)


def test_mirtichs_polyhedra_have_the_published_integrals():
    """J. Graphics Tools 1(2) (1996) 31: a cube of side 20, and a corner of 5, 4 and 3."""
    cube = read(trimesh.creation.box(extents=(20, 20, 20)))
    np.testing.assert_allclose(np.diag(cube)[:3], 20.0**5 / 12, rtol=EXACT)
    assert pytest.approx(266666.6667) == 20.0**5 / 12
    corner = np.array([(0, 0, 0), (5, 0, 0), (0, 4, 0), (0, 0, 3)], dtype=float)
    J = read(meshes.tetrahedron(corner), "in")
    assert J[3, 3] == pytest.approx(10, rel=EXACT)
    np.testing.assert_allclose(J[:3, 3] / J[3, 3], [1.25, 1, 0.75], rtol=EXACT)
    np.testing.assert_allclose(np.diag(J)[:3], [25, 16, 9], rtol=EXACT)
    np.testing.assert_allclose([J[0, 1], J[1, 2], J[2, 0]], [10, 6, 7.5], rtol=EXACT)


def test_the_unit_tetrahedron_has_its_covariance():
    """1/120 · [[2, 1, 1], [1, 2, 1], [1, 1, 2]] about its corner (Blow & Binstock 2004)."""
    body = meshes.tetrahedron(np.vstack([np.zeros(3), np.eye(3)]))
    expected = (np.ones((3, 3)) + np.eye(3)) / 120
    np.testing.assert_allclose(polyhedron_moments(body.triangles).J[:3, :3], expected, rtol=1e-14)


def test_random_bodies_have_the_moments_that_trimesh_gives_them():
    """A second program, which sums over faces in another way; also far from the origin."""
    rng = np.random.default_rng(3)
    for far in (0.0, 5.0, 100.0):
        body = trimesh.convex.convex_hull(rng.normal(size=(60, 3)) + far)
        assert apart(polyhedron_moments(body.triangles).J, meshes.moments(body)) < 1e-11


def test_little_is_lost_far_from_the_origin():
    """A cube of 1 at (1000, 0, 0): about its own middle ∫x² is 1/12 to nine digits still."""
    body = trimesh.creation.box(extents=(1, 1, 1))
    body.apply_translation((1000.0, 0, 0))
    J = polyhedron_moments(body.triangles).about(np.array([1000.0, 0, 0])).J
    np.testing.assert_allclose(np.diag(J)[:3], 1 / 12, rtol=1e-8)


def in_inches(content: bytes) -> bytes:
    """A 3MF file of trimesh's, which always says millimetres, as one in inches."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            new.writestr(name, old.read(name).replace(b'unit="millimeter"', b'unit="inch"'))
    return out.getvalue()


@pytest.mark.parametrize("suffix", ["stl", "obj", "ply", "3mf"])
@pytest.mark.parametrize("unit", ["in", "mm"])
def test_every_kind_of_file_holds_the_same_solid(suffix, unit):
    body = meshes.waist()
    cm = {"in": 2.54, "mm": 0.1}[unit]
    body.apply_scale(1 / cm)
    content = (trimesh.Scene([body]) if suffix == "3mf" else body).export(file_type=suffix)
    if suffix == "3mf" and unit == "in":
        content = in_inches(content)
    found = solid(
        f"block.{suffix}", content.encode() if isinstance(content, str) else content, unit
    )
    body.apply_scale(cm)
    assert len(found.faces) == 20
    assert found.notes == ()
    assert apart(found.moments.J, meshes.moments(body)) < EXACT

"""Walls of meshes: against distances of all vertices in closed form, clouds, and other shapes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import trimesh
from oracles import meshes
from scenes import apart, nested, part
from scipy.spatial import cKDTree

from geometry.mesh.solid import Solid
from geometry.parts import Part
from geometry.placement import Placement
from geometry.shapes.box import Box
from geometry.shapes.mesh import Mesh
from geometry.shapes.ring import Ring
from geometry.shapes.sphere import Sphere
from geometry.solids.joined import Joined
from geometry.solids.joined import Solid as Joint


def mesh(body: trimesh.Trimesh) -> Mesh:
    return Mesh(unit="mm", file=Solid("a.stl", np.array(body.vertices), np.array(body.faces)))


def lump(fineness: int) -> Mesh:
    """A ball of 3 with hills and hollows."""
    body = trimesh.creation.icosphere(subdivisions=fineness, radius=1.0)
    x, y, _ = body.vertices.T
    body.vertices *= (3 + 0.6 * np.sin(3 * x) * np.cos(2 * y))[:, None]
    return mesh(body)


def placed(of: Part) -> np.ndarray:
    return of.shape.file.vertices @ of.matrix[:3, :3].T + of.matrix[:3, 3]


@pytest.mark.parametrize("at", [(0, 0, 0), (0.5, 0.3, -0.4)])
def test_a_mesh_in_a_ball_or_a_box_has_the_wall_of_its_outermost_vertex(at):
    """Every vertex is looked at here: R − |v|, and the least of six gaps."""
    inner = part(lump(4), at, (10, 20, 30))
    v = placed(inner)
    ball, box = part(Sphere(diameter=14)), part(Box(size=(13, 14, 15)))
    assert nested(inner, ball).thickness == pytest.approx(7 - np.linalg.norm(v, axis=1).max())
    gaps = np.array([6.5, 7.0, 7.5]) - np.abs(v)
    assert nested(inner, box).thickness == pytest.approx(gaps.min(), abs=1e-8)


def test_one_spike_among_thousands_of_vertices_is_found():
    """Narrower than any net of directions; it stands out by 0.01 cm."""
    body = trimesh.creation.icosphere(subdivisions=5, radius=3.0)
    for spike in (17, 4321, 9876):
        vertices = np.array(body.vertices)
        vertices[spike] *= 3.01 / 3
        inner = part(mesh(trimesh.Trimesh(vertices, body.faces, process=False)))
        wall = nested(inner, part(Sphere(diameter=8)))
        assert wall.thickness == pytest.approx(0.99, abs=1e-9)
        np.testing.assert_allclose(wall.at, vertices[spike], atol=1e-9)


def test_a_mesh_that_sticks_out_has_a_negative_wall():
    inner = part(lump(3), (4.5, 0, 0))
    out = np.linalg.norm(placed(inner), axis=1).max()
    assert nested(inner, part(Sphere(diameter=12))).thickness == pytest.approx(6 - out)


def test_walls_of_a_box_as_a_mesh_are_those_of_the_box():
    """Turned and shifted, beside a ball, a ring and itself: two roads to one answer."""
    sides = (2.0, 3.0, 4.0)
    as_mesh, as_box = mesh(trimesh.creation.box(extents=sides)), Box(size=sides)
    assert as_mesh.convex
    for other in (
        part(Sphere(diameter=2), (3, 1, 0.5)),
        part(Ring(diameter=9, thickness=1)),
        part(Box(size=(1, 2, 3)), (3, 2, 1), (20, 30, 40)),
    ):
        one, two = (apart(part(s, (0.1, 0, 0), (5, 10, 15)), other) for s in (as_mesh, as_box))
        assert one.thickness == pytest.approx(two.thickness, abs=one.error + two.error)
    inner = part(Sphere(diameter=1), (0.2, 0.1, 0.3))
    hosts = [nested(inner, part(s, rotate=(5, 10, 15))).thickness for s in (as_mesh, as_box)]
    assert hosts[0] == pytest.approx(hosts[1], abs=1e-8)


def test_two_meshes_side_by_side_agree_with_clouds():
    """1280 triangles each; points on the surfaces are no nearer than the wall, nor much farther."""
    first, second = part(lump(3)), part(lump(3), (7.1, 0.5, 0.2), (20, 30, 40))
    wall = apart(first, second)
    clouds = [one.surface.view(one.surface.cells(6, 6)).points for one in (first, second)]
    nearest = cKDTree(clouds[0]).query(clouds[1])[0].min()
    assert wall.error < 1e-3
    assert wall.thickness - wall.error <= nearest <= wall.thickness + 0.01


def test_two_meshes_that_run_along_each_other_have_an_exact_wall():
    """20480 triangles, and 1.1 times as large: each is 0.1 of its height from its own."""
    body = trimesh.creation.icosphere(subdivisions=5, radius=3.0)
    body.vertices *= [1.0, 0.9, 1.2]
    larger = trimesh.Trimesh(1.1 * body.vertices, body.faces, process=False)
    a, b, c = body.triangles.transpose(1, 0, 2)
    across = np.cross(b - a, c - a)
    heights = np.einsum("ij,ij->i", a, across) / np.linalg.norm(across, axis=1)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Mesh, "convex", False)  # else it is a question for support functions
        wall = nested(part(mesh(body)), part(mesh(larger)))
    assert wall.error < 1e-6
    assert wall.thickness == pytest.approx(0.1 * heights.min(), abs=1e-12)


def test_meshes_that_cross_are_told_by_how_much():
    """Two balls of 3, 5 apart: each reaches 1 into the other, but for the chords."""
    ball = mesh(trimesh.creation.icosphere(subdivisions=4, radius=3.0))
    wall = apart(part(ball), part(ball, (5, 0, 0)))
    assert wall.thickness == pytest.approx(-1, abs=0.02)


def test_a_block_with_a_waist_is_not_convex_and_a_fine_ball_is():
    assert not Mesh.example().convex
    rounded = trimesh.creation.icosphere(subdivisions=4, radius=3.0)
    rounded.vertices = rounded.vertices.astype(np.float32)
    assert mesh(rounded).convex
    dented = np.array(rounded.vertices)
    dented[100] *= 0.99
    assert not mesh(trimesh.Trimesh(dented, rounded.faces, process=False)).convex


def test_the_inside_of_a_mesh_is_what_trimesh_says():
    """By solid angles (van Oosterom & Strackee 1983; from memory), which know no rays."""
    body = meshes.waist()
    points = np.random.default_rng(2).uniform(-4, 4, (4000, 3))
    a, b, c = (body.triangles[None, :, k] - points[:, None] for k in range(3))
    la, lb, lc = (np.linalg.norm(v, axis=2) for v in (a, b, c))
    above = np.einsum("nij,nij->ni", a, np.cross(b, c))
    below = la * lb * lc + (a * b).sum(2) * lc + (b * c).sum(2) * la + (c * a).sum(2) * lb
    turns = np.arctan2(above, below).sum(axis=1) / (2 * np.pi)
    assert np.array_equal(Mesh.example().file.inside(points), turns > 0.5)


def test_points_on_a_grid_with_the_corners_are_inside_or_not_as_they_should():
    """Rays through vertices and edges, if the way of rays were along an axis or not."""
    box = mesh(trimesh.creation.box(extents=(2, 2, 2)))
    side = np.linspace(-1.5, 1.5, 13)
    points = np.stack(np.meshgrid(side, side, side), axis=-1).reshape(-1, 3)
    clear = np.abs(np.abs(points).max(axis=1) - 1) > 1e-9
    assert np.array_equal(box.file.inside(points)[clear], (np.abs(points).max(axis=1) < 1)[clear])


def test_sections_add_up_to_the_volume():
    """Cavalieri: slices at Gauss's heights, of a lump and of a ring of triangles with its hole."""
    at, weights = np.polynomial.legendre.leggauss(40)
    ring = mesh(trimesh.creation.torus(3.0, 1.0, major_sections=48, minor_sections=24))
    for shape in (lump(4), ring):
        y = shape.file.vertices[:, 1]
        middle, half = (y.max() + y.min()) / 2, (y.max() - y.min()) / 2
        total = 0.0
        for u, w in zip(at, weights, strict=True):
            loops = part(shape, (0, -(middle + half * u), 0)).section()
            signed = [loop.outline.area_moments()[2, 2] for loop in loops]
            total += w * half * abs(sum(signed))
        assert total == pytest.approx(shape.moments().volume, rel=2e-3)


def test_how_far_triangles_lie_off_a_solid_grows_with_every_stretch():
    """A solid of several, stretched 3 times along z, in a part that is stretched 2 times along x.

    The largest factor by which the two stretch any direction, its length tried on a net of them.
    """
    drawn = lump(1)
    drawn = drawn.model_copy(update={"file": replace(drawn.file, skin=0.01)})
    solid = Joint.model_construct(shape=drawn, rotate=(0.0, 40.0, 0.0), stretch=(1.0, 1.0, 3.0))
    several = Joined.model_construct(shapes=(solid,), minus=())
    outer = Part("a", None, several, Placement((0, 0, 0), (10.0, 0, 0), (2.0, 1.0, 1.0)))
    (body,) = outer.bodies
    turns = np.linspace(0, np.pi, 721)
    ways = np.stack([np.sin(turns), 0 * turns, np.cos(turns)], axis=1)
    longest = np.linalg.norm(ways @ body.matrix[:3, :3].T, axis=1).max()
    assert longest > 3.0
    assert body.skin == pytest.approx(0.01 * longest, rel=1e-5)
    alone = Part("b", None, drawn, Placement((0, 0, 0), (10.0, 20.0, 0), (2.0, 1.5, 1.0)))
    assert alone.skin == pytest.approx(0.02, rel=1e-12)

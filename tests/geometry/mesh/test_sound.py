"""What is no solid is refused in plain words, and what is mended is said."""

from __future__ import annotations

import io
import re
import zipfile

import numpy as np
import pytest
import trimesh
from oracles import meshes

from geometry.mesh.crossing import crossing
from geometry.mesh.files import MOST
from geometry.mesh.solid import Solid
from geometry.mesh.sound import solid
from shared.errors import FileError

BLOCK = trimesh.creation.box(extents=(50.0, 40.0, 30.0))
BALL = trimesh.creation.icosphere(subdivisions=3, radius=20.0)


def of(vertices: np.ndarray, faces: np.ndarray) -> bytes:
    """The STL of triangles just as they are."""
    return meshes.stl(trimesh.Trimesh(vertices, faces, process=False))


def mm(body: trimesh.Trimesh) -> Solid:
    return solid("block.stl", meshes.stl(body), "mm")


def refused(content: bytes, name: str = "block.stl", unit: str = "mm") -> str:
    with pytest.raises(FileError) as caught:
        solid(name, content, unit)
    return str(caught.value)


def both(*bodies: trimesh.Trimesh) -> bytes:
    return meshes.stl(trimesh.util.concatenate(bodies))


def moved(body: trimesh.Trimesh, *by: float) -> trimesh.Trimesh:
    return body.copy().apply_translation(by)


def test_a_sound_mesh_is_taken_as_it_is():
    block = mm(BLOCK)
    assert block.notes == ()
    assert block.moments.volume == pytest.approx(60.0, rel=1e-7)
    assert len(block.vertices) == 8


def test_an_open_mesh_is_refused_with_its_first_edge():
    said = refused(of(BLOCK.vertices, BLOCK.faces[1:]))
    assert said.startswith("is open: 3 edges have only one triangle, the first from (")
    assert said.endswith("close it where it was drawn, and export it again")


def test_a_mesh_that_is_inside_out_is_turned_and_that_is_said():
    block = solid("block.stl", of(BLOCK.vertices, BLOCK.faces[:, ::-1]), "mm")
    assert block.notes == ("was inside out: its triangles are reversed",)
    assert block.moments.volume == pytest.approx(60.0, rel=1e-7)


def test_one_triangle_that_faces_the_other_way_is_refused():
    faces = BLOCK.faces.copy()
    faces[3] = faces[3, ::-1]
    assert "has triangles that face opposite ways at 3 edges, the first from (" in refused(
        of(BLOCK.vertices, faces)
    )


def test_several_bodies_are_refused():
    assert refused(both(BALL, moved(BALL, 50, 0, 0))).startswith("is 2 bodies; save each body")
    inner = trimesh.creation.icosphere(subdivisions=2, radius=10.0)
    inner.invert()
    assert "2 closed surfaces, of which some may be voids" in refused(both(BALL, inner))


def test_bodies_that_share_an_edge_or_a_face_are_refused():
    edge = moved(BLOCK, 50, 40, 0)
    assert "more than two triangles meet at 1 edges" in refused(both(BLOCK, edge))


def test_a_mesh_that_crosses_itself_is_refused():
    """A block whose corner is pulled through the opposite side."""
    vertices = BLOCK.vertices.copy()
    corner = np.argmax(vertices.sum(axis=1))
    vertices[corner] = [-40.0, -5.0, -3.0]
    assert "crosses or touches itself in" in refused(of(vertices, BLOCK.faces))


@pytest.mark.parametrize("depth", [1e-3, 0.1, 3.0, 12.0])
def test_balls_that_cross_are_seen_whatever_the_depth(depth):
    """Two balls that reach into each other, tip first; a little apart they do not cross."""
    rng = np.random.default_rng(4)
    way = rng.normal(size=3)
    way /= np.linalg.norm(way)
    tip, other = (BALL.vertices[np.argmax(BALL.vertices @ n)] for n in (way, -way))
    for by, crosses in ((depth, True), (-depth, False)):
        far = moved(BALL, *(tip - other - by * way))
        assert bool(len(crossing(np.concatenate([BALL.triangles, far.triangles])))) is crosses


def test_crossing_pairs_are_those_that_every_two_show():
    """Against a test of every two triangles of a crowd by another formula: separating axes."""
    rng = np.random.default_rng(9)
    crowd = rng.uniform(-1, 1, (25, 1, 3)) + 0.5 * rng.normal(size=(25, 3, 3))
    i, j = np.triu_indices(len(crowd), 1)
    met = {tuple(np.round(p, 9)) for p in crossing(crowd)}
    pairs = 0
    for a, b in zip(crowd[i], crowd[j], strict=True):
        seen = len(crossing(np.stack([a, b])))
        pairs += seen
        assert bool(seen) is not parted(a, b)
    assert len(met) == pairs > 10


def parted(a: np.ndarray, b: np.ndarray) -> bool:
    """Whether an axis parts two triangles: a normal, or a product of two sides."""
    sides, others = (np.roll(t, -1, axis=0) - t for t in (a, b))
    axes = [np.cross(*sides[:2]), np.cross(*others[:2])]
    axes += [np.cross(s, t) for s in sides for t in others]
    return any((a @ n).max() < (b @ n).min() or (b @ n).max() < (a @ n).min() for n in axes)


def test_what_has_no_volume_is_refused():
    flat = np.array([(0, 0, 0), (50, 0, 0), (0, 40, 0), (0, 0, 1e-4)])
    faces = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])
    assert "encloses nothing: it is flat" in refused(of(flat, faces))


@pytest.mark.parametrize("suffix", ["stl", "obj", "ply"])
def test_an_empty_file_is_refused(suffix):
    for content in (b"", b"solid block\nendsolid block\n", bytes(84)):
        refused(content, f"block.{suffix}")
    assert refused(bytes(84)) == "holds no triangles; export it again, whole"


def test_a_vertex_that_is_no_number_is_refused():
    for wrong in (np.nan, np.inf):
        vertices = BLOCK.vertices.copy()
        vertices[0, 1] = wrong
        content = of(BLOCK.vertices, BLOCK.faces)
        rows = np.frombuffer(content[84:], dtype=np.uint8).reshape(-1, 50).copy()
        rows[5, 12:16] = np.frombuffer(np.float32(wrong).tobytes(), dtype=np.uint8)
        said = refused(content[:84] + rows.tobytes())
        assert said.startswith("has a vertex that is not a number, number 16")


@pytest.mark.parametrize("far", [1e10, -1e160, 1e308])
def test_a_vertex_out_of_all_bounds_is_refused(far):
    """The cube of such a length has no number, and the volume of its triangles is none."""
    content = BLOCK.export(file_type="obj").splitlines()
    row = next(k for k, line in enumerate(content) if line.startswith("v "))
    content[row] = f"v 0 {far} 0"
    said = refused("\n".join(content).encode(), "block.obj")
    assert said.startswith("has a vertex farther off than any ball's, number 1")


def test_an_stl_that_is_cut_off_is_refused():
    text = BLOCK.export(file_type="stl_ascii").encode()
    half = text[: len(text) // 2]
    assert "is cut off: line " in refused(half)
    assert "not three to each" in refused(half + b"\nendsolid")
    binary = meshes.stl(BLOCK)
    assert refused(binary[:300]) == (
        "claims 12 triangles, but has room for 4.32; export it again, whole"
    )
    assert "is not an STL file: it has 20 bytes" in refused(binary[:20])
    assert "isn't three numbers" in refused(text.replace(b"vertex -", b"vertex x", 1))


def test_a_zip_or_a_text_that_claims_to_be_3mf_is_refused():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as some:
        some.writestr("readme.txt", "nothing")
    for content in (out.getvalue(), b"PK\x03\x04 no zip at all", b"", b"<model/>"):
        said = refused(content, "block.3mf")
        assert said.startswith(("is a damaged or locked archive", "holds no model of 3MF"))


@pytest.mark.parametrize("name", ["block.obj", "block.ply"])
def test_rubbish_is_refused(name):
    rng = np.random.default_rng(1)
    for content in (b"f 1 2 3\n", b"ply\nformat ascii 1.0\nend_header\n", rng.bytes(400)):
        refused(content, name)


@pytest.mark.parametrize("odd", [b"nan", b"-inf", b"1e30"])
def test_a_vertex_that_no_number_names_is_refused(odd):
    """Cast to an integer it would be any vertex, and numpy would warn on the user's screen."""
    content = BLOCK.export(file_type="ply", encoding="ascii")
    head, faces = content.rsplit(b"\n3 ", 1)
    spoilt = head + b"\n3 " + odd + faces[faces.index(b" ") :]
    assert refused(spoilt, "block.ply").startswith("has a number that is none")


def test_a_vertex_that_is_moved_to_nowhere_is_refused():
    """Of a 3MF, whose build moves its objects: infinity times zero is no number."""
    with zipfile.ZipFile(io.BytesIO(trimesh.Scene([BLOCK]).export(file_type="3mf"))) as sound:
        members = {name: sound.read(name) for name in sound.namelist()}
    (model,) = (name for name in members if name.endswith(".model"))
    members[model] = re.sub(rb'<vertex x="[^"]*"', b'<vertex x="inf"', members[model], count=1)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as spoilt:
        for name, content in members.items():
            spoilt.writestr(name, content)
    assert refused(out.getvalue(), "block.3mf").startswith("has a number that is none")


def test_what_is_no_file_of_triangles_is_refused():
    assert refused(b"", "block.dwg") == (
        "is not a kind of file that can be read; export one of .stl, .obj, .ply, .3mf or .step"
    )


def test_too_many_triangles_are_refused_before_they_are_read():
    count = 1_000_000
    content = bytes(80) + count.to_bytes(4, "little") + bytes(50 * count)
    assert refused(content).startswith(f"has more than {MOST} triangles")


def test_a_slip_of_the_unit_is_told_with_what_it_would_be():
    body = trimesh.creation.box(extents=(60.0, 40.0, 30.0))
    assert refused(meshes.stl(body), unit="in") == (
        'is 60 in across, larger than any ball; with unit = "mm" it is 60 mm across'
    )
    small = trimesh.creation.box(extents=(6.0, 4.0, 3.0))
    assert mm(small).notes == ('is 6 mm across only; with unit = "in" it is 6 in across',)
    assert "smaller than any part" in refused(meshes.stl(small, 10.0))
    assert solid("block.stl", meshes.stl(small), "in").notes == ()


def test_a_file_that_says_another_unit_is_refused():
    content = trimesh.Scene([BLOCK]).export(file_type="3mf")
    assert refused(content, "block.3mf", "in").startswith('says that it is in "mm"')


def test_doubled_vertices_are_one_and_that_is_said():
    """As programs write it that give every face normals of its own."""
    loose = trimesh.Trimesh(
        BLOCK.triangles.reshape(-1, 3), np.arange(36).reshape(-1, 3), process=False
    )
    found = solid("block.ply", loose.export(file_type="ply"), "mm")
    assert found.notes == ("has 28 vertices that repeat others: they are merged",)
    assert len(found.vertices) == 8


def test_vertices_that_rounding_has_parted_are_one_and_that_is_said():
    corners = BLOCK.triangles.copy()
    corners[0, 0] += 1e-5
    found = mm(trimesh.Trimesh(corners.reshape(-1, 3), np.arange(36).reshape(-1, 3), process=False))
    assert found.notes == ("has vertices up to 1.7e-05 apart that are merged",)


def test_triangles_without_a_third_corner_are_left_out_and_that_is_said():
    faces = np.vstack([BLOCK.faces, [[0, 1, 1]]])
    found = solid("block.stl", of(BLOCK.vertices, faces), "mm")
    assert found.notes == ("has 1 triangles without a third corner: left out",)
    assert len(found.faces) == 12

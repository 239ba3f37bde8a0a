"""OBJ, PLY and 3MF: read as an independent reader does, and never more than a file may hold."""

from __future__ import annotations

import io
import zipfile

import numpy as np
import pytest
import trimesh

from geometry.mesh.files import HEADER, MOST, Triangles, triangles
from shared.errors import FileError

BLOCK = trimesh.creation.box(extents=(50.0, 40.0, 30.0))
BALL = trimesh.creation.icosphere(subdivisions=2, radius=20.0)


def refused(content: bytes, name: str) -> str:
    with pytest.raises(FileError) as caught:
        triangles(name, content)
    return str(caught.value)


def alike(read: Triangles, scene: trimesh.Scene) -> None:
    """The same oriented triangles as another program's, whatever their order."""
    other = trimesh.util.concatenate(scene.dump())
    one, two = (
        sorted(np.round(np.roll(t, -np.lexsort(t.T)[0], axis=0), 6).ravel().tolist() for t in each)
        for each in (read.vertices[read.faces], other.triangles)
    )
    assert one == two


# 3MF, against trimesh's own reader and writer

HEAD = (
    '<?xml version="1.0"?><model unit="inch" '
    'xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02" '
    'xmlns:p="http://schemas.microsoft.com/3dmanufacturing/production/2015/06"><resources>'
)


def xml(number: int, body: trimesh.Trimesh = BLOCK) -> str:
    """An object of 3MF."""
    points = "".join(
        f'<vertex x="{x!r}" y="{y!r}" z="{z!r}"/>' for x, y, z in body.vertices.tolist()
    )
    faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in body.faces)
    inside = f"<vertices>{points}</vertices><triangles>{faces}</triangles>"
    return f'<object id="{number}"><mesh>{inside}</mesh></object>'


def of(number: int, *components: str) -> str:
    return f'<object id="{number}"><components>{"".join(components)}</components></object>'


def put(kind: str, number: int, transform: str = "", more: str = "") -> str:
    where = f' transform="{transform}"' if transform else ""
    return f'<{kind} objectid="{number}"{where} {more}/>'


def threemf(resources: str, *items: str, head: str = HEAD, **others: str) -> bytes:
    """A file of 3MF."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        build = f"</resources><build>{''.join(items)}</build></model>"
        archive.writestr("3D/3dmodel.model", head + resources + build)
        for name, text in others.items():
            archive.writestr(f"3D/{name}.model", HEAD + text + "</resources></model>")
    return out.getvalue()


TURNED = "0 1 0 -1 0 0 0 0 1 10 20 30"
MIRRORED = "1 0 0 0 -2 0 0 0 1 5 0 0.5"
MODELS = {
    "one": threemf(xml(1), put("item", 1)),
    "moved": threemf(xml(1), put("item", 1, TURNED)),
    "mirrored": threemf(xml(1), put("item", 1, MIRRORED)),
    "twice, and one that is not built": threemf(
        xml(1) + xml(2, BALL), put("item", 1), put("item", 1, TURNED)
    ),
    "within others": threemf(
        xml(1) + xml(2, BALL) + of(3, put("component", 1, TURNED), put("component", 2)),
        put("item", 3, MIRRORED),
    ),
    "three deep": threemf(
        xml(1) + of(2, put("component", 1, TURNED)) + of(3, put("component", 2, MIRRORED)),
        put("item", 3, TURNED),
    ),
    "in another file": threemf(
        of(1, put("component", 7, TURNED, 'p:path="/3D/other.model"')),
        put("item", 1, MIRRORED),
        other=xml(7),
    ),
}


@pytest.mark.parametrize("name", MODELS)
def test_3mf_builds_what_an_independent_reader_builds(name) -> None:
    read = triangles("x.3mf", MODELS[name])
    assert read.unit == "in"
    alike(read, trimesh.load_scene(io.BytesIO(MODELS[name]), file_type="3mf", process=False))


def test_3mf_of_another_program_is_read() -> None:
    scene = trimesh.Scene([BLOCK])
    scene.add_geometry(BALL, transform=trimesh.transformations.rotation_matrix(0.3, [1, 2, 3]))
    read = triangles("x.3mf", scene.export(file_type="3mf"))
    assert read.unit == "mm"
    alike(read, scene)


LAUGH = xml(1) + "".join(of(k + 1, *[put("component", k)] * 10) for k in range(1, 9))
"""10⁸ blocks in some kB."""


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (threemf(LAUGH, put("item", 9)), "places more than 1000 objects"),
        (threemf(xml(1), *[put("item", 1)] * 1001), "places more than 1000 objects"),
        (threemf(of(1), *[put("item", 1)] * 1001), "places more than 1000 objects"),
        (threemf(of(1, put("component", 1)), put("item", 1)), "within each other without an end"),
        (
            threemf(xml(1), put("item", 1), head='<!DOCTYPE m [<!ENTITY a "a">]>' + HEAD[21:]),
            "has a document type, which 3MF forbids",
        ),
        (threemf(xml(1) + " " * 61_000_000, put("item", 1)), "expands to more than 60 MB"),
        (threemf(xml(1), put("item", 2)), "can't be read as 3MF"),
        (threemf(xml(1), put("item", 1, "1 2 3")), "can't be read as 3MF"),
        (threemf(xml(1).replace('v1="', 'v1="9', 1), put("item", 1)), "isn't among its 8"),
        (threemf(xml(1).replace('x="', 'x="x', 1), put("item", 1)), "can't be read as 3MF"),
        (threemf(xml(1)[:-20], put("item", 1)), "can't be read as 3MF"),
        (threemf(xml(1)), "holds no triangles"),
        (threemf("", other=xml(1)), "holds no triangles"),
    ],
    ids=range(13),
)
def test_3mf_that_has_no_end_or_is_damaged_is_refused(content, told) -> None:
    assert told in refused(content, "x.3mf")


# OBJ, against trimesh's reader

CORNERS = "".join(f"v {x!r} {y!r} {z!r}\n" for x, y, z in BLOCK.vertices.tolist())


@pytest.mark.parametrize(
    "text",
    [
        BLOCK.export(file_type="obj"),
        BALL.export(file_type="obj", include_normals=True, digits=9),
        CORNERS + "f 1 2 4 3\nf 5/1 7/2 8/3 6/4\n",
        CORNERS + "f 1//1 2//1 4//1 3//1 \\\r\n 5//1\n# f 1 2 3\nvn 1 0 0\n",
        "o a\ng b\nusemtl c\nmtllib /dev/zero\ns off\n\n"
        + CORNERS
        + "f 1 2 3\nusemtl d\nf 5 6 7\n",
    ],
    ids=range(5),
)
def test_obj_has_the_triangles_that_an_independent_reader_finds(text) -> None:
    content = text.encode()
    alike(
        triangles("x.obj", content),
        trimesh.load_scene(io.BytesIO(content), file_type="obj", process=False),
    )


def test_obj_counts_back_from_the_last_vertex() -> None:
    """Wavefront's appendix B1: -1 is the last vertex before the face."""
    read = triangles("x.obj", (CORNERS + "f -8 -7 -6\nv 9 9 9\nf -1 1 2\n").encode())
    assert read.faces.tolist() == [[0, 1, 2], [8, 0, 1]]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (CORNERS + "f 1 2 3\n" * (MOST + 1), f"has more than {MOST} triangles"),
        (CORNERS + "f " + "1 2 3 " * 20_000, "has a line that is too long"),
        ("#\n" * (8 * MOST + 1), f"has more than {8 * MOST} lines"),
        (CORNERS + "f 1 2 2000000000", "isn't among its 8"),
        (CORNERS + "f 1 2 99999999999999999999", "can't be read as OBJ"),
        (CORNERS + "f 1 2 0", "can't be read as OBJ: a corner is vertex 0"),
        (CORNERS + "f 1 2 -9", "isn't among its 8"),
        ("v 1 2\nf 1 1 1", "can't be read as OBJ"),
        (CORNERS, "holds no triangles"),
    ],
    ids=range(9),
)
def test_obj_that_is_too_large_or_damaged_is_refused(text, told) -> None:
    assert told in refused(text.encode(), "x.obj")


# PLY: what its header promises


def ply(vertices: int, faces: int, form: str = "binary_little_endian", body: bytes = b"") -> bytes:
    head = (
        f"ply\nformat {form} 1.0\nelement vertex {vertices}\nproperty float x\nproperty float y\n"
    )
    head += f"property float z\nelement face {faces}\nproperty list uchar int vertex_indices\n"
    return f"{head}end_header\n".encode() + body


@pytest.mark.parametrize("form", ["binary_little_endian", "binary_big_endian", "ascii"])
def test_ply_is_refused_by_what_its_header_promises(form) -> None:
    """171 million triangles, and 8 GiB of vertices, in files of some bytes."""
    told = refused(ply(3, 171_000_000, form, bytes(1000)), "x.ply")
    assert told.startswith("claims 171000000 of face, in 1001 bytes")
    told = refused(ply(715_827_883, 1, form, bytes(1000)), "x.ply")
    assert told.startswith("claims 715827883 of vertex, in 1001 bytes")
    assert refused(ply(-1, 1, form), "x.ply").startswith("claims -1 of vertex")
    told = refused(ply(3, MOST + 1, form, bytes(MOST + 1)), "x.ply")
    assert told.startswith(f"has more than {MOST} triangles")
    assert "more than 2000000 items" in refused(ply(3_000_000, 1, form, bytes(3_000_000)), "x.ply")


def test_ply_with_a_header_or_rows_without_an_end_is_refused() -> None:
    content = ply(3, 1).replace(b"property float x\n", b"property float x\n" * 10_000)
    assert f"within {HEADER} bytes" in refused(content, "x.ply")
    assert "more than 2000000 items" in refused(ply(3, 1, "ascii", b"\n" * 2_000_001), "x.ply")
    assert "within" in refused(b"ply\n", "x.ply")


@pytest.mark.parametrize("encoding", ["ascii", "binary"])
def test_ply_of_another_program_is_read(encoding) -> None:
    """Its figures have single precision, which holds the block's corners exactly."""
    content = BLOCK.export(file_type="ply", encoding=encoding)
    alike(triangles("x.ply", content), trimesh.Scene([BLOCK]))


# STL as text


def test_text_without_an_end_is_told_at_once() -> None:
    """Words and spaces that were searched through again from each of them."""
    for text in ("endsolid " * 200_000 + "\nfoo", "endsolid" + " " * 1_000_000 + "\nfoo"):
        assert "is cut off: line 3" in refused(f"solid x\n{text}".encode(), "x.stl")
    facet = (
        "facet normal 0 0 1 outer loop vertex 0 0 0 vertex 1 0 0 vertex 0 1 0 endloop endfacet\n"
    )
    text = "solid x\n" + facet * (MOST + 1) + "endsolid x\n"
    assert f"has more than {MOST} triangles" in refused(text.encode(), "x.stl")

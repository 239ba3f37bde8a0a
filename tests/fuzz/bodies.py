"""Meshes and drawings of one small block, in every format that is read."""

from __future__ import annotations

from functools import cache

import trimesh
from fuzz.texts import archive
from oracles.meshes import stl, waist


def body() -> trimesh.Trimesh:
    """Return a small mesh in inches: a sphere of 80 triangles, drawn out along z."""
    made = trimesh.creation.icosphere(subdivisions=1, radius=1.5)
    made.apply_scale([1.0, 1.0, 1.7])
    return made


@cache
def meshes() -> dict[str, bytes]:
    """Return the small mesh in every format, by file name."""
    made = body()
    files = {f"block.{kind}": made.export(file_type=kind) for kind in ("obj", "ply")}
    files |= {"ascii.stl": made.export(file_type="stl_ascii"), "block.stl": stl(made)}
    files |= {
        "waist.stl": stl(waist(), 1.6),
        "ascii.ply": made.export(file_type="ply", encoding="ascii"),
    }
    files["block.3mf"] = _archive(made)
    return {
        name: content.encode() if isinstance(content, str) else content
        for name, content in files.items()
    }


def _archive(made: trimesh.Trimesh) -> bytes:
    """Return a mesh as a 3MF archive, the same each time (3MF Core Specification)."""
    points = "".join(f'<vertex x="{x}" y="{y}" z="{z}"/>' for x, y, z in made.vertices.tolist())
    faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in made.faces.tolist())
    mesh = f"<mesh><vertices>{points}</vertices><triangles>{faces}</triangles></mesh>"
    of = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
    model = (
        f'<model unit="inch" xmlns="{of}"><resources><object id="1" type="model">{mesh}</object>'
        '</resources><build><item objectid="1"/></build></model>'
    )
    relations = "http://schemas.openxmlformats.org/package/2006/relationships"
    kind = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
    related = f'<Relationship Target="/3D/3dmodel.model" Id="r" Type="{kind}"/>'
    return archive(
        [
            (
                "_rels/.rels",
                f'<Relationships xmlns="{relations}">{related}</Relationships>'.encode(),
            ),
            ("3D/3dmodel.model", model.encode()),
        ]
    )


@cache
def drawn() -> dict[str, bytes]:
    """Return drawings of outlines in mm, by file name."""
    block = [
        *(0, "LINE", 8, "BLOCK", 10, 0, 20, -60, 11, 40, 21, -60),
        *(0, "ARC", 8, "BLOCK", 10, 40, 20, -50, 40, 10, 50, 270, 51, 360),
        *(0, "LINE", 8, "BLOCK", 10, 50, 20, 40, 11, 50, 21, -50),
        *(0, "LINE", 8, "BLOCK", 10, 50, 20, 40, 11, 0, 21, 60),
    ]
    ring = [
        0,
        "LWPOLYLINE",
        5,
        "2F",
        100,
        "AcDbEntity",
        8,
        "RING",
        100,
        "AcDbPolyline",
        90,
        4,
        70,
        1,
    ]
    ring += [10, 0, 20, -50, 10, 40, 20, -50, 42, 0.4, 10, 40, 20, 50, 10, 0, 20, 50]
    return {"block.dxf": _drawing("AC1009", block), "ring.dxf": _drawing("AC1015", ring)}


def _drawing(version: str, entities: list[object]) -> bytes:
    """Return a DXF file with these entities, and no more than it must have."""
    head = [
        0,
        "SECTION",
        2,
        "HEADER",
        9,
        "$ACADVER",
        1,
        version,
        9,
        "$INSUNITS",
        70,
        4,
        0,
        "ENDSEC",
    ]
    tags = [*head, 0, "SECTION", 2, "ENTITIES", *entities, 0, "ENDSEC", 0, "EOF"]
    return "".join(f"{tag}\n" for tag in tags).encode()

"""What mutants are made from: valid files of every kind, small, so that commands answer at once."""

from __future__ import annotations

import io
import json
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Any, Final

import trimesh
from optimizer_texts import FOLDER, head
from oracles.meshes import stl, waist

from fuzz.texts import archive
from fuzz.trial import Case, tried

NAMES: Final = ("alder", "aspen", "hawthorn", "holly", "juniper", "larch-metric", "rowan", "tansy", "two-pours", "yew")  # fmt: skip

SOLVED: Final = ("mite", "tansy", "juniper", "rowan", "two-pours", "stone")
"""Scenarios whose solutions have mutants; the last carries a mesh."""
PAGES: Final = ("mite", "stone")

BALL: Final = """\
[materials.shell]
density   = [1.05, 1.25]
tolerance = 0.010
[materials.filled]
density   = [0.60, 2.90]
tolerance = 0.025
[[parts]]
name     = "cover"
shape    = { kind = "sphere", diameter = 8.570 }
material = "shell"
[[parts]]
name     = "mantle"
inside   = "cover"
shape    = { kind = "sphere", diameter = 7.450 }
material = "filled"
[[parts]]
name     = "block"
inside   = "mantle"
shape    = SHAPE
at       = [0, 0, 0.25]
material = "filled"
[[parts]]
name     = "heart"
inside   = "block"
shape    = { kind = "capsule", diameter = 1.50, height = 3.20 }
at       = [0, 0, 0.35]
material = "filled"
[limits]
rulebook   = "usbc"
top_weight = { min = 0.5, max = 4.0, tolerance = 0.25 }
wall       = { min = 0.20, tolerance = 0.02 }
"""
SPREAD: Final = """\
[spread]
declared       = "2 sigma"
density.mantle = { sd = 0.005, measured = 24, within = 0.002 }
position.block = { z = { triangular = 0.04 } }
tilt.block     = 0.5
diameter       = { uniform = 0.003 }
centre         = { sd = 0.004, bound = 0.010 }
scale          = 0.01
[gauges]
casting    = { sd = 0.8, cost = 2 }
weight     = 0.004
period     = { sd = 0.001, cost = 6 }
pendulum   = { inertia = 92.0, period = 3.412, empty = 1.208 }
"""
FREE: Final = """\
[dimensions]
tall = { min = 4.5, max = 5.5, start = 5.0 }
wide = { one_of = [3.0, 3.2] }
"""
ONE: Final = head("Mite", {"15": 15.1}, (2.62, 0.020))
TWO: Final = head("Mite", {"15": 15.1, "14": 14.1}, (2.62, 0.020))
CAPSULE: Final = '{ kind = "capsule", diameter = 3.0, height = 5.2 }'
OPEN: Final = '{ kind = "capsule", diameter = "wide", height = "tall" }'


def mite(shape: str = CAPSULE, start: str = TWO, more: str = "") -> str:
    """Return a small scenario with a block of some shape."""
    return start + BALL.replace("SHAPE", shape) + more


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
    files |= {"waist.stl": stl(waist(), 1.6), "ascii.ply": made.export(file_type="ply", encoding="ascii")}
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
            ("_rels/.rels", f'<Relationships xmlns="{relations}">{related}</Relationships>'.encode()),
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
    ring = [0, "LWPOLYLINE", 5, "2F", 100, "AcDbEntity", 8, "RING", 100, "AcDbPolyline", 90, 4, 70, 1]
    ring += [10, 0, 20, -50, 10, 40, 20, -50, 42, 0.4, 10, 40, 20, 50, 10, 0, 20, 50]
    return {"block.dxf": _drawing("AC1009", block), "ring.dxf": _drawing("AC1015", ring)}


def _drawing(version: str, entities: list[object]) -> bytes:
    """Return a DXF file with these entities, and no more than it must have."""
    head = [0, "SECTION", 2, "HEADER", 9, "$ACADVER", 1, version, 9, "$INSUNITS", 70, 4, 0, "ENDSEC"]
    tags = [*head, 0, "SECTION", 2, "ENTITIES", *entities, 0, "ENDSEC", 0, "EOF"]
    return "".join(f"{tag}\n" for tag in tags).encode()


@dataclass(frozen=True)
class Corpus:
    """The valid files, made once."""

    @cached_property
    def scenarios(self) -> Mapping[str, str]:
        """The texts of scenarios, by name; those that are quick come more than once."""
        shipped = {name: (FOLDER / f"{name}.toml").read_text(encoding="utf-8") for name in NAMES}
        own = {"mite": mite(), "one": mite(start=ONE), "spread": mite(more=SPREAD), "free": mite(OPEN, more=FREE)}
        return shipped | own

    @cached_property
    def trees(self) -> Mapping[str, dict[str, Any]]:
        """The same as trees."""
        return {name: tomllib.loads(text) for name, text in self.scenarios.items()}

    @cached_property
    def schema(self) -> dict[str, Any]:
        """The JSON Schema of scenarios."""
        return dict(json.loads(_made({}, "schema").out))

    @cache  # noqa: B019  there is one corpus
    def solution(self, name: str) -> bytes:
        """Return the saved solution of one of SOLVED."""
        shape = '{ kind = "mesh", file = "block.stl", unit = "in" }'
        text = mite(shape) if name == "stone" else self.scenarios[name]
        files = {"x.toml": text.encode(), "block.stl": meshes()["block.stl"]}
        return _made(files, "solve", "x.toml", "-o", "x.json").files["x.json"]

    def page(self, name: str) -> bytes:
        """Return the page of a solution's report."""
        return self._of(name, "report", "x.json", "-o", "y.html")

    def sheet(self, suffix: str) -> bytes:
        """Return the schedule of the small scenario."""
        return self._of("mite", "schedule", "x.json", "-o", f"y.{suffix}")

    def template(self, suffix: str) -> bytes:
        """Return the file of measurements that is to be filled in."""
        return self._of("mite", "reconcile", "x.json", "--template", "-o", f"y.{suffix}")

    @cache  # noqa: B019
    def _of(self, name: str, *arguments: str) -> bytes:
        return _made({"x.json": self.solution(name)}, *arguments).files[arguments[-1]]


def _made(files: Mapping[str, bytes], *arguments: str) -> Any:
    outcome = tried(Case("corpus", files, arguments))
    if outcome.code not in (0, 4):
        raise RuntimeError(f"{arguments}: {outcome.code} {outcome.err.decode()}")
    return outcome


def workbook(rows: list[list[Any]]) -> bytes:
    """Return rows as a workbook."""
    import openpyxl  # noqa: PLC0415

    book, stream = openpyxl.Workbook(), io.BytesIO()
    for row in rows:
        book.active.append(row)
    book.save(stream)
    return stream.getvalue()

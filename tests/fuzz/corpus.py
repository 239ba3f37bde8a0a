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
from drawings import block, drawing
from optimizer_texts import FOLDER, head
from oracles.meshes import stl, waist

from fuzz.trial import Case, tried

NAMES: Final = ("alder", "aspen", "hawthorn", "holly", "juniper", "larch-metric", "rowan", "tansy", "two-pours", "yew")  # fmt: skip

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


def meshes() -> dict[str, bytes]:
    """Return the small mesh in every format, by file name."""
    made = body()
    files = {f"block.{kind}": made.export(file_type=kind) for kind in ("obj", "ply", "3mf")}
    files |= {"ascii.stl": made.export(file_type="stl_ascii"), "block.stl": stl(made), "waist.stl": stl(waist(), 2.54)}
    files["ascii.ply"] = made.export(file_type="ply", encoding="ascii")
    return {name: content.encode() if isinstance(content, str) else content for name, content in files.items()}


def drawn() -> dict[str, bytes]:
    """Return drawings of outlines, by file name."""

    def ring(space: Any) -> None:
        space.add_lwpolyline([(0, -50, 0), (40, -50, 0.4), (40, 50, 0), (0, 50, 0)], format="xyb", close=True)

    return {"old.dxf": drawing(block, version="R12"), "block.dxf": drawing(block), "ring.dxf": drawing(ring)}


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

    @cached_property
    def solutions(self) -> Mapping[str, bytes]:
        """Saved solutions, by name."""
        sources = ("mite", "tansy", "juniper", "rowan", "two-pours")
        texts = {name: self.scenarios[name].encode() for name in sources}
        texts["stone"] = mite('{ kind = "mesh", file = "block.stl", unit = "in" }').encode()
        solved = {}
        for name, text in texts.items():
            files = {"x.toml": text, "block.stl": meshes()["block.stl"]}
            solved[name] = _made(files, "solve", "x.toml", "-o", "x.json").files["x.json"]
        return solved

    @cached_property
    def pages(self) -> Mapping[str, bytes]:
        """Pages of reports, by name."""
        return {name: self._of(name, "report", "x.json", "-o", "y.html") for name in ("mite", "stone")}

    def sheet(self, suffix: str) -> bytes:
        """Return the schedule of the small scenario."""
        return self._of("mite", "schedule", "x.json", "-o", f"y.{suffix}")

    def template(self, suffix: str) -> bytes:
        """Return the file of measurements that is to be filled in."""
        return self._of("mite", "reconcile", "x.json", "--template", "-o", f"y.{suffix}")

    @cache  # noqa: B019  there is one
    def _of(self, name: str, *arguments: str) -> bytes:
        return _made({"x.json": self.solutions[name]}, *arguments).files[arguments[-1]]


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

"""Solids from STEP, written by the kernel itself, beside what is known of them in closed form."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh
from pydantic import ValidationError

from geometry.parts import Part
from geometry.placement import Placement
from geometry.shapes.extruded import Extruded
from geometry.shapes.mesh import Mesh
from geometry.shapes.revolved import Revolved
from geometry.shapes.sphere import Sphere
from geometry.walls.thinnest import wall
from shared.errors import FileError
from shared.models import Reading

pytest.importorskip("OCP", reason="the CAD kernel (extra step) is not installed")

from kernel import face, turned_shape
from OCP.BRep import BRep_Builder
from OCP.BRepBuilderAPI import BRepBuilderAPI_GTransform
from OCP.BRepGProp import BRepGProp
from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
from OCP.gp import gp_GTrsf, gp_Mat, gp_Vec
from OCP.GProp import GProp_GProps
from OCP.Interface import Interface_Static
from OCP.Message import Message, Message_PrinterOStream
from OCP.STEPControl import STEPControl_StepModelType, STEPControl_Writer
from OCP.TopoDS import TopoDS_Compound

from geometry.mesh.step import read_step

PEAR = [(0, -68), (23, -68, 0.35), (49, -35), (49, 8, 0.18), (28, 58, 0.414), (10, 76), (0, 76)]
BAR = [(-15, -13), (15, -13, 1), (15, 13), (-15, 13, 1)]


def cm(outline: list[tuple[float, ...]]) -> list[list[float]]:
    return [[0.1 * v[0], 0.1 * v[1], *v[2:]] for v in outline]


TURNED = Revolved.model_validate({"outline": cm(PEAR)}).moments().J
BAR_TEXT = {"outline": cm(BAR), "height": 8.0}
EXTRUDED = Extruded.model_validate(BAR_TEXT).moments()


def turned() -> Any:
    return turned_shape(PEAR)


def bar() -> Any:
    return BRepPrimAPI_MakePrism(face(BAR, upright=False), gp_Vec(0, 0, 80)).Shape()


def stretched(shape: Any, factors: tuple[float, float, float]) -> Any:
    to = gp_GTrsf()
    to.SetVectorialPart(gp_Mat(factors[0], 0, 0, 0, factors[1], 0, 0, 0, factors[2]))
    return BRepBuilderAPI_GTransform(shape, to, True).Shape()


def written(shape: Any, folder: Path) -> bytes:
    Message.DefaultMessenger_s().RemovePrinters(Message_PrinterOStream.get_type_descriptor_s())
    writer = STEPControl_Writer()
    writer.Transfer(shape, STEPControl_StepModelType.STEPControl_AsIs)
    writer.Write(str(folder / "x.step"))
    return (folder / "x.step").read_bytes()


def off(J: np.ndarray, K: np.ndarray) -> float:
    return float(np.max(np.abs(J - K)) / np.max(np.abs(K)))


def test_a_turned_outline_agrees_with_its_exact_moments(tmp_path):
    """The kernel's own integration, on faces that it integrates exactly."""
    read = read_step(written(turned(), tmp_path))
    assert off(read.moments.J, TURNED) < 1e-12
    assert read.error < 1e-9


def test_an_extruded_outline_agrees_with_its_exact_moments(tmp_path):
    """Its origin is at the middle of the height, the kernel's at the bottom."""
    up = np.eye(4)
    up[2, 3] = 4.0
    read = read_step(written(bar(), tmp_path))
    assert off(read.moments.J, EXTRUDED.moved(up).J) < 1e-12
    assert read.unit == "mm"


def test_inches_are_read_as_inches(tmp_path):
    """The same bar, written in inches with as many digits as the kernel writes."""
    before = Interface_Static.CVal_s("write.step.unit")
    Interface_Static.SetCVal_s("write.step.unit", "INCH")
    try:
        read = read_step(written(bar(), tmp_path))
    finally:
        Interface_Static.SetCVal_s("write.step.unit", before)
    assert read.unit == "in"
    assert read.moments.volume == pytest.approx(EXTRUDED.volume, rel=1e-10)


def test_a_stretched_solid_is_cut_until_its_moments_stand_still(tmp_path):
    """The kernel's own figure is off by a percent, what is read by no more than what is told."""
    factors = (1.14, 0.88, 1.0)
    shape, S = stretched(turned(), factors), np.diag([*factors, 1.0])
    exact = np.prod(factors) * S @ TURNED @ S
    own = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, own)
    assert abs(own.Mass() / 1000 / exact[3, 3] - 1) > 0.01
    read = read_step(written(shape, tmp_path))
    assert off(read.moments.J, exact) < read.error < 1e-6


def test_triangles_close_and_lie_as_near_as_told(tmp_path):
    """A solid that bulges everywhere: they leave some of it out."""
    read = read_step(written(bar(), tmp_path))
    mesh = trimesh.Trimesh(read.vertices, read.faces, process=False)
    assert mesh.is_watertight
    assert 0 < read.moments.volume - mesh.volume < mesh.area * read.deflection


def test_what_holds_no_solid_says_so(tmp_path, capfd):

    whole = written(turned(), tmp_path)
    for content in (b"", b"ISO-10303-21;", whole[:3000], b"\x00" * 100, b"solid x\nendsolid x\n"):
        with pytest.raises(FileError, match=r"STEP file that can be read|holds 0 solids"):
            read_step(content)
    two, builder = TopoDS_Compound(), BRep_Builder()
    builder.MakeCompound(two)
    builder.Add(two, turned())
    builder.Add(two, bar())
    with pytest.raises(FileError, match="holds 2 solids"):
        read_step(written(two, tmp_path))
    with pytest.raises(FileError, match="holds 0 solids"):
        read_step(written(face(PEAR, upright=True), tmp_path))
    assert capfd.readouterr().out == ""


def test_a_mesh_from_step_has_the_models_moments_and_tells_how_far_its_triangles_lie(tmp_path):
    """Walls and sections go by the triangles: both tell that error."""
    content = written(bar(), tmp_path)
    reading = Reading(files=lambda _: content)
    text = {"file": "bar.step", "unit": "mm"}
    mesh = Mesh.model_validate(text, context=reading)
    up = np.eye(4)
    up[2, 3] = 4.0
    assert off(mesh.moments().J, EXTRUDED.moved(up).J) < 1e-12
    assert mesh.missed().volume == 0.0
    assert mesh.convex
    ball = Part("ball", None, Sphere(diameter=20.0), Placement())
    part = Part("bar", "ball", mesh, Placement(at=(0.0, 0.0, -4.0)))
    exact = Part("bar", "ball", Extruded.model_validate(BAR_TEXT), Placement())
    found, known = (wall(one, ball, nested=True) for one in (part, exact))
    assert mesh.skin < found.error < 2 * mesh.skin
    assert abs(found.thickness - known.thickness) <= found.error
    assert [loop.error for loop in part.section()] == pytest.approx([mesh.skin])
    with pytest.raises(ValidationError, match=r'says that it is in "mm"; not in "in"'):
        Mesh.model_validate(text | {"unit": "in"}, context=reading)

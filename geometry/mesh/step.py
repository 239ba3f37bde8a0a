"""Solids from STEP files, by a CAD kernel (Open CASCADE, extra `step`): moments, and triangles.

The kernel integrates over each face with a fixed number of Gauss points: exact on planes,
cylinders, cones, balls and rings, but off by percents if one patch covers a whole stretched side.
(Its own adaptive integrator checks only the volume and leaves errors up to 1e-3 in moments.) So the
surface is cut into ever smaller patches until the moments converge.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Final, NamedTuple

import numpy as np

from geometry.moments import Moments
from shared.arrays import Array, Index, frozen
from shared.errors import FileError
from shared.units import FILE_LENGTHS
from shared.untrusted import MB

if find_spec("OCP"):
    from OCP.Bnd import Bnd_Box
    from OCP.BRep import BRep_Tool
    from OCP.BRepBndLib import BRepBndLib
    from OCP.BRepGProp import BRepGProp
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.collections import Sequence_TCollection_AsciiString as Names
    from OCP.GProp import GProp_GProps
    from OCP.IFSelect import IFSelect_ReturnStatus
    from OCP.Message import Message, Message_PrinterOStream
    from OCP.ShapeUpgrade import ShapeUpgrade_ShapeConvertToBezier, ShapeUpgrade_ShapeDivideArea
    from OCP.STEPControl import STEPControl_Reader
    from OCP.TopAbs import TopAbs_Orientation
    from OCP.TopAbs import TopAbs_ShapeEnum as Kind
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopLoc import TopLoc_Location
    from OCP.TopoDS import TopoDS, TopoDS_Shape

MOST: Final = 10 * MB
"""The most bytes of a file; the kernel takes up to 70 times as many to read it."""
CM: Final = 0.1
"""The kernel's unit of length, mm, whatever the file's own."""
UNITS: Final = {unit.word: unit.name for unit in FILE_LENGTHS}
"""The names of units in files."""
PATCHES: Final = (32, 128, 512)
"""The approximate numbers of equal patches that the surface is cut into, in turn."""
SETTLED: Final = 1e-9
"""Of the moments: the difference between two cuttings that counts as convergence."""
CONVERTED: Final = 1e-7
"""Of the moments: the error of converted faces (4e-8 measured)."""
DEFLECTION: Final = 5e-4
"""Of the solid's size: how far triangles may be from the surface."""
AGAIN: Final = "save the one solid as STEP again, or export it as STL"


class StepSolid(NamedTuple):
    """A solid read from STEP, cm: its moments about its own origin, and triangles for its surface.

    `vertices` (n, 3), `faces` (m, 3) lie within `deflection` of the surface. `unit` is the file's.
    `error` is the moments' error relative to the largest: the difference of the last two cuttings.
    """

    moments: Moments
    vertices: Array
    faces: Index
    deflection: float
    error: float
    unit: str


def read_step(content: bytes) -> StepSolid:
    """Return the one solid in a STEP file's `content`.

    Raises FileError for no solid, several, an open one, or one whose moments don't converge.
    """
    if len(content) > MOST:
        raise FileError(f"is larger than {MOST / MB:g} MB", "save only the one solid in it")
    shape, unit = _solid(content)
    vertices, faces, deflection = _triangles(shape)
    moments, error = _moments(shape)
    _alike(moments, vertices, faces, deflection)
    return StepSolid(moments, vertices, faces, deflection, error, unit)


def _solid(content: bytes) -> tuple[TopoDS_Shape, str]:
    """Return the one closed solid of the file, and the unit that it was drawn in."""
    Message.DefaultMessenger_s().RemovePrinters(Message_PrinterOStream.get_type_descriptor_s())
    reader = STEPControl_Reader()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "solid.step"
        path.write_bytes(content)
        if reader.ReadFile(str(path)) != IFSelect_ReturnStatus.IFSelect_RetDone:
            raise FileError("isn't a STEP file that can be read", AGAIN)
    lengths = Names()
    reader.FileUnits(lengths, Names(), Names())
    units = {lengths.Value(k).ToCString().lower() for k in range(1, lengths.Length() + 1)}
    reader.TransferRoots()
    shape = reader.OneShape()
    solids = [] if shape is None or shape.IsNull() else list(_parts(shape, Kind.TopAbs_SOLID))
    if len(solids) != 1:
        raise FileError(f"holds {len(solids)} solids; a file for a part holds one", AGAIN)
    for shell in _parts(solids[0], Kind.TopAbs_SHELL):
        if not BRep_Tool.IsClosed_s(shell):
            what = "holds a solid that isn't closed; mend its faces where it was drawn"
            raise FileError(what, AGAIN)
    return solids[0], " and ".join(sorted(UNITS.get(unit, unit) for unit in units))


def _alike(moments: Moments, vertices: Array, faces: Index, deflection: float) -> None:
    """Raise FileError if the triangles' volume differs by more than their error."""
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    across = np.cross(b - a, c - a)
    volume = float(np.sum(a * across)) / 6
    room = 2 * deflection * float(np.sum(np.linalg.norm(across, axis=1))) / 2
    if abs(volume - moments.volume) > room:
        raise FileError(
            f"has {moments.volume:.4f} cm³ by its faces and {volume:.4f} by triangles; mend its "
            "faces where it was drawn",
            AGAIN,
        )


def _parts(shape: TopoDS_Shape, kind: Any) -> Iterator[TopoDS_Shape]:
    explorer = TopExp_Explorer(shape, kind)
    while explorer.More():
        yield explorer.Current()
        explorer.Next()


def _moments(shape: TopoDS_Shape) -> tuple[Moments, float]:
    """Return the moments, and their error relative to the largest.

    The faces are cut as they are or, if that doesn't converge, converted to Bézier patches first.
    """
    differs = np.inf
    for convert, within in ((None, 0.0), (_bezier, CONVERTED)):
        whole, before = shape if convert is None else convert(shape), None
        for count in PATCHES:
            J = _integrated(_divided(whole, count))
            if before is not None:
                differs = float(np.max(np.abs(J - before)) / np.max(np.abs(J)))
                if differs < SETTLED and J[3, 3] > 0:
                    return Moments(J), differs + within
            before = J
    what = f"has moments that don't converge ({differs:.1e} between two ways of cutting)"
    raise FileError(what, AGAIN)


def _bezier(shape: TopoDS_Shape) -> TopoDS_Shape:
    """Return the shape with every face in Bézier patches, on which few Gauss points suffice."""
    pieces = ShapeUpgrade_ShapeConvertToBezier(shape)
    for kind in ("Surface", "3d", "2d"):
        getattr(pieces, f"Set{kind}Conversion")(True)  # noqa: FBT003 - the kernel's signature
    pieces.Perform()
    return pieces.Result()


def _divided(shape: TopoDS_Shape, count: int) -> TopoDS_Shape:
    """Return the shape with its surface in about `count` equal patches."""
    whole = GProp_GProps()
    BRepGProp.SurfaceProperties_s(shape, whole)
    pieces = ShapeUpgrade_ShapeDivideArea(shape)
    pieces.MaxArea = whole.Mass() / count
    pieces.Perform()
    return pieces.Result()


def _integrated(shape: TopoDS_Shape) -> Array:
    """Return ∫ p pᵀ dV, p = (x, y, z, 1), cm, by the kernel's Gauss points.

    It gives the inertia I about the centroid; the second moments are ½ tr(I)·1 − I.
    """
    whole = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, whole)
    volume, centre, inertia = whole.Mass(), whole.CentreOfMass(), whole.MatrixOfInertia()
    axes = (1, 2, 3)
    I = np.array([[inertia.Value(i, j) for j in axes] for i in axes])  # noqa: E741 - inertia
    c = np.array([centre.X(), centre.Y(), centre.Z()])
    J = np.empty((4, 4))
    J[:3, :3] = np.trace(I) / 2 * np.eye(3) - I + volume * np.outer(c, c)
    J[:3, 3] = J[3, :3] = volume * c
    J[3, 3] = volume
    to_cm = np.diag([CM, CM, CM, 1.0])
    return CM**3 * to_cm @ J @ to_cm


def _triangles(shape: TopoDS_Shape) -> tuple[Array, Index, float]:
    """Return vertices (n, 3), outward triangles (m, 3), and their distance from the surface, cm."""
    box = Bnd_Box()
    BRepBndLib.Add_s(shape, box)
    deflection = DEFLECTION * float(np.sqrt(box.SquareExtent()))
    BRepMesh_IncrementalMesh(shape, deflection, False, 0.3, True)  # noqa: FBT003 - as above
    points, faces, count = list[Array](), list[Array](), 0
    for face in _parts(shape, Kind.TopAbs_FACE):
        place = TopLoc_Location()
        mesh = BRep_Tool.Triangulation_s(TopoDS.Face(face), place)
        if mesh is None:
            raise FileError("has a face that can't be cut into triangles", AGAIN)
        move = place.Transformation()
        nodes = [mesh.Node(i).Transformed(move) for i in range(1, mesh.NbNodes() + 1)]
        corners = np.array([mesh.Triangle(i).Get() for i in range(1, mesh.NbTriangles() + 1)])
        if face.Orientation() == TopAbs_Orientation.TopAbs_REVERSED:
            corners = corners[:, ::-1]
        points.append(CM * np.array([[p.X(), p.Y(), p.Z()] for p in nodes]))
        faces.append(corners - 1 + count)
        count += len(nodes)
    vertices = np.vstack(points)
    rounded = np.round(vertices / float(np.max(np.ptp(vertices, axis=0))), 9)
    _, first, same = np.unique(rounded, axis=0, return_index=True, return_inverse=True)
    joined = same.ravel()[np.vstack(faces)]
    whole = np.all(joined != np.roll(joined, 1, axis=1), axis=1)
    return frozen(vertices[first]), joined[whole], CM * deflection

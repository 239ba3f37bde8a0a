"""Files of triangles: STL by a reader that refuses incomplete files, the others by trimesh.

trimesh repairs nothing here; `geometry.mesh.sound` checks its output.
"""

from __future__ import annotations

import io
import re
from importlib.util import find_spec
from pathlib import PurePath
from typing import Final, NamedTuple

import numpy as np

from geometry.outlines.faults import FileError
from shared.arrays import Array, Index
from shared.units import LENGTHS

MOST: Final = 500_000
"""Triangles. Reading and checking so many takes 10 s; a block with 50 000 is off by 0.01 %."""
SUFFIXES: Final = (".stl", ".obj", ".ply", ".3mf")
EXPORT: Final = "export it again, whole"
UNITS: Final = {
    word.replace("metre", "meter"): name
    for name, unit in LENGTHS.items()
    for word in (unit.word, unit.words)
}
"""3MF's names of the units that a scenario may use."""


class Triangles(NamedTuple):
    """Triangles as in a file: `vertices` (n, 3) in the file's unit and `faces` (m, 3).

    `unit` is the file's, if it gives one. `loose`, as in STL: equal vertices are the same.
    """

    vertices: Array
    faces: Index
    unit: str | None = None
    loose: bool = False


def triangles(name: str, content: bytes) -> Triangles:
    """Return the triangles of a file by its name's suffix. Raises FileError."""
    suffix = PurePath(name).suffix.lower()
    if suffix not in SUFFIXES:
        instead = f"export one of {', '.join(SUFFIXES)} or .step"
        raise FileError("is not a kind of file that can be read", instead)
    read = _stl(content) if suffix == ".stl" else _by_trimesh(suffix, content)
    if len(read.faces) == 0:
        raise FileError("holds no triangles", EXPORT)
    _not_too_many(len(read.faces))
    return read


def _not_too_many(count: int) -> None:
    if count > MOST:
        what = f"has {count} triangles, but at most {MOST} can be checked in reasonable time"
        raise FileError(what, "export it coarser: 50000 are plenty")


def _stl(content: bytes) -> Triangles:
    """Return the triangles of a complete STL file, binary or text."""
    count = int.from_bytes(content[80:84], "little") if len(content) >= 84 else None
    if count is not None and len(content) == 84 + 50 * count:
        _not_too_many(count)
        rows = np.frombuffer(content, np.uint8, offset=84).reshape(count, 50)[:, 12:48]
        corners = np.ascontiguousarray(rows).view("<f4").astype(np.float64)
    elif re.match(rb"\s*solid\b", content):
        corners = _text_stl(content)
    elif count is None:
        raise FileError(f"is not an STL file: it has {len(content)} bytes", EXPORT)
    else:
        room = (len(content) - 84) / 50
        raise FileError(f"claims {count} triangles, but has room for {room:g}", EXPORT)
    return Triangles(corners.reshape(-1, 3), np.arange(3 * len(corners)).reshape(-1, 3), loose=True)


def _text_stl(content: bytes) -> Array:
    """Return the corners (m, 9) that an STL file in text holds."""
    if not re.search(rb"\bendsolid\b[^\n]*\s*\Z", content):
        lines = content.count(b"\n") + 1
        raise FileError(f"is cut off: line {lines}, the last, is not endsolid", EXPORT)
    facets = len(re.findall(rb"\bfacet\s+normal\b", content))
    rows = re.findall(rb"\bvertex\s+(\S+)\s+(\S+)\s+(\S+)", content)
    if len(rows) != 3 * facets or len(re.findall(rb"\bendfacet\b", content)) != facets:
        raise FileError(f"has {facets} facets and {len(rows)} vertices, not three to each", EXPORT)
    try:
        return np.array(rows, dtype=np.float64).reshape(-1, 9)
    except ValueError as error:
        raise FileError("has a vertex that isn't three numbers", EXPORT) from error


def _by_trimesh(suffix: str, content: bytes) -> Triangles:
    """Return the triangles of a file that trimesh reads."""
    needed = ["trimesh", *(["lxml", "networkx"] if suffix == ".3mf" else [])]
    if any(find_spec(name) is None for name in needed):
        instead = 'pip install "samespin[cad]", or export it as STL'
        raise FileError(f"needs trimesh, which isn't installed, to read {suffix}", instead)
    import trimesh  # noqa: PLC0415 - an extra

    try:
        with np.errstate(invalid="raise"):  # such as NaN for the number of a vertex
            scene = trimesh.load_scene(io.BytesIO(content), file_type=suffix[1:], process=False)
            bodies = [body for body in scene.dump() if isinstance(body, trimesh.Trimesh)]
        vertices, faces = np.empty((0, 3)), np.empty((0, 3), dtype=np.intp)
        for body in bodies:
            faces = np.concatenate([faces, body.faces + len(vertices)])
            vertices = np.concatenate([vertices, body.vertices])
        unit = scene.units if suffix == ".3mf" else None
    except Exception as error:  # a broken file may cause any
        kind = suffix[1:].upper()
        why = (str(error).strip().splitlines() or [type(error).__name__])[0][:80]
        raise FileError(f"can't be read as {kind}: {why}", EXPORT) from error
    if len(faces) and not 0 <= faces.min() <= faces.max() < len(vertices):
        what = f"has a triangle with a vertex that isn't among its {len(vertices)}"
        raise FileError(what, EXPORT)
    return Triangles(vertices, faces, None if unit is None else UNITS.get(unit, unit))

"""Files of triangles: STL, OBJ and 3MF by readers of ours, which stop at what is too large.

PLY is read by trimesh, once its header promises no more than the file can hold. It repairs nothing
here; `geometry.mesh.sound` checks its output.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Mapping
from importlib.util import find_spec
from pathlib import PurePath
from typing import Final, NamedTuple

import numpy as np

from geometry.mesh.obj import read_obj
from geometry.mesh.three_mf import read_3mf
from shared.arrays import Array, Index
from shared.errors import FileError
from shared.units import LENGTHS
from shared.untrusted import MB

MOST: Final = 500_000
"""Triangles. Reading and checking so many takes 10 s; a block with 50 000 is off by 0.01 %."""
EXPANDED: Final = 60 * MB
"""The most bytes of all that a 3MF file has within: so many triangles take 50 MB at most."""
ROWS: Final = 4 * MOST
"""The most items of a PLY file: vertices, triangles and others."""
HEADER: Final = 10_000
"""The most bytes of a PLY file's header."""
VERTEX: Final = rb"\bvertex\s+(\S+)\s+(\S+)\s+(\S+)"
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
    if suffix not in READERS:
        instead = f"export one of {', '.join(READERS)} or .step"
        raise FileError("is not a kind of file that can be read", instead)
    try:
        with np.errstate(invalid="raise", over="raise"):
            read = READERS[suffix](content)
    except FileError:
        raise
    except FloatingPointError as error:  # such as NaN for the number of a vertex
        raise FileError("has a number that is none, or out of all bounds", EXPORT) from error
    except Exception as error:  # a broken file may cause any
        kind = suffix[1:].upper()
        why = (str(error).strip().splitlines() or [type(error).__name__])[0][:80]
        raise FileError(f"can't be read as {kind}: {why}", EXPORT) from error
    if len(read.faces) == 0:
        raise FileError("holds no triangles", EXPORT)
    _not_too_many(len(read.faces))
    if not 0 <= read.faces.min() <= read.faces.max() < len(read.vertices):
        what = f"has a triangle with a vertex that isn't among its {len(read.vertices)}"
        raise FileError(what, EXPORT)
    return read


def _not_too_many(count: int) -> None:
    if count > MOST:
        what = f"has more than {MOST} triangles, too many to be checked in reasonable time"
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
    if not re.search(rb"\bendsolid\b", content.rstrip().rpartition(b"\n")[2]):
        lines = content.count(b"\n") + 1
        raise FileError(f"is cut off: line {lines}, the last, is not endsolid", EXPORT)
    facets, ends, vertices = (
        sum(1 for _ in re.finditer(word, content))
        for word in (rb"\bfacet\s+normal\b", rb"\bendfacet\b", VERTEX)
    )
    if vertices != 3 * facets or ends != facets:
        raise FileError(f"has {facets} facets and {vertices} vertices, not three to each", EXPORT)
    _not_too_many(facets)
    try:
        rows = re.findall(VERTEX, content)
        return np.array(rows, dtype=np.float64).reshape(-1, 9)
    except ValueError as error:
        raise FileError("has a vertex that isn't three numbers", EXPORT) from error


def _obj(content: bytes) -> Triangles:
    return Triangles(*read_obj(content, MOST))


def _3mf(content: bytes) -> Triangles:
    vertices, faces, unit = read_3mf(content, EXPANDED, MOST)
    return Triangles(vertices, faces, UNITS.get(unit, unit))


def _ply(content: bytes) -> Triangles:
    """Return the triangles of a PLY file, by trimesh."""
    if find_spec("trimesh") is None:
        instead = 'pip install "samespin[cad]", or export it as STL'
        raise FileError("needs trimesh, which isn't installed, to read .ply", instead)
    _check_promise(content)
    import trimesh  # noqa: PLC0415 - an extra

    read = trimesh.load(io.BytesIO(content), file_type="ply", process=False)
    faces = getattr(read, "faces", np.empty((0, 3)))  # a cloud of points has none
    return Triangles(np.asarray(read.vertices), np.asarray(faces, dtype=np.intp))


def _check_promise(content: bytes) -> None:
    """Raise FileError for a PLY header that promises more than the file can hold, or we can take.

    An item takes at least a byte, and a row of its own if the file is text.
    """
    head, end, body = content.partition(b"end_header")
    if not end or len(head) > HEADER:
        raise FileError(f"has no header of PLY within {HEADER} bytes", EXPORT)
    counts = {name: int(n) for name, n in re.findall(rb"(?m)^\s*element\s+(\S+)\s+(\S+)", head)}
    for name, count in counts.items():
        if not 0 <= count <= len(body):
            what = f"claims {count} of {name.decode('ascii', 'replace')}, in {len(body)} bytes"
            raise FileError(what, EXPORT)
    _not_too_many(counts.get(b"face", 0))
    if max(sum(counts.values()), body.count(b"\n") * (b"ascii" in head)) > ROWS:
        raise FileError(f"has more than {ROWS} items", "export the one body of the part")


READERS: Final[Mapping[str, Callable[[bytes], Triangles]]] = {
    ".stl": _stl,
    ".obj": _obj,
    ".ply": _ply,
    ".3mf": _3mf,
}
"""File name suffix → what reads it."""

"""The reader of Wavefront OBJ: vertices and faces, line by line; all else is left out."""

from __future__ import annotations

import io
from array import array
from itertools import pairwise
from typing import Final

import numpy as np

from shared.arrays import Array, Index
from shared.errors import FileError

LONGEST: Final = 100_000
"""The most bytes of a line: a face of 10 000 corners."""


def read_obj(content: bytes, most: int) -> tuple[Array, Index]:
    """Return the vertices (n, 3) and triangles (m, 3) of a file; faces are cut into fans.

    It stops where there are more triangles than `most`, or more vertices than those need. Raises
    FileError for lines without an end; ValueError or IndexError where one is wrong.
    """
    vertices, faces = array("d"), array("q")
    lines = io.BytesIO(content.replace(b"\\\r\n", b" ").replace(b"\\\n", b" "))
    if content.count(b"\n") > 8 * most:
        raise FileError(f"has more than {8 * most} lines", "export the one body of the part")
    while line := lines.readline(LONGEST):
        if len(line) == LONGEST:
            raise FileError("has a line that is too long", "export it again, whole")
        word, *values = line.split() or [b""]
        if word == b"v":
            x, y, z = map(float, values[:3])
            vertices.extend((x, y, z))
        elif word == b"f":
            first, *others = (_vertex(corner, len(vertices) // 3) for corner in values)
            for pair in pairwise(others):
                faces.extend((first, *pair))
        if len(faces) > 3 * most or len(vertices) > 9 * most:
            break
    return np.reshape(vertices, (-1, 3)), np.reshape(np.array(faces, dtype=np.intp), (-1, 3))


def _vertex(corner: bytes, count: int) -> int:
    """Return the vertex of a corner v/vt/vn, from 0; a negative one counts from the last so far."""
    number = int(corner.partition(b"/")[0])
    if number == 0:
        raise ValueError("a corner is vertex 0, and the first one is 1")
    return number - 1 if number > 0 else count + number

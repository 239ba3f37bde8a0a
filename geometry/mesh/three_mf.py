"""The reader of 3MF (3MF Consortium, Core Specification 1.3): the triangles that it builds.

An archive with XML in it, read as a stream: nothing is expanded beyond what `files` allows, no
entity or document type is accepted, and an object that is placed many times counts each time.
"""

from __future__ import annotations

from array import array
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import islice
from typing import Final, NamedTuple, TypeAlias
from xml.parsers import expat

import numpy as np

from shared.arrays import Array, Index
from shared.errors import FileError
from shared.untrusted import unzipped

START: Final = "3d/3dmodel.model"
"""Where the model is by convention, in whatever case."""
PLACES: Final = 1000
"""The most objects to be placed, those within others among them: a part is one body."""
DEEPEST: Final = 20
"""The most levels of objects within others."""
CORNERS: Final = ("v1", "v2", "v3")
Key: TypeAlias = tuple[str, str]
"""An object: the file that it is in, and its number there."""


class Place(NamedTuple):
    """An object to be placed, by a matrix (4, 3) on rows (x, y, z, 1)."""

    key: Key
    matrix: Array


@dataclass
class _Object:
    vertices: array[float] = field(default_factory=lambda: array("d"))
    faces: array[int] = field(default_factory=lambda: array("q"))
    within: list[Place] = field(default_factory=list)


class _Model:
    """What is in one file of the archive: objects, and what is to be built."""

    def __init__(self, name: str, content: bytes) -> None:
        self.name, self.unit = name, "millimeter"
        self.objects, self.built, self.now = dict[Key, _Object](), list[Place](), _Object()
        parser = expat.ParserCreate(namespace_separator=" ")
        parser.StartElementHandler = self.begin
        parser.StartDoctypeDeclHandler = self.refuse
        parser.Parse(content, True)  # noqa: FBT003 - its signature

    def refuse(self, *_: object) -> None:
        raise FileError("has a document type, which 3MF forbids", "export it again")

    def begin(self, tag: str, attributes: dict[str, str]) -> None:
        """Take up what an element says; those of other namespaces have no such names."""
        match tag.rpartition(" ")[2]:
            case "vertex":
                self.now.vertices.extend(float(attributes[axis]) for axis in "xyz")
            case "triangle":
                self.now.faces.extend(int(attributes[corner]) for corner in CORNERS)
            case "object":
                self.now = self.objects[self.name, attributes["id"]] = _Object()
            case "component":
                self.now.within.append(self.place(attributes))
            case "item":
                self.built.append(self.place(attributes))
            case "model":
                self.unit = attributes.get("unit", self.unit)

    def place(self, attributes: dict[str, str]) -> Place:
        """Return where an object is placed; it may be in another file (Production Extension)."""
        paths = (value for name, value in attributes.items() if name.endswith(" path"))
        file = next(paths, self.name).strip("/")
        numbers = [float(number) for number in attributes.get("transform", "").split()]
        matrix = np.reshape(numbers, (4, 3)) if numbers else np.eye(4)[:, :3]
        return Place((file, attributes["objectid"]), matrix)


def read_3mf(archive: bytes, most: int, triangles: int) -> tuple[Array, Index, str]:
    """Return the vertices (n, 3) and faces (m, 3) that a 3MF file builds, and its unit.

    `most` bounds the bytes within, `triangles` those that are built. Raises FileError, and
    KeyError, ValueError or expat.ExpatError where the model is wrong.
    """
    files = unzipped(archive, most)
    models = {n: _Model(n, held) for n, held in files.items() if n.lower().endswith(".model")}
    start = next((model for name, model in models.items() if name.lower() == START), None)
    if start is None:
        raise FileError("holds no model of 3MF", "export it again")
    objects = {key: held for model in models.values() for key, held in model.objects.items()}
    vertices, faces, count = [np.empty((0, 3))], [np.empty((0, 3), dtype=np.intp)], 0
    placed = list(islice(_placed(start.built, objects), PLACES + 1))
    if len(placed) > PLACES or sum(len(held.faces) for held, _ in placed) > 3 * triangles:
        what = f"places more than {PLACES} objects, or {triangles} triangles"
        raise FileError(what, "export the one body of the part")
    for held, matrix in placed:
        points = np.reshape(held.vertices, (-1, 3)) @ matrix[:3] + matrix[3]
        corners = np.reshape(np.array(held.faces, dtype=np.intp), (-1, 3))
        if len(corners) and not 0 <= corners.min() <= corners.max() < len(points):
            what = f"has a triangle with a vertex that isn't among its {len(points)}"
            raise FileError(what, "export it again, whole")
        mirrored = np.linalg.det(matrix[:3]) < 0
        faces.append((corners[:, ::-1] if mirrored else corners) + count)
        vertices.append(points)
        count += len(points)
    return np.concatenate(vertices), np.concatenate(faces), start.unit


def _placed(
    places: list[Place], objects: dict[Key, _Object], depth: int = 0
) -> Iterator[tuple[_Object, Array]]:
    """Yield each object that is placed with its matrix, then those within it."""
    if depth > DEEPEST:
        raise FileError("has objects within each other without an end", "export it again")
    for key, matrix in places:
        yield objects[key], matrix
        whole = np.column_stack([matrix, (0, 0, 0, 1)])
        for held, inner in _placed(objects[key].within, objects, depth + 1):
            yield held, np.column_stack([inner, (0, 0, 0, 1)]) @ whole[:, :3]

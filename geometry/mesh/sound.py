"""Whether triangles enclose one solid: every fault is refused, or repaired and reported."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import PurePath
from typing import Final

import numpy as np

from geometry.mesh.crossing import crossing
from geometry.mesh.edges import grouped
from geometry.mesh.files import Triangles, triangles
from geometry.mesh.solid import Solid, polyhedron_moments
from geometry.moments import Moments
from geometry.nearest import tree_of
from shared.arrays import Array, Index, frozen
from shared.errors import FileError
from shared.remembered import remembered
from shared.units import LENGTHS

STEP: Final = (".step", ".stp")
NEAR: Final = 1e-6
"""Of the solid's size: vertices closer than this may be one that was rounded in two ways."""
WIDEST: Final = 50.0
"""cm. No ball is so large."""
SMALL: Final = 2.0
"""cm. Something smaller may be in another unit: it is reported, not refused."""
LEAST: Final = 0.1
"""cm. No part is so small."""
FARTHEST: Final = 1e9
"""In the file's unit. A vertex beyond has no place near a ball, and its cube may have no number."""
CLOSE: Final = "close it where it was drawn, and export it again"


@remembered(Solid, Moments)
def solid(name: str, content: bytes, unit: str) -> Solid:
    """Return the solid in a file's `content`, the file being in `unit`. Raises FileError."""
    if PurePath(name).suffix.lower() in STEP:
        return _modelled(name, content, unit)
    drawn = triangles(name, content)
    _in_unit(drawn.unit or unit, unit)
    for bad, what in (
        (~np.isfinite(drawn.vertices), "that is not a number"),
        (np.abs(drawn.vertices) > FARTHEST, "farther off than any ball's"),
    ):
        if bad.any():
            number = np.flatnonzero(bad.any(axis=1))[0] + 1
            raise FileError(f"has a vertex {what}, number {number}", "export it again")
    size = float(np.ptp(drawn.vertices, axis=0).max())
    vertices, faces, notes = _joined(drawn, size)
    _closed(vertices, faces)
    _one_body(vertices, faces)
    volume = polyhedron_moments(vertices[faces]).volume
    if abs(volume) <= NEAR * size**3:
        raise FileError("encloses nothing: it is flat", "export a solid")
    if volume < 0:
        faces = faces[:, ::-1]
        notes.append("was inside out: its triangles are reversed")
    notes += _scale(size, unit)
    places = crossing(vertices[faces])
    if len(places):
        what = f"crosses or touches itself in {len(places)} pairs of triangles, the first near "
        raise FileError(what + _point(places[0]), "join its pieces into one where it was drawn")
    faces = np.array(faces)
    faces.setflags(write=False)
    return Solid(name, frozen(vertices * LENGTHS[unit].size), faces, tuple(notes))


def _modelled(name: str, content: bytes, unit: str) -> Solid:
    """Return the solid in a STEP file, whose moments are those of its faces."""
    if find_spec("OCP") is None:
        raise FileError("needs a CAD kernel, which isn't installed", 'pip install "samespin[step]"')
    from geometry.mesh.step import read_step  # noqa: PLC0415 - loads the kernel, which is heavy

    read = read_step(content)
    _in_unit(read.unit, unit)
    notes = _scale(float(np.ptp(read.vertices, axis=0).max()) / LENGTHS[unit].size, unit)
    return Solid(name, read.vertices, read.faces, tuple(notes), read.moments, read.deflection)


def _in_unit(own: str, unit: str) -> None:
    if own != unit:
        raise FileError(f'says that it is in "{own}"', f'not in "{unit}"')


def _joined(drawn: Triangles, size: float) -> tuple[Array, Index, list[str]]:
    """Return distinct vertices, faces of three of them each, and notes."""
    vertices, which = _distinct(drawn.vertices + 0.0)
    faces = which[drawn.faces]
    notes = []
    doubled = len(np.unique(drawn.faces)) - len(np.unique(faces))
    if doubled and not drawn.loose:
        notes.append(f"has {doubled} vertices that repeat others: they are merged")
    if len(_one_sided(faces)):
        merged, most = _merged(vertices, NEAR * size)
        if most > 0 and not len(_one_sided(_whole(merged[faces]))):
            faces = merged[faces]
            notes.append(f"has vertices up to {most:.2g} apart that are merged")
    whole = _whole(faces)
    if len(whole) < len(faces):
        notes.append(f"has {len(faces) - len(whole)} triangles without a third corner: left out")
    used, which = np.unique(whole, return_inverse=True)
    return vertices[used], which.reshape(-1, 3), notes


def _distinct(vertices: Array) -> tuple[Array, Index]:
    """Return the distinct ones of `vertices` (n, 3), in order, and which of them each is (n,)."""
    order = np.lexsort(vertices.T[::-1])
    ordered = vertices[order]
    new = np.any(ordered[1:] != ordered[:-1], axis=1)
    which = np.empty(len(order), dtype=np.intp)
    which[order] = np.concatenate([np.zeros(1, dtype=np.intp), np.cumsum(new)])
    return ordered[np.concatenate([[True], new])], which


def _merged(vertices: Array, near: float) -> tuple[Index, float]:
    """Return the vertex that stands for each, and the largest distance between two such."""
    pairs = tree_of(vertices).query_pairs(near, output_type="ndarray")
    if len(pairs) == 0:
        return np.arange(len(vertices)), 0.0
    group = grouped(pairs, len(vertices))
    _, first = np.unique(group, return_index=True)
    stands = first[group]
    apart = np.linalg.norm(vertices - vertices[stands], axis=1)
    return np.asarray(stands, dtype=np.intp), float(apart.max())


def _whole(faces: Index) -> Index:
    a, b, c = faces.T
    return np.asarray(faces[(a != b) & (b != c) & (c != a)])


def _sides(faces: Index) -> tuple[Index, Index, Index]:
    """Return the ends (3m, 2) of each side, the number of its edge, and how often each occurs."""
    sides = faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    ends = sides.min(axis=1) * (int(faces.max(initial=0)) + 1) + sides.max(axis=1)
    _, which, counts = np.unique(ends, return_inverse=True, return_counts=True)
    return sides, which, counts


def _one_sided(faces: Index) -> Index:
    """Return the sides (k, 2) of a single triangle."""
    sides, which, counts = _sides(faces)
    return np.asarray(sides[counts[which] == 1])


def _closed(vertices: Array, faces: Index) -> None:
    """Refuse all but a closed surface: two triangles at each edge, consistently oriented."""
    if len(faces) == 0:
        raise FileError("holds no triangles", "export a solid")
    sides, which, counts = _sides(faces)
    open_, many = counts[which] == 1, counts[which] > 2
    if open_.any():
        what = f"is open: {open_.sum()} edges have only one triangle, the first"
        raise FileError(f"{what} {_edge(vertices, sides[open_][0])}", CLOSE)
    if many.any():
        edges = len(np.unique(which[many]))
        what = f"isn't one skin: more than two triangles meet at {edges} edges, the first"
        raise FileError(f"{what} {_edge(vertices, sides[many][0])}", CLOSE)
    forth = np.bincount(which, sides[:, 0] < sides[:, 1])
    same = forth[which] != 1
    if same.any():
        what = f"has triangles that face opposite ways at {same.sum() // 2} edges, the first"
        instead = "turn all of them outward where it was drawn"
        raise FileError(f"{what} {_edge(vertices, sides[same][0])}", instead)


def _one_body(vertices: Array, faces: Index) -> None:
    """Refuse more than one closed surface: several bodies, or a void."""
    _, which, _ = _sides(faces)
    body = grouped(np.argsort(which, kind="stable").reshape(-1, 2) // 3, len(faces))
    bodies = int(body.max()) + 1
    if bodies > 1:
        volumes = [polyhedron_moments(vertices[faces[body == k]]).volume for k in range(bodies)]
        voids = min(volumes) < 0 < max(volumes)
        what = "closed surfaces, of which some may be voids" if voids else "bodies"
        raise FileError(f"is {bodies} {what}", "save each body in its own file, for its own part")


def _scale(size: float, unit: str) -> list[str]:
    """Refuse what is too large or small, and return a note on what may be in another unit."""
    wide = size * LENGTHS[unit].size
    sizes = {name: size * known.size for name, known in LENGTHS.items() if name != unit}
    fits = [name for name, width in sizes.items() if SMALL <= width <= WIDEST]
    what = f"is {size:.4g} {unit} across"
    instead = f'with unit = "{fits[0]}" it is {size:.4g} {fits[0]} across' if fits else "redraw it"
    if wide > WIDEST:
        raise FileError(f"{what}, larger than any ball", instead)
    if wide < LEAST:
        raise FileError(f"{what}, smaller than any part", instead)
    return [f"{what} only; {instead}"] if wide < SMALL and fits else []


def _point(point: Array) -> str:
    return "(" + ", ".join(f"{c:.6g}" for c in point + 0.0) + ")"


def _edge(vertices: Array, ends: Index) -> str:
    a, b = vertices[ends]
    return f"from {_point(a)} to {_point(b)}"

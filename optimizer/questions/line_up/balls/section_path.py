"""Sections of parts as paths of SVG: an arc under an affine map is an elliptical arc, drawn so."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.outlines.edges import Complex, Edges
from geometry.sections.section import Loop
from shared.arrays import Array

LONGEST = 2 * np.pi / 3
"""Radians in one arc of a path. The centre of a half circle would hang on its last digit."""
FLAT = 5e-4
"""px. An arc that leaves its chord by less is drawn as the chord."""


@dataclass(frozen=True)
class Eye:
    """How the plane of x and z (cm) is seen: px to the cm, and the ball's centre, px. z is up."""

    scale: float
    x: float
    y: float

    def at(self, points: Array) -> Array:
        """Return points (k, 2), x and z, as places, px."""
        return points * [self.scale, -self.scale] + [self.x, self.y]

    def path(self, loops: Sequence[Loop]) -> str:
        """Return a path's data; fill it even-odd."""
        return " ".join(piece for loop in loops for piece in self._loop(loop))

    def _loop(self, loop: Loop) -> Iterator[str]:
        edges = loop.outline.edges
        matrix = self.scale * np.diag([1.0, -1.0]) @ loop.matrix
        shift = self.at(loop.shift[None])[0]
        turned, stretch, _ = np.linalg.svd(matrix)
        tilt = np.degrees(np.arctan2(turned[1, 0], turned[0, 0]))
        mirrored = np.linalg.det(matrix) < 0
        yield f"M {_pair(matrix @ _point(edges.start[0]) + shift)}"
        for i in range(len(edges.angle)):
            edge = edges[i : i + 1]
            angle = float(edge.angle[0])
            bend = stretch[0] * abs(edge.chord[0]) * abs(np.tan(angle / 4)) / 2
            if bend < FLAT:
                yield f"L {_pair(matrix @ _point(edge.end[0]) + shift)}"
                continue
            rx, ry = stretch * edge.length[0] / abs(angle)
            sweep = int((angle > 0) != mirrored)
            for point in _ends(edge, angle):
                place = _pair(matrix @ _point(point) + shift)
                yield f"A {rx:.3f} {ry:.3f} {tilt:.3f} 0 {sweep} {place}"
        yield "Z"


def _ends(edge: Edges, angle: float) -> Complex:
    """Return where the pieces of an arc end, (k,) complex."""
    count = int(np.ceil(abs(angle) / LONGEST - 1e-9))
    return edge.points(np.arange(1, count + 1) / count)


def _point(p: complex) -> Array:
    return np.array([p.real, p.imag])


def _pair(place: Array) -> str:
    return ",".join(f"{round(float(v), 3) + 0.0:.7g}" for v in place)

"""Solids by their definitions: which points lie in a slice at z, and how the surface runs.

Written from what each kind of solid is, for plain dictionaries of dimensions, and sharing nothing
with the package: `slices` feed the quadrature, `curve` feeds the meshes.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

Dimensions = Mapping[str, Any]


def dimensions(written: Dimensions) -> tuple[str, dict[str, Any]]:
    """Return the kind of a solid and its other dimensions, from a dictionary that holds both."""
    return written["kind"], {name: value for name, value in written.items() if name != "kind"}


@dataclass(frozen=True)
class Section:
    """A centred piece of a slice: an ellipse or a rectangle of half axes a, b; sign −1 a hole."""

    a: float
    b: float
    round: bool = True
    sign: float = 1.0


@dataclass(frozen=True)
class Slices:
    """A solid as slices square to z: `breaks` where their law changes, `at(z)` what is there."""

    breaks: tuple[float, ...]
    at: Callable[[float], list[Section]]


def _disc(radius_squared: float) -> list[Section]:
    radius = np.sqrt(max(radius_squared, 0.0))
    return [Section(radius, radius)]


def slices(kind: str, d: Dimensions) -> Slices:
    """Return the slices of a solid of the given kind and dimensions, in its own axes."""
    return SLICES[kind](d)


def _sphere(d: Dimensions) -> Slices:
    R = d["diameter"] / 2
    return Slices((-R, R), lambda z: _disc(R**2 - z**2))


def _spheroid(d: Dimensions) -> Slices:
    R, c = d["diameter"] / 2, d["height"] / 2
    return Slices((-c, c), lambda z: _disc(R**2 * (1 - (z / c) ** 2)))


def _ellipsoid(d: Dimensions) -> Slices:
    a, b, c = (side / 2 for side in d["diameters"])

    def at(z: float) -> list[Section]:
        shrunk = np.sqrt(max(1 - (z / c) ** 2, 0.0))
        return [Section(a * shrunk, b * shrunk)]

    return Slices((-c, c), at)


def _cylinder(d: Dimensions) -> Slices:
    R, c = d["diameter"] / 2, d["height"] / 2
    return Slices((-c, c), lambda _: _disc(R**2))


def _cone(d: Dimensions) -> Slices:
    low, high, h = d["bottom"] / 2, d["top"] / 2, d["height"]
    return Slices((-h / 2, h / 2), lambda z: _disc((low + (high - low) * (z / h + 0.5)) ** 2))


def _capsule(d: Dimensions) -> Slices:
    R = d["diameter"] / 2
    c = d["height"] / 2 - R  # the points within R of the stretch from −c to c
    return Slices((-c - R, -c, c, c + R), lambda z: _disc(R**2 - max(abs(z) - c, 0.0) ** 2))


def _dome(d: Dimensions) -> Slices:
    R, H = d["sphere"] / 2, d["height"]  # the ball's centre lies at H − R
    return Slices((0, H), lambda z: _disc(R**2 - (z - (H - R)) ** 2))


def _ring(d: Dimensions) -> Slices:
    c, a = d["diameter"] / 2, d["thickness"] / 2

    def at(z: float) -> list[Section]:
        reach = np.sqrt(max(a**2 - z**2, 0.0))
        return [Section(c + reach, c + reach), Section(c - reach, c - reach, sign=-1)]

    return Slices((-a, a), at)


def _box(d: Dimensions) -> Slices:
    a, b, c = (side / 2 for side in d["size"])
    return Slices((-c, c), lambda _: [Section(a, b, round=False)])


@dataclass(frozen=True)
class DrawnEdge:
    """An edge by its ends and, when it is an arc, centre, radius and angles (textbook form)."""

    start: tuple[float, float]
    end: tuple[float, float]
    centre: tuple[float, float] = (0.0, 0.0)
    radius: float = 0.0
    begin: float = 0.0
    sweep: float = 0.0

    def points(self, n: int) -> np.ndarray:
        """Return n points (n, 2) from the start on, the end left out."""
        if self.sweep == 0:
            t = np.arange(n)[:, None] / n
            return (1 - t) * np.array(self.start) + t * np.array(self.end)
        angle = self.begin + self.sweep * np.arange(n) / n
        return np.array(self.centre) + self.radius * np.stack([np.cos(angle), np.sin(angle)], 1)

    def radii(self, z: float) -> list[float]:
        """Return where the edge crosses the height z."""
        (r0, z0), (r1, z1) = self.start, self.end
        if self.sweep == 0:
            return [r0 + (r1 - r0) * (z - z0) / (z1 - z0)] if (z0 > z) != (z1 > z) else []
        rise = z - self.centre[1]
        if abs(rise) >= self.radius:
            return []
        run = np.sqrt(self.radius**2 - rise**2)
        return [self.centre[0] + x for x in (run, -run) if self.reaches(np.arctan2(rise, x))]

    def reaches(self, angle: float) -> bool:
        """Say whether the arc passes the angle, seen from its centre."""
        turned = (angle - self.begin) * np.sign(self.sweep) % (2 * np.pi)
        return bool(turned <= abs(self.sweep))

    def turns(self) -> list[float]:
        """Return the heights at which an arc is level: its top and bottom, when it has them."""
        if self.sweep == 0:
            return []
        return [
            self.centre[1] + sign * self.radius
            for sign in (1, -1)
            if self.reaches(sign * np.pi / 2)
        ]


def drawn_edges(outline: Sequence[Sequence[float]]) -> list[DrawnEdge]:
    """Return the edges of an outline [[r, z], [r, z, bulge], …], in the textbook form.

    An arc of bulge b over a chord c has the sagitta b·c/2 and so the radius c(1 + b²)/(4|b|).
    """
    edges = []
    for i, vertex in enumerate(outline):
        start, end = vertex[:2], outline[(i + 1) % len(outline)][:2]
        bulge = vertex[2] if len(vertex) > 2 else 0.0
        if bulge == 0:
            edges.append(DrawnEdge(tuple(start), tuple(end)))
            continue
        chord = np.subtract(end, start)
        c = float(np.hypot(*chord))
        radius = c * (1 + bulge**2) / (4 * abs(bulge))
        left = np.array([-chord[1], chord[0]]) / c
        sagitta = bulge * c / 2  # to the right of the chord when positive
        apex = np.add(start, end) / 2 - left * sagitta
        centre = apex + left * np.sign(bulge) * radius
        begin = float(np.arctan2(*(np.subtract(start, centre)[::-1])))
        sweep = 4 * np.arctan(bulge)
        edges.append(DrawnEdge(tuple(start), tuple(end), tuple(centre), radius, begin, sweep))
    return edges


def _revolved(d: Dimensions) -> Slices:
    edges = drawn_edges(d["outline"])
    heights = {float(edge.start[1]) for edge in edges}
    heights |= {height for edge in edges for height in edge.turns()}

    def at(z: float) -> list[Section]:
        radii = sorted(r for edge in edges for r in edge.radii(z))
        return [Section(r, r, sign=-1.0 if i % 2 else 1.0) for i, r in enumerate(reversed(radii))]

    return Slices(tuple(sorted(heights)), at)


def _waist(d: Dimensions) -> Slices:
    """The example of a mesh, as its docstring describes it: rectangles, straight in between."""
    levels, x, y = (-3.5, 0.0, 3.0), (2.5, 1.5, 2.0), (2.0, 1.25, 2.5)

    def at(z: float) -> list[Section]:
        a, b = (float(np.interp(z, levels, sides)) for sides in (x, y))
        return [Section(a, b, round=False)]

    return Slices(levels, at)


SLICES: dict[str, Callable[[Dimensions], Slices]] = {
    "sphere": _sphere,
    "spheroid": _spheroid,
    "ellipsoid": _ellipsoid,
    "cylinder": _cylinder,
    "cone": _cone,
    "capsule": _capsule,
    "dome": _dome,
    "ring": _ring,
    "box": _box,
    "revolved": _revolved,
    "mesh": _waist,
}


def curve(kind: str, d: Dimensions, n: int) -> np.ndarray:
    """Return points (k, 2), r and z, round a turned solid's outline, from the bottom up outside.

    Every arc has n chords; the last point leads back to the first.
    """
    return CURVES[kind](d, n)


def _half_circle(n: int) -> np.ndarray:
    u = np.linspace(0, np.pi, n + 1)
    return np.stack([np.sin(u), -np.cos(u)], axis=1)


def _capsule_curve(d: Dimensions, n: int) -> np.ndarray:
    u = np.linspace(0, np.pi / 2, n + 1)
    r, c = d["diameter"] / 2, (d["height"] - d["diameter"]) / 2
    upper = np.stack([r * np.cos(u), r * np.sin(u) + c], axis=1)
    return np.concatenate([(upper * [1, -1])[::-1], upper])


def _dome_curve(d: Dimensions, n: int) -> np.ndarray:
    R, H = d["sphere"] / 2, d["height"]
    polar = np.arccos(np.clip((R - H) / R, -1, 1)) * (1 - np.arange(n + 1) / n)
    cap = np.stack([R * np.sin(polar), R * np.cos(polar) + H - R], axis=1)
    return np.concatenate([[[0, 0]], cap])


def _ring_curve(d: Dimensions, n: int) -> np.ndarray:
    u = np.arange(2 * n) * np.pi / n
    c, a = d["diameter"] / 2, d["thickness"] / 2
    return np.stack([c + a * np.cos(u), a * np.sin(u)], axis=1)


def _straight(low: float, high: float, height: float) -> np.ndarray:
    return np.array([[0, -height], [low, -height], [high, height], [0, height]]) / 2


CURVES: dict[str, Callable[[Dimensions, int], np.ndarray]] = {
    "sphere": lambda d, n: _half_circle(n) * d["diameter"] / 2,
    "spheroid": lambda d, n: _half_circle(n) * [d["diameter"] / 2, d["height"] / 2],
    "cylinder": lambda d, _: _straight(d["diameter"], d["diameter"], d["height"]),
    "cone": lambda d, _: _straight(d["bottom"], d["top"], d["height"]),
    "capsule": _capsule_curve,
    "dome": _dome_curve,
    "ring": _ring_curve,
    "revolved": lambda d, n: np.concatenate([e.points(n) for e in drawn_edges(d["outline"])]),
}

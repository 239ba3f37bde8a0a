"""Walls: the least distance between a part and its host, and between two parts in one host.

Each pair uses the simplest correct method. Two parts turned about one line: in the half-plane of r
and z. A convex host, or convex neighbours: by support functions, exact, and over all directions if
one has many faces. Else: by surfaces, with a stated error.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from operator import attrgetter

import numpy as np

from geometry.nesting import children
from geometry.parts import Part
from geometry.rows import apart
from geometry.surfaces.surface import Surface
from geometry.surfaces.velocity import Dimension
from geometry.walls.between_surfaces import surface_wall
from geometry.walls.close_places import surface_walls
from geometry.walls.common_axis import Section, common_section
from geometry.walls.convex_bodies import cone_wall, space_wall, space_walls
from geometry.walls.support_functions import Gap, section_wall, section_walls
from shared.arrays import Array, frozen
from shared.remembered import remembered

SAME = 1e-3
"""cm, and rad. Places closer than this are the same."""

THICKNESS = attrgetter("thickness")
Triple = tuple[float, float, float]


@dataclass(frozen=True)
class Wall:
    """The wall between a part and its host (`nested`) or a neighbour in the same host.

    `between`    names: the part, then its host or neighbour
    `thickness`  cm; negative: how far the part sticks out of its host, or overlaps its neighbour
    `error`      a bound on the error of `thickness`, cm
    `at`         the part's surface point at the wall, ball axes, cm
    `direction`  unit vector from there to the host's or neighbour's surface (away from it if the
                 wall is negative): moving the part that way by δ reduces the wall by δ
    `onto`       the host's or neighbour's surface point at the wall, ball axes, cm
    """

    between: tuple[str, str]
    nested: bool
    thickness: float
    error: float
    at: Triple
    direction: Triple
    onto: Triple

    @classmethod
    def of(cls, between: tuple[str, str], gap: Gap, *, nested: bool) -> Wall:
        """Return the wall of a gap in the ball's axes."""
        thickness, error, at, n = gap
        ends = (_triple(at), _triple(n), _triple(at + thickness * n))
        return cls(between, nested, thickness, error, *ends)


def walls(parts: Sequence[Part]) -> tuple[Wall, ...]:
    """Return the walls of each part and its host, then of neighbours. Raises as `children` does."""
    return tuple(wall(part, other, nested=nested) for part, other, nested in pairs(parts))


def pairs(parts: Sequence[Part]) -> Iterator[tuple[Part, Part, bool]]:
    """Yield the pairs that have a wall: a part, its host or neighbour, and whether it is nested.

    A part set into several hosts has no wall to the surfaces that it goes through.
    """
    inner = children(parts)
    named = {part.name: part for part in parts}
    for part in parts:
        if part.inside is not None:
            yield part, named[part.inside], True
    neighbours = {
        (first.name, second.name): (first, second)
        for part in parts
        for first, second in combinations(inner[part.name], 2)
        if first.name not in second.through and second.name not in first.through
    }
    for first, second in neighbours.values():
        yield first, second, False


def wall(part: Part, other: Part, *, nested: bool) -> Wall:
    """Return the wall between `part` and `other`, its host (`nested`) or its neighbour.

    For a part of several solids it is the least of theirs, ignoring what is cut from them: the wall
    is then a lower bound. So it is in a host of several solids: the thickest of the walls to them,
    or a wall to what is cut from the host.
    """
    walls = [wall for body in part.bodies for wall in _hosted(body, other, nested=nested)]
    least = min(walls, key=THICKNESS)
    return replace(least, between=(part.name, other.name), error=max(w.error for w in walls))


def _hosted(body: Part, other: Part, *, nested: bool) -> Iterator[Wall]:
    """Yield the walls between one solid and its host or neighbour."""
    walls = (_wall(body, solid, nested=nested) for solid in other.bodies)
    if not nested:
        yield from walls
        return
    yield max(walls, key=THICKNESS)
    yield from (replace(_wall(body, hole, nested=False), nested=True) for hole in other.holes)


def _wall(part: Part, other: Part, *, nested: bool) -> Wall:
    """Return the wall of two solids."""
    section = common_section(part, other)
    if section is None:
        return _wall_in_space(part, other, nested=nested)
    if _convex(part, other, nested=nested):
        gap = section_wall(section.part, section.other, nested=nested)
    else:
        gap = surface_wall(*section.curves(), nested=nested)
    return Wall.of((part.name, other.name), section.in_space(gap), nested=nested)


@remembered(Wall)
def _wall_in_space(part: Part, other: Part, *, nested: bool) -> Wall:
    """Return the wall of two solids that aren't turned about one line."""
    if not _convex(part, other, nested=nested):
        gap = surface_wall(part.surface, other.surface, nested=nested)
    elif part.shape.faceted or other.shape.faceted:
        gap = cone_wall(part, other, nested=nested)
    else:
        gap = space_wall(part, other, nested=nested)
    error = gap.error + part.skin + other.skin
    return Wall.of((part.name, other.name), gap._replace(error=error), nested=nested)


def close_walls(part: Part, other: Part, *, nested: bool, reach: float) -> tuple[Wall, ...]:
    """Return the local minima of a wall that are within `reach` (cm) of the least, the least first.

    For small changes of the parts, the wall is the least of these; `wall_rates` gives the
    derivative of each.

    Parts turned about one line are equally close all round: a place each quarter turn represents
    them. Other continua of minima are represented by some on every side. In a convex host the gap
    along any direction bounds the wall: those along the ball's axes and opposite to the least are
    added, so that for a ball almost midway in another all sides are seen, not only the nearest.

    Convex neighbours have one wall, and so have parts that cross if one isn't convex. In space, one
    place represents two parallel flat faces; one of two minima closer together than 3° of direction
    (or than some cells of a surface, if the host isn't convex) may be missed.
    """
    if part.bodies != (part,) or other.bodies != (other,):
        return _close_bodies(part, other, nested=nested, reach=reach)
    least = _wall(part, other, nested=nested)
    section = common_section(part, other)
    gaps: Sequence[Gap] = ()
    if not _convex(part, other, nested=nested):
        if least.thickness > least.error:
            surfaces = _surfaces(part, other, section)
            gaps = surface_walls(*surfaces, nested=nested, reach=reach)
    elif section and (nested or least.thickness > 0):
        gaps = section_walls(section.part, section.other, nested=nested, reach=reach)
    elif nested:
        gaps = space_walls(part, other, reach)
    if section:
        gaps = [section.in_space(gap, quarter) for gap in gaps for quarter in range(4)]
    places = (
        Wall.of(least.between, gap._replace(error=least.error), nested=nested) for gap in gaps
    )
    walls = _distinct([least, *places])
    return (*walls, *(_other_sides(part, other, walls, reach) if nested and other.convex else ()))


def _close_bodies(part: Part, other: Part, *, nested: bool, reach: float) -> tuple[Wall, ...]:
    """Return `close_walls` from pairs of solids; in a host of several, only the wall of each."""
    least = wall(part, other, nested=nested)
    walls = [least]
    for body in part.bodies:
        if nested and (len(other.bodies) > 1 or other.holes):
            walls += _hosted(body, other, nested=True)
        else:
            for solid in other.bodies:
                walls += close_walls(body, solid, nested=nested, reach=reach)
    near = [wall for wall in walls if wall.thickness <= least.thickness + reach]
    distinct = _distinct(sorted(near, key=THICKNESS))
    return tuple(replace(w, between=least.between, error=least.error) for w in distinct)


def _other_sides(part: Part, host: Part, walls: Sequence[Wall], reach: float) -> Iterator[Wall]:
    """Yield the gaps within reach in a convex host along directions without a wall so far."""
    least = walls[0]
    n = np.vstack([np.eye(3), -np.eye(3), -np.array(least.direction)])
    p, q = part.support_points(n), host.support_points(n)
    gaps = np.einsum("ij,ij->i", n, q - p)
    seen = np.array([wall.direction for wall in walls])
    for i in np.flatnonzero(gaps <= least.thickness + reach):
        if np.linalg.norm(seen - n[i], axis=1).min() > SAME:
            seen = np.vstack([seen, n[i]])
            gap = Gap(float(gaps[i]), least.error, p[i], n[i])
            yield replace(Wall.of(least.between, gap, nested=True), onto=_triple(q[i]))


def _convex(part: Part, other: Part, *, nested: bool) -> bool:
    return other.convex and (nested or part.convex)


def _surfaces(part: Part, other: Part, section: Section | None) -> tuple[Surface, Surface]:
    return section.curves() if section else (part.surface, other.surface)


def _distinct(walls: Sequence[Wall]) -> list[Wall]:
    """Return the walls without those that repeat an earlier one."""
    places = np.array([(*wall.at, *wall.direction) for wall in walls])
    return [walls[i] for i in apart(places, SAME, np.inf)]


def wall_rates(
    walls: Sequence[Wall], parts: Sequence[Part], dimensions: Sequence[Dimension]
) -> Array:
    """Return the derivatives (w, d) of the thickness of `walls` in each of `dimensions`.

    A wall is stationary in its position, so only the motion of its two ends counts:
    n·(V_other(q) − V_part(p)), n its direction, V the velocity of each surface (the envelope
    theorem). If several places tie, each has its own derivative: see `close_walls`. For parts that
    cross and aren't convex, the accuracy depends on the wall's `error`. Raises KeyError for an
    unknown part, ValueError as `Part.velocity` does.
    """
    named = {part.name: part for part in parts}
    n, p, q = (
        np.array([getattr(w, end) for w in walls]).reshape(-1, 3)
        for end in ("direction", "at", "onto")
    )
    rates = np.zeros((len(walls), len(dimensions)))
    for j, (name, path) in enumerate(dimensions):
        velocity = named[name].velocity(path)
        for end, points, sign in ((0, p, -1.0), (1, q, 1.0)):
            ours = [i for i, w in enumerate(walls) if w.between[end] == name]
            rates[ours, j] = sign * np.einsum("ij,ij->i", n[ours], velocity.at(points[ours]))
    return frozen(rates)


def _triple(point: Array) -> Triple:
    x, y, z = (float(value) + 0.0 for value in point)  # no -0
    return x, y, z

"""Sections of solids by the x-z plane: closed lines, exact if the shape allows it.

A turned solid cut along its axis shows its outline and the mirror image, a stretched ball an
ellipse, a box a polygon, a bar its outline between two lines: each is an outline of lines and arcs
under an affine map. Other cuts of a turned solid are traced by chords, and their loops have an
error.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from geometry.outlines.merge import cut, merged
from geometry.outlines.outline import ON_AXIS, Outline
from geometry.outlines.profile import Profile
from geometry.sections.chords import SAGITTA, chains, followed, roots
from shared.arrays import Array, Index, frozen

ON_PLANE = 1e-9
"""cm, or radians: an axis closer to the plane than this lies in it."""
CIRCLE = Outline(np.array([[-1.0, 0.0, 1.0], [1.0, 0.0, 1.0]]))
"""The unit circle."""
ALIKE = 1e-12
"""Arcs stay arcs under a map whose relative unevenness is no more than this."""


@dataclass(frozen=True, eq=False)
class Loop:
    """A closed line in the x-z plane: a point p of `outline` is at matrix · p + shift.

    `error` (cm) bounds its distance from the true line, 0 if it is exact.
    """

    outline: Outline
    matrix: Array = field(default_factory=lambda: frozen(np.eye(2)))
    shift: Array = field(default_factory=lambda: frozen(np.zeros(2)))
    error: float = 0.0


def ball_section(T: Array) -> tuple[Loop, ...]:
    """Return the section of the unit ball after the affine map `T` (4, 4): an ellipse, if any."""
    m, P = T[1, :3], T[[0, 2]]
    size = float(np.linalg.norm(m))
    off = -T[1, 3] / size
    if abs(off) >= 1.0:
        return ()
    normal = m / size
    up = np.eye(3)[2 if abs(normal[2]) < 0.9 else 0]
    second = up - (up @ normal) * normal
    second /= np.linalg.norm(second)
    first = np.cross(normal, second)
    matrix = np.sqrt(1.0 - off**2) * P[:, :3] @ np.column_stack([first, second])
    return (Loop(CIRCLE, frozen(matrix), frozen(P[:, :3] @ (off * normal) + P[:, 3])),)


def convex_section(corners: Array, i: Index, j: Index) -> tuple[Loop, ...]:
    """Return the section of a convex solid: `corners` (n, 3), edges `i` to `j` (k,) both ways."""
    y = np.where(np.abs(corners[:, 1]) <= ON_PLANE, 0.0, corners[:, 1])
    upward = (y[i] < 0) & (y[j] > 0)
    i, j = i[upward], j[upward]
    share = (y[i] / (y[i] - y[j]))[:, None]
    crossed = corners[i] + share * (corners[j] - corners[i])
    points = np.vstack([corners[y == 0], crossed])[:, [0, 2]]
    points = np.unique(np.round(points, 12), axis=0)
    if len(points) < 3:
        return ()
    order = np.argsort(np.angle((points - points.mean(axis=0)) @ [1, 1j]))
    return (plain_loop(points[np.roll(order, -np.argmin(order))]),)


def extruded_section(outline: Outline, height: float, T: Array) -> tuple[Loop, ...]:
    """Return the section of a bar along z, from −½ to ½ `height`, after the affine map `T` (4, 4).

    In the bar's own axes the plane is m·p = off. Unless it is upright, it shows the outline between
    the lines where it crosses the ends.
    """
    m, P, off = T[1, :3], T[[0, 2]], -T[1, 3]
    size, across = float(np.linalg.norm(m)), float(np.hypot(m[0], m[1]))
    n, room = complex(m[0], m[1]) / max(across, ON_PLANE * size), abs(m[2]) * height / 2
    if abs(m[2]) <= ON_PLANE * size:
        spans = n * (off / across + 1j * cut(outline, n, off / across).spans)
        sides = [span for span in spans if abs(span[1] - span[0]) > ON_PLANE]
        return tuple(_upright(side, height, P) for side in sides)
    matrix = P[:, :2] - np.outer(P[:, 2], m[:2] / m[2])
    shift = P[:, 2] * off / m[2] + P[:, 3]
    left: list[Outline] = [outline]
    if across <= ON_PLANE * size:
        left = left if abs(off) <= room + ON_PLANE else []
    else:
        for way in (1, -1):
            c = (way * off + room) / across
            left = [below for piece in left for below in cut(piece, way * n, c).below]
    return tuple(Loop(piece, frozen(matrix), frozen(shift)) for piece in left)


def _upright(side: Array, height: float, P: Array) -> Loop:
    """Return the parallelogram over a stretch of a bar's cross section, from its ends (2,)."""
    x, y = side[[0, 1, 1, 0]].real, side[[0, 1, 1, 0]].imag
    z = np.array([-0.5, -0.5, 0.5, 0.5]) * height
    return plain_loop(np.column_stack([x, y, z]) @ P[:, :3].T + P[:, 3])


def turned_section(profile: Profile, T: Array) -> tuple[Loop, ...]:
    """Return the section of a turned solid after the affine map `T` (4, 4) from its own axes."""
    m, P = T[1, :3], T[[0, 2]]
    size, across = float(np.linalg.norm(m)), float(np.hypot(m[0], m[1]))
    off = -T[1, 3]
    if across <= ON_PLANE * size:
        return tuple(_square(profile, off / m[2], P))
    if abs(m[2]) <= ON_PLANE * size and abs(off) <= ON_PLANE:
        outward = np.array([m[1], -m[0], 0.0]) / across
        matrix = np.column_stack([P[:, :3] @ outward, P[:, 2]]) * profile.stretch
        shift = P[:, 2] * profile.shift + P[:, 3]
        return tuple(
            Loop(outline, frozen(matrix), frozen(shift)) for outline in _whole(profile.outline)
        )
    return tuple(_slanted(profile, T))


def _whole(outline: Outline) -> Iterator[Outline]:
    """Yield the outlines that a half outline and its mirror image make together."""
    surface, v = outline.turned_edges, outline.vertices
    if np.all(surface):
        yield outline
        yield Outline(v * [-1.0, 1.0, -1.0])
        return
    on_axis = np.flatnonzero(~surface)
    for first, last in zip(on_axis + 1, np.append(on_axis[1:], on_axis[0] + len(v)), strict=True):
        if first == last:
            continue
        there = v[np.arange(first, last + 1) % len(v)]  # from axis to axis; back on the left
        there[np.abs(there[:, 0]) <= ON_AXIS * outline.size, 0] = 0.0
        back = there[:0:-1] * [-1.0, 1.0, 1.0]
        back[:, 2] = there[-2::-1, 2]
        yield Outline(np.vstack([there[:-1], back]))


def _square(profile: Profile, z: float, P: Array) -> Iterator[Loop]:
    """Yield the circles of a turned solid in a plane perpendicular to its axis, at `z`."""
    radii = set[float]()
    for piece in profile.surface_edges():
        crossed = roots(piece, lambda points: points[:, 1] - z)
        points = piece.points(np.array([0.0, *crossed, 1.0]))
        radii.update(np.round(points[np.abs(points[:, 1] - z) <= ON_PLANE, 0], 12).tolist())
    for r in sorted(r for r in radii if r > ON_PLANE):
        beside = np.array([[r - 1e-7, z], [r + 1e-7, z]])
        within = profile.contains(beside)
        if within[0] != within[1]:
            yield Loop(CIRCLE, frozen(r * P[:, :2]), frozen(P[:, 2] * z + P[:, 3]))


def _slanted(profile: Profile, T: Array) -> Iterator[Loop]:
    """Yield the loops of any other plane, by chords.

    In the solid's own axes the plane is h·s + m·z = off, with s along its normal's component across
    the axis, so a point (r, z) of the outline is in it if s² ≤ r², at ±√(r² − s²).
    """
    m, P, off = T[1, :3], T[[0, 2]], -T[1, 3]
    h = float(np.hypot(m[0], m[1]))
    along, beside = np.array([[m[0], m[1], 0.0], [m[1], -m[0], 0.0]]) / h

    def across(points: Array) -> Array:
        return np.asarray((off - m[2] * points[:, 1]) / h)

    def room(points: Array) -> Array:
        return np.asarray(points[:, 0] ** 2 - across(points) ** 2)

    def placed(points: Array) -> Array:
        s = across(points)
        middle = np.outer(s, P[:, :3] @ along) + np.outer(points[:, 1], P[:, 2]) + P[:, 3]
        wide = np.outer(np.sqrt(np.maximum(room(points), 0.0)), P[:, :3] @ beside)
        return np.stack([middle + wide, middle - wide])

    pieces = profile.surface_edges()
    runs, closed = chains(pieces, room, whole=bool(np.all(profile.outline.turned_edges)))
    for chain in runs:
        sides = np.concatenate(
            [followed(pieces[i], low, high, placed) for i, low, high in chain], axis=1
        )
        if closed:
            yield from (plain_loop(side, SAGITTA) for side in sides)
        else:
            yield plain_loop(np.vstack([sides[0], sides[1, ::-1]]), SAGITTA)


def plain_loop(points: Array, error: float = 0.0) -> Loop:
    """Return the loop of straight lines through `points` (n, 2)."""
    return Loop(Outline(np.column_stack([points, np.zeros(len(points))])), error=error)


def overlapping_section(
    plus: Sequence[Sequence[Loop]], minus: Sequence[Sequence[Loop]]
) -> tuple[Loop, ...]:
    """Return the section of a union of solids minus others, from the loops of each.

    Exact unless arcs are stretched unevenly. Raises ArithmeticError if it can't be traced.
    """
    drawn = [
        [[_in_plane(loop) for loop in loops] for loops in solids if loops]
        for solids in (plus, minus)
    ]
    errors = [error for solids in drawn for loops in solids for _, error in loops]
    if not errors:
        return ()
    area = merged(*([[outline for outline, _ in loops] for loops in solids] for solids in drawn))
    if area is None:
        raise ArithmeticError("a section's edges run too close to each other")
    return tuple(Loop(outline, error=max(errors)) for outline in (*area.pieces, *area.holes))


def _in_plane(loop: Loop) -> tuple[Outline, float]:
    """Return a loop as an outline in the plane, by chords if necessary, and its error."""
    M, v, error = loop.matrix, np.asarray(loop.outline.vertices), loop.error
    size, turn = float(np.linalg.norm(M, 2)), np.sign(np.linalg.det(M))
    even = np.linalg.norm(M.T @ M - size**2 * np.eye(2)) <= ALIKE * size**2
    if not even and np.any(v[:, 2]):
        points = Profile(loop.outline).polyline(SAGITTA / size)
        v, error = np.column_stack([points, np.zeros(len(points))]), error + SAGITTA
    return Outline(np.column_stack([v[:, :2] @ M.T + loop.shift, v[:, 2] * turn])), error

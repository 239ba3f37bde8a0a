"""A flat face of lines and arcs, cut into fans: every line from a fan's apex to its edge is in it.

Each arc has its own fan. If it bulges out, the apex is the middle of its chord; if it bulges in,
the intersection of the tangents at its ends. The remaining polygon is cut into triangles. Arcs are
halved until it neither crosses nor touches itself: anything that reached into an arc's fan would
have to cross the fan's straight sides.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from geometry.outlines.edges import Complex, Edges
from geometry.outlines.faults import faults
from geometry.outlines.outline import Outline
from shared.arrays import Array, Mask

WIDEST: Final = np.pi / 2 + 1e-9
"""rad. Longer arcs are always halved: the tangents at their ends meet far away, or nowhere."""
FINEST: Final = np.pi / 2**14
"""rad. If edges are so close that they need shorter arcs than this, the face isn't cut."""
LEFT: Final = 1e-9
"""rad. A turn to the right by less than this counts as none."""
LEVEL: Final = 1e-12
"""rad. A corner of a polygon that turns by less than this lies on a straight line."""


class Fans(NamedTuple):
    """The pieces of a face, each from its apex (k,) to its edge: they cover it exactly once."""

    apex: Complex
    edges: Edges


def convex(outline: Outline) -> bool:
    """Whether the area within an outline that doesn't cross itself is convex."""
    e = outline.edges
    into, out = e.tangents(np.array(1.0)), np.roll(e.tangents(np.array(0.0)), -1)
    turns = np.angle(out / into)
    return bool(np.all(e.angle >= 0) and np.all(turns >= -LEFT))


def fans(outline: Outline) -> Fans | None:
    """Return the fans of the area within an outline that doesn't cross itself.

    None if it is so close to itself, or so sharp, that arcs as short as FINEST don't suffice.
    """
    edges = outline.edges
    while np.any(wide := np.abs(edges.angle) > WIDEST):
        edges = _halved(edges, wide)
    while True:
        corners, owner = _polygon(edges)
        flat = np.column_stack([corners.real, corners.imag, np.zeros(len(corners))])
        bad = np.zeros(len(edges), dtype=bool)
        for fault in faults(flat, axis=False):
            bad[owner[list(fault.vertices)]] = True
        if not np.any(bad):
            if np.sum(_twice(corners[0], corners, np.roll(corners, -1))) > 0:
                return _with_triangles(edges, corners)
            bad[:] = True
        bad &= np.abs(edges.angle) > FINEST
        if not np.any(bad):
            return None
        edges = _halved(edges, bad)


def _halved(edges: Edges, which: Mask) -> Edges:
    """Return the edges in order, with those of `which` (n,) halved."""
    return edges.split(np.flatnonzero(which), np.full(np.count_nonzero(which), 0.5))


def _apexes(edges: Edges) -> Complex:
    """Return the apex of each arc's fan (n,)."""
    middle = (edges.start + edges.end) / 2
    inward = 0.5j * edges.chord * np.tan(np.maximum(-edges.angle, 0.0) / 2)
    return np.asarray(middle + inward)


def _polygon(edges: Edges) -> tuple[Complex, Array]:
    """Return the corners of the polygon between the arcs' fans, and the edge that leaves each."""
    count = np.arange(len(edges.angle))
    inward = edges.angle < 0
    order = np.argsort(np.concatenate([count, count[inward] + 0.5]))
    corners = np.concatenate([edges.start, _apexes(edges)[inward]])[order]
    return corners, np.concatenate([count, count[inward]])[order]


def _with_triangles(edges: Edges, corners: Complex) -> Fans:
    """Return the fans of the arcs, then the triangles of the polygon as fans of straight edges."""
    arcs = edges[edges.angle != 0]
    a, b, c = corners[_triangles(corners)].T
    cuts = Edges(start=b, end=c, angle=np.zeros(len(a)))
    return Fans(np.concatenate([_apexes(arcs), a]), Edges.joined([arcs, cuts]))


def _triangles(corners: Complex) -> Array:
    """Return the triangles (k, 3), by corner numbers, of a counter-clockwise polygon.

    Ears are cut off, the one with the shortest cut first; there is always one (Meisters, American
    Mathematical Monthly 82 (1975) 648; from memory). A corner on a straight line has no triangle.
    """
    left = list(range(len(corners)))
    triangles = []
    while len(left) > 3:
        p = corners[left]
        before, after = np.roll(p, 1), np.roll(p, -1)
        twice = _twice(before, p, after)
        size = np.abs(p - before) * np.abs(after - p)
        level = np.abs(twice) <= LEVEL * size
        ear = level | ((twice > 0) & ~_holds_another(before, p, after))
        cuts = np.where(ear, np.abs(after - before), np.inf)
        i = int(np.argmin(np.where(level, -1.0, cuts)))
        if not level[i]:
            triangles.append([left[i - 1], left[i], left[(i + 1) % len(left)]])
        del left[i]
    return np.array([*triangles, left])


def _twice(a: Complex, b: Complex, c: Complex) -> Array:
    """Return twice the signed area of triangles, negative if clockwise."""
    return np.asarray((np.conj(b - a) * (c - a)).imag)


def _holds_another(a: Complex, b: Complex, c: Complex) -> Mask:
    """Return which triangles (n,) of consecutive corners hold any of the other corners."""
    p = b[:, None]
    inside = (_twice(a, b, p) >= 0) & (_twice(b, c, p) >= 0) & (_twice(c, a, p) >= 0)
    own = (p == a) | (p == b) | (p == c)
    return np.asarray(np.any(inside & ~own, axis=0))

"""Exact union and difference of outlines, bounded by their own lines and arcs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np

from geometry.outlines.edges import Complex, Edges, coordinates
from geometry.outlines.faults import close_pairs, crossings
from geometry.outlines.outline import Outline
from shared.arrays import Array, Mask

NEAR: Final = 1e-10
"""Of the outlines' size: points closer than this are the same."""
BESIDE: Final = 1e-8
"""Of the outlines' size: the distance at which either side of an edge is tested. If two edges are
closer than this all along, either may be used."""
ALIKE: Final = 1e-12
"""Of an outline's size, and of an edge's t: smaller differences count as none."""


class Area(NamedTuple):
    """An area: the outlines of its `pieces`, and of the `holes` in them."""

    pieces: tuple[Outline, ...]
    holes: tuple[Outline, ...]


def left_of(within: Mask, count: int) -> Mask:
    """Return which points (n,) are in the union of solids minus others.

    `within` (s, n) says which points are in each solid; the first `count` are the union.
    """
    return np.asarray(within[:count].any(axis=0) & ~within[count:].any(axis=0))


def merged(plus: Sequence[Sequence[Outline]], minus: Sequence[Sequence[Outline]]) -> Area | None:
    """Return the union of areas minus others, each given by its outlines, holes included.

    None if edges run so close to each other that the result doesn't close.
    """
    solids = (*plus, *minus)

    def within(points: Array) -> Mask:
        each = [np.logical_xor.reduce([o.contains(points) for o in solid]) for solid in solids]
        return left_of(np.stack(each), len(plus))

    edges = Edges.joined([outline.edges for solid in solids for outline in solid])
    size = float(np.max(np.abs(edges.start[:, None] - edges.start)))
    edges = _split(edges, NEAR * size)
    middle, along = edges.points(np.array(0.5)), edges.tangents(np.array(0.5))
    left = 1j * along / np.abs(along) * np.minimum(BESIDE * size, edges.length / 8)
    inside_left, inside_right = (within(coordinates(middle + way)) for way in (left, -left))
    kept = inside_left != inside_right
    back = inside_right[kept]
    start, end, angle = edges[kept].arrays
    ends = np.where(back, end, start), np.where(back, start, end)
    edges = Edges(*ends, np.where(back, -angle, angle))
    loops = _loops(edges[_first(edges, NEAR * size)], 10 * NEAR * size)
    if loops is None:
        return None
    ways = [float(np.sum(Edges.closed(loop).quadrature()[1])) for loop in loops]
    pieces, holes = ([k for k, way in enumerate(ways) if way * s > 0] for s in (1, -1))
    return Area(*(tuple(Outline(loops[k]) for k in numbers) for numbers in (pieces, holes)))


def _split(edges: Edges, near: float) -> Edges:
    """Return the edges split where another one crosses, touches or begins."""
    i, j = close_pairs(edges, near)
    edge, crossing_edge = edges[i], edges[j]
    ends = np.stack([crossing_edge.start, crossing_edge.end])
    points = np.concatenate([crossings(edge, crossing_edge), crossings(crossing_edge, edge), ends])
    t = edge.nearest(points)
    on_both = np.abs(edge.points(t) - points) <= near
    on_both &= np.abs(crossing_edge.points(crossing_edge.nearest(points)) - points) <= near
    on_both &= (t * edge.length > near) & ((1 - t) * edge.length > near)
    which, at = np.broadcast_to(i, t.shape)[on_both], t[on_both]
    order = np.lexsort((at, which))
    which, at = which[order], at[order]
    apart = np.diff(at, prepend=0.0) * edges.length[which] > near
    fresh = (np.diff(which, prepend=-1) != 0) | apart
    return edges.split(which[fresh], at[fresh])


def _first(edges: Edges, near: float) -> Mask:
    """Return which edges don't repeat an earlier one."""
    places = np.stack([edges.start, edges.points(np.array(0.5)), edges.end])
    apart = np.max(np.abs(places[:, :, None] - places[:, None, :]), axis=0)
    again: Mask = np.any(np.tril(apart <= 10 * near, -1), axis=1)
    return ~again


def _loops(edges: Edges, near: float) -> list[Array] | None:
    """Return the closed runs of edges, each as vertices (n, 3); None if one doesn't close."""
    left = list(range(len(edges.angle)))
    loops = []
    while left:
        run = [left.pop(0)]
        begin = edges.start[run[0]]
        while abs(edges.end[run[-1]] - begin) > near:
            following = [k for k in left if abs(edges.start[k] - edges.end[run[-1]]) <= near]
            if not following:
                return None
            run.append(following[0])
            left.remove(following[0])
        loops.append(edges[run].vertices)
    return loops


class Cut(NamedTuple):
    """The cut of an outline by a line Re(conj(n) p) = c, |n| = 1.

    `below` are the outlines of what lies below c. `spans` (k, 2) are the start and end of each
    stretch of the line inside, measured from n·c in the direction of i·n.
    """

    below: tuple[Outline, ...]
    spans: Array


def cut(outline: Outline, normal: complex, c: float) -> Cut:
    """Return the cut of an outline by the line Re(conj(normal) p) = c, |normal| = 1."""
    edges = _split_at(outline.edges, normal, c)
    kept = _height(edges.points(np.array(0.5)), normal) < c - ALIKE * outline.size
    if np.all(kept) or not np.any(kept):
        return Cut((outline,) if np.all(kept) else (), np.empty((0, 2)))
    turn = -int(np.argmin(kept))  # the first edge is beyond the line, so no run wraps round
    edges, kept = edges[np.roll(np.arange(len(kept)), turn)], np.roll(kept, turn)
    starts = np.flatnonzero(kept & ~np.roll(kept, 1))
    ends = np.flatnonzero(kept & ~np.roll(kept, -1))
    first, last = (_height(p, 1j * normal) for p in (edges.start[starts], edges.end[ends]))
    # the area below lies left of the line in the direction of i·n, so the line enters where a run
    # ends and leaves where the same or another run starts
    begin, stop = np.argsort(last, kind="stable"), np.argsort(first, kind="stable")
    after = {int(a): int(b) for a, b in zip(begin, stop, strict=True)}
    below = []
    while after:
        run, vertices = min(after), []
        while run in after:
            part = edges[starts[run] : ends[run] + 1]
            vertices += [part.vertices, np.array([[part.end[-1].real, part.end[-1].imag, 0.0]])]
            run = after.pop(run)
        below.append(Outline(np.vstack(vertices)))
    return Cut(tuple(below), np.stack([last[begin], first[stop]], axis=1))


def _height(p: Complex, normal: complex) -> Array:
    """Return the component of points along `normal`."""
    return np.asarray((np.conj(normal) * p).real)


def _split_at(edges: Edges, normal: complex, c: float) -> Edges:
    """Return the edges in order, split where they cross the line."""
    size = float(np.max(np.abs(edges.start))) + abs(c)
    ends = (c + 1j * size * np.array([[-1.0], [1.0]])) * normal
    line = Edges(start=ends[0], end=ends[1], angle=np.zeros(1))
    points = crossings(line, edges)
    t = edges.nearest(points)
    cuts = (np.abs(_height(points, normal) - c) <= ALIKE * size) & (t > ALIKE) & (t < 1 - ALIKE)
    return edges.split(np.nonzero(cuts.T)[0], t.T[cuts.T])

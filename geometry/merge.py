"""Areas joined and cut, exactly: what bounds them is made of the outlines' own lines and arcs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from geometry.edges import Edges, coordinates
from geometry.faults import close_pairs, crossings, faults
from geometry.outline import Outline
from shared.arrays import Array, Mask

NEAR: Final = 1e-10
"""Of the outlines' size: points closer than this are one."""
BESIDE: Final = 1e-8
"""Of the outlines' size: so far to the left and to the right of an edge is asked what lies there.
Where two edges run on each other but for less than this, either may be taken."""


@dataclass(frozen=True, eq=False)
class Area:
    """What is left: the outlines of its `pieces`, and those of the `holes` in them."""

    pieces: tuple[Outline, ...]
    holes: tuple[Outline, ...]

    def sound(self, *, axis: bool) -> bool:
        """Say whether no outline crosses or touches itself (`axis`: as those of turned solids)."""
        both = (*self.pieces, *self.holes)
        return not any(faults(np.asarray(one.vertices), axis=axis) for one in both)


def left_of(within: Mask, count: int) -> Mask:
    """Return which points (n,) are left when solids are joined and others cut from them.

    `within` (s, n) says which points lie in each solid: the first `count` are joined.
    """
    return np.asarray(within[:count].any(axis=0) & ~within[count:].any(axis=0))


def merged(plus: Sequence[Sequence[Outline]], minus: Sequence[Sequence[Outline]]) -> Area | None:
    """Return the area of solids joined and others cut from them, each of outlines, holes included.

    None where edges run so close to each other that what is left doesn't close.
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
    edges = edges[kept]
    edges = Edges(
        start=np.where(back, edges.end, edges.start),
        end=np.where(back, edges.start, edges.end),
        angle=np.where(back, -edges.angle, edges.angle),
    )
    loops = _loops(edges[_first(edges, NEAR * size)], 10 * NEAR * size)
    if loops is None:
        return None
    ways = [float(np.sum(Edges.closed(loop).quadrature()[1])) for loop in loops]
    return Area(
        tuple(Outline(loop) for loop, way in zip(loops, ways, strict=True) if way > 0),
        tuple(Outline(loop) for loop, way in zip(loops, ways, strict=True) if way < 0),
    )


def _split(edges: Edges, near: float) -> Edges:
    """Return the edges in parts that end where another one crosses, touches or begins."""
    i, j = close_pairs(edges, near)
    one, other = edges[i], edges[j]
    ends = np.stack([other.start, other.end])
    points = np.concatenate([crossings(one, other), crossings(other, one), ends])
    t = one.nearest(points)
    on_both = np.abs(one.points(t) - points) <= near
    on_both &= np.abs(other.points(other.nearest(points)) - points) <= near
    on_both &= (t * one.length > near) & ((1 - t) * one.length > near)
    which, at = np.broadcast_to(i, t.shape)[on_both], t[on_both]
    order = np.lexsort((at, which))
    which, at = which[order], at[order]
    apart = np.diff(at, prepend=0.0) * edges.length[which] > near
    fresh = (np.diff(which, prepend=-1) != 0) | apart
    return edges.split(which[fresh], at[fresh])


def _first(edges: Edges, near: float) -> Mask:
    """Say which edges don't lie, all along, where one before them does."""
    places = np.stack([edges.start, edges.points(np.array(0.5)), edges.end])
    apart = np.max(np.abs(places[:, :, None] - places[:, None, :]), axis=0)
    again: Mask = np.any(np.tril(apart <= 10 * near, -1), axis=1)
    return ~again


def _loops(edges: Edges, near: float) -> list[Array] | None:
    """Return the closed runs of edges, each as vertices (n, 3); None where one doesn't close."""
    left = list(range(len(edges.angle)))
    found = []
    while left:
        run = [left.pop(0)]
        begin = edges.start[run[0]]
        while abs(edges.end[run[-1]] - begin) > near:
            following = [k for k in left if abs(edges.start[k] - edges.end[run[-1]]) <= near]
            if not following:
                return None
            run.append(following[0])
            left.remove(following[0])
        start, bulge = edges.start[run], np.tan(edges.angle[run] / 4)
        found.append(np.stack([start.real, start.imag, bulge], axis=1))
    return found

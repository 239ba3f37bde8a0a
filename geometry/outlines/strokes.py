"""Lines and arcs drawn in any order and direction, joined end to end into one outline.

Lengths are in the drawing's own unit. A turned outline is drawn in r and z: as a half section,
closed or open along the axis, or as a whole, symmetric section.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple

import numpy as np

from geometry.outlines.edges import Complex, Edges
from geometry.outlines.merge import cut
from geometry.outlines.outline import Outline
from shared.arrays import Array
from shared.errors import FileError

JOIN: Final = 1e-6
"""Of the drawing's size. Ends closer than this meet, and a vertex closer to the axis lies on it:
drawings have at least six decimals, and no mould is cut finer."""
MOST: Final = 1000
"""The most edges of a drawing: each is compared with each."""


class Run(NamedTuple):
    """Consecutive edges: vertices (k, 3), and whether the last edge leads back to the first."""

    vertices: Array
    closed: bool


def outline(drawn: Sequence[Run], *, axis: bool) -> Array:
    """Return the vertices (k, 3), x, y and bulge, of the single outline that is drawn.

    With `axis` it is in r and z, to be turned. Raises FileError.
    """
    edges, bulges = _edges(drawn)
    near = JOIN * _size(edges)
    long = edges.length > near
    edges, bulges = edges[long], bulges[long]
    if not len(edges):
        raise FileError("has no lines or arcs", "draw the outline")
    if len(edges) > MOST:
        what = f"has {len(edges)} lines and arcs"
        raise FileError(what, f"an outline has up to {MOST}; is it the right layer?")
    runs = list(_runs(edges, bulges, near))
    if axis:
        snapped = [(_snapped(run.vertices, near), run.closed) for run in runs]
        runs = [Run(v, closed or not np.any(v[[0, -1], 0])) for v, closed in snapped]
    loose = [run for run in runs if not run.closed]
    if loose:
        ends = [complex(*run.vertices[k, :2]) for run in loose for k in (0, -1)]
        raise _gap(ends, axis=axis, near=near)
    loops = [run.vertices for run in runs]
    if axis:
        loops = list(_right_halves(loops, near))
    if len(loops) != 1:
        what = f"has {len(loops)} closed lines, but an outline is one"
        raise FileError(what, "keep one of them")
    return loops[0] + 0.0  # no negative zeros


def _edges(drawn: Sequence[Run]) -> tuple[Edges, Array]:
    """Return all edges and their bulges; no edge leaves the last vertex of an open run."""
    runs = (Run(np.empty((0, 3)), closed=True), *drawn)
    counts = [len(run.vertices) - (not run.closed) for run in runs]
    each = [(run.vertices, count) for run, count in zip(runs, counts, strict=True)]
    edges = Edges.joined([Edges.closed(vertices)[:count] for vertices, count in each])
    return edges, np.concatenate([vertices[:count, 2] for vertices, count in each])


def _size(edges: Edges) -> float:
    points = np.concatenate([edges.start, edges.end, edges.points(np.array(0.5))])
    return float(max(np.ptp(points.real), np.ptp(points.imag))) if len(points) else 0.0


def _runs(edges: Edges, bulges: Array, near: float) -> Iterator[Run]:
    """Yield the edges as runs, open ones first. Raises FileError if they branch."""
    count = len(edges)
    tips = np.concatenate([edges.start, edges.end])
    meets = np.abs(tips[:, None] - tips) <= near
    np.fill_diagonal(meets, val=False)
    many = np.flatnonzero(np.sum(meets, axis=1) > 1)
    if len(many):
        what = f"has more than two ends that meet at {_place(tips[many[0]])}"
        raise FileError(what, "leave out branches and lines that are drawn twice")
    mate = np.where(np.any(meets, axis=1), np.argmax(meets, axis=1), -1)
    left = set(range(count))
    for first in (*np.flatnonzero(mate < 0), *range(count)):
        tip, vertices = int(first), []
        while tip >= 0 and tip % count in left:
            left.remove(tip % count)
            turn = bulges[tip] if tip < count else -bulges[tip - count]
            vertices.append((tips[tip].real, tips[tip].imag, turn))
            last = (tip + count) % (2 * count)
            tip = int(mate[last])
        if not vertices:
            continue
        if tip < 0:
            vertices.append((tips[last].real, tips[last].imag, 0.0))
        yield Run(np.array(vertices), closed=tip >= 0)


def _snapped(vertices: Array, near: float) -> Array:
    """Return vertices with those near the axis moved onto it, where a run may close."""
    snapped = vertices.copy()
    snapped[np.abs(snapped[:, 0]) <= near, 0] = 0.0
    return snapped


def _gap(ends: Sequence[complex], *, axis: bool, near: float) -> FileError:
    """Return the error of open ends: the first that isn't on the axis, and the nearest to it."""
    first = next(end for end in ends if not axis or abs(end.real) > near)
    others = list(ends)
    others.remove(first)
    nearest = min(others, key=lambda end: abs(end - first))
    what = f"is open at {_place(first)}; the nearest end is {abs(nearest - first):.4g} away"
    instead = "join the ends" + (", or end on the axis, x = 0" if axis else "")
    return FileError(f"{what}, at {_place(nearest)}", instead)


def _place(point: complex) -> str:
    return f"({point.real:.6g}, {point.imag:.6g})"


def _right_halves(loops: Sequence[Array], near: float) -> Iterator[Array]:
    """Yield each loop, or its right half if it is symmetric about the axis.

    A loop left of the axis is left out if it is the mirror image of another.
    """
    spans = [_span(Edges.closed(loop)) for loop in loops]
    right = [loop for loop, (low, _) in zip(loops, spans, strict=True) if low >= -near]
    for loop, (low, high) in zip(loops, spans, strict=True):
        if low < -near and high > near and _mirrored(loop, loop, near):
            for half in cut(Outline(loop), -1.0 + 0.0j, 0.0).below:
                yield _snapped(half.vertices, near)
        elif high > near or not any(_mirrored(loop, twin, near) for twin in right):
            yield loop


def _span(edges: Edges) -> tuple[float, float]:
    """Return the least and the greatest x of edges."""
    reached = [edges.points(edges.farthest(np.array(way + 0j))).real for way in (-1.0, 1.0)]
    return float(np.min(reached)), float(np.max(reached))


def _mirrored(first: Array, second: Array, near: float) -> bool:
    """Whether two loops are mirror images in x = 0."""

    def lies_on(points: Complex, loop: Edges) -> bool:
        there = -np.conj(points).reshape(-1, 1)
        off = np.abs(loop.points(loop.nearest(there)) - there)
        return bool(np.all(np.min(off, axis=1) <= 2 * near))

    a, b = Edges.closed(first), Edges.closed(second)
    t = np.linspace(0, 1, 5)[:, None]
    return lies_on(a.points(t), b) and lies_on(b.points(t), a)

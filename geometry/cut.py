"""Outlines cut by a straight line, exactly: what lies on one side of it, and its way within.

An edge that runs along the line counts as beyond it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from geometry.edges import Complex, Edges
from geometry.faults import crossings
from geometry.outline import Outline
from shared.arrays import Array

ALIKE: Final = 1e-12
"""Of an outline's size, and of an edge's t: what differs by less is the same."""


@dataclass(frozen=True, eq=False)
class Cut:
    """The cut of an outline by a line Re(conj(n) p) = c, |n| = 1.

    `below` are the outlines of what lies below c. `spans` (k, 2) say where the line's stretches
    within begin and end, counted from n·c in the direction of i·n.
    """

    below: tuple[Outline, ...]
    spans: Array


def cut(outline: Outline, normal: complex, c: float) -> Cut:
    """Return the cut of an outline by the line Re(conj(normal) p) = c, |normal| = 1."""
    edges = _split(outline.edges, normal, c)
    kept = _height(edges.points(np.array(0.5)), normal) < c - ALIKE * outline.size
    if np.all(kept) or not np.any(kept):
        return Cut((outline,) if np.all(kept) else (), np.empty((0, 2)))
    turn = -int(np.argmin(kept))  # so that the first edge lies beyond, and no run goes on round
    edges, kept = edges[np.roll(np.arange(len(kept)), turn)], np.roll(kept, turn)
    starts = np.flatnonzero(kept & ~np.roll(kept, 1))
    ends = np.flatnonzero(kept & ~np.roll(kept, -1))
    first, last = (_height(p, 1j * normal) for p in (edges.start[starts], edges.end[ends]))
    # what is below lies left of the line in the direction of i·n, so that it goes on from where
    # one run ends to where the same or another one starts, then leaves
    begin, stop = np.argsort(last, kind="stable"), np.argsort(first, kind="stable")
    after = {int(a): int(b) for a, b in zip(begin, stop, strict=True)}
    found = []
    while after:
        run, vertices = min(after), []
        while run in after:
            part = edges[starts[run] : ends[run] + 1]
            bulge = np.tan(part.angle / 4)
            vertices.append(np.stack([part.start.real, part.start.imag, bulge], axis=1))
            vertices.append(np.array([[part.end[-1].real, part.end[-1].imag, 0.0]]))
            run = after.pop(run)
        found.append(Outline(np.vstack(vertices)))
    return Cut(tuple(found), np.stack([last[begin], first[stop]], axis=1))


def _height(p: Complex, normal: complex) -> Array:
    """Return how far points lie along `normal`."""
    return np.asarray((np.conj(normal) * p).real)


def _split(edges: Edges, normal: complex, c: float) -> Edges:
    """Return the edges in order, each in parts that end where it crosses the line."""
    size = float(np.max(np.abs(edges.start))) + abs(c)
    ends = (c + 1j * size * np.array([[-1.0], [1.0]])) * normal
    line = Edges(start=ends[0], end=ends[1], angle=np.zeros(1))
    points = crossings(line, edges)
    t = edges.nearest(points)
    cuts = (np.abs(_height(points, normal) - c) <= ALIKE * size) & (t > ALIKE) & (t < 1 - ALIKE)
    return edges.split(np.nonzero(cuts.T)[0], t.T[cuts.T])

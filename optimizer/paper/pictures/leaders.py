"""Labels beside a section: a dot in each part's own material, and lines that don't cross."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from geometry.nesting import children
from geometry.parts import Part
from geometry.sections.section import Loop
from optimizer.paper.pictures.arranging import in_order, shortest_pairs, to_edge
from shared.arrays import Array, Mask

CELLS = (96, 384)
"""Cells along the longer side of a part's section; the finer if the coarser find no room."""
ROOMY = 0.75
"""A dot has at least this share of the room at the roomiest place."""


def dots(parts: Sequence[Part], apart: float, *, half: bool) -> dict[str, Array]:
    """Return a place (x, z), cm, in the section of each part's own material, by the part's name.

    Each has room and, if possible, is `apart` (cm) in height from all others, so that the lines to
    labels are level; parts with the least choice are placed first. With `half`, x > 0. Parts that
    aren't cut or are too thin to point to are left out.
    """
    inner = children(parts)
    candidates = {part.name: _places(part, inner[part.name], half=half) for part in parts}
    cut = {name: (places, room) for name, (places, room) in candidates.items() if len(room)}
    chosen: dict[str, Array] = {}
    for name in sorted(cut, key=lambda name: float(np.ptp(cut[name][0][:, 1]))):
        places, room = cut[name]
        heights = np.array([place[1] for place in chosen.values()])
        gap = np.min(np.abs(places[:, 1:] - heights), axis=1, initial=apart) / apart
        outward = places[:, 0] / np.max(np.abs(places[:, 0]))
        best = np.argmax(np.round(2.0 * gap + 1.5 * room + 0.3 * outward, 9))
        chosen[name] = places[best]
    return {part.name: chosen[part.name] for part in parts if part.name in chosen}


def joined(places: Array, side: float, pitch: float, ends: tuple[float, float]) -> Array:
    """Return heights (n,) at x = `side` to join to places (n, 2) without crossing lines.

    They are at least `pitch` apart, near the places' own, and between the two `ends`. The pairing
    of places and heights has the least total length: uncrossing two lines would shorten them.
    """
    steps = pitch * np.arange(len(places))
    level = in_order(np.sort(places[:, 1]) - steps)
    free = np.clip(level, ends[0], ends[1] - steps[-1]) + steps
    lengths = np.hypot(side - places[:, :1], free - places[:, 1:])
    return np.asarray(free[shortest_pairs(lengths)])


def _places(part: Part, inner: Sequence[Part], *, half: bool) -> tuple[Array, Array]:
    """Return places (k, 2) for a dot and the room of each (k,), 1 at the roomiest; or none."""
    if loops := part.section():
        low, high = _box(loops)
        low[0] = max(low[0], 0.0) if half else low[0]
        for cells in CELLS:
            step = float(np.max(high - low)) / cells
            counts = np.maximum(np.ceil((high - low) / step - 1e-9), 1).astype(int)
            grid = np.indices(tuple(counts)).reshape(2, -1).T
            places = low + (grid + 0.5) * step
            own = _own(part, inner, places)
            if np.any(own):
                room = to_edge(own.reshape(tuple(counts)))
                share = room.ravel() / np.max(room)
                roomy = share >= ROOMY
                return places[roomy], share[roomy]
    return np.zeros((0, 2)), np.zeros(0)


def _own(part: Part, inner: Sequence[Part], places: Array) -> Mask:
    """Return which places (k, 2) are in the part's own material."""
    points = np.insert(places, 1, 0.0, axis=1)
    own = part.surface.inside(points)
    for child in inner:
        own &= ~child.surface.inside(points)
    return own


def _box(loops: Sequence[Loop]) -> tuple[Array, Array]:
    """Return the lowest and highest x and z (2,) of loops."""
    ways = np.vstack([np.eye(2), -np.eye(2)])
    farthest = [
        loop.outline.support_points(ways @ loop.matrix) @ loop.matrix.T + loop.shift
        for loop in loops
    ]
    reach = np.max(np.sum(farthest * ways, axis=2), axis=0)
    return -reach[2:], reach[:2]

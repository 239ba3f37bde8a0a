"""Where names and dots find room: heights that keep apart, and roomy places within parts."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Final

import numpy as np
from scipy.ndimage import distance_transform_edt

from geometry.parts import Part
from shared.arrays import Array

ROWS: Final = 120
"""Rows of the raster in which a part's roomiest place is sought."""
APART: Final = 7.0
"""px between the heights of two dots."""


def spread(wanted: Sequence[float], apart: float, low: float, high: float) -> list[float]:
    """Return places near those `wanted` (rising), at least `apart`, between `low` and `high`.

    Where there is no room for all, they are `apart` from `low` on.
    """
    places = list[float]()
    for want in wanted:
        places.append(max(want, low, *(p + apart for p in places[-1:])))
    limit = max(high, low + apart * (len(wanted) - 1))
    for k in range(len(places) - 1, -1, -1):
        places[k] = min(places[k], limit)
        limit = places[k] - apart
    return places


@cache
def dots(parts: tuple[Part, ...], scale: float, *, half: bool) -> dict[str, tuple[float, float]]:
    """Return a place (x, z), cm, in each part's own material, roomy, each on a height of its own.

    Parts that the plane doesn't cut are left out.
    """
    radius = max(float(np.max(part.support_points(np.eye(3)))) for part in parts)
    step = 2 * radius / ROWS
    z = radius - step * (np.arange(ROWS) + 0.5)
    x = step * (np.arange(ROWS // 2) + 0.5) if half else -z
    X, Z = np.meshgrid(x, z)
    points = np.column_stack([X.ravel(), np.zeros(X.size), Z.ravel()])
    inside = {part.name: part.surface.inside(points).reshape(X.shape) for part in parts}
    room: dict[str, Array] = {}
    for part in parts:
        own = inside[part.name].copy()
        for other in parts:
            if other.inside == part.name:
                own &= ~inside[other.name]
        if np.any(own):
            room[part.name] = distance_transform_edt(np.pad(own, 1))[1:-1, 1:-1]
    taken, found = list[float](), dict[str, tuple[float, float]]()
    for name in sorted(room, key=lambda one: (float(room[one].max()), one)):
        best = room[name].max(axis=1)
        free = np.array([min((abs(h - t) for t in taken), default=np.inf) for h in z])
        good = (best >= 0.6 * best.max()) & (free * scale >= APART)
        rank = np.where(good, 1e6 + best, np.where(best >= 0.3 * best.max(), free, -1.0))
        row = int(np.argmax(rank))
        column = int(np.argmax(room[name][row]))
        taken.append(float(z[row]))
        found[name] = (float(x[column]), float(z[row]))
    return found

"""The room that is left in a part: how far from every surface a point in its section is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from geometry.parts import Part
from shared.arrays import Array, Mask, frozen

SIDES: Final = frozen(np.kron(np.eye(3), [[1.0], [-1.0]]))
"""Directions (6, 3) along the ball's axes, either way: x, −x, y, −y, z, −z."""
ACROSS, ALONG = 24, 97
"""Points of the grid, from the axis outward and from the bottom to the top."""
FULL: Final = 0.8
"""Of its radius: how thick half of a ring may be."""

EVEN: Final = 1e-3
"""Of rings as large as each other the one with the most room around it is taken."""


@dataclass(frozen=True)
class Place:
    """A point (r, z) of a host, r from its own axis, and its distance from every surface, cm."""

    r: float
    z: float
    clear: float


class Space:
    """What is left of a `host` beside the parts `inside` it, in a half-plane of its axis."""

    def __init__(self, host: Part, inside: Sequence[Part]) -> None:
        self.x, self.y, _ = host.placement.at
        ends = host.support_points(SIDES)
        across = np.einsum("ij,ij->i", ends, SIDES)[:4] - SIDES[:4, :2] @ [self.x, self.y]
        self.radius = float(np.min(across))
        self.top, self.bottom = float(ends[4, 2]), float(ends[5, 2])
        self.tall, self.middle = self.top - self.bottom, (self.top + self.bottom) / 2
        r, z = np.meshgrid(
            np.linspace(0.0, self.radius, ACROSS, endpoint=False),
            np.linspace(self.bottom, self.top, ALONG),
        )
        self.r, self.z = r.ravel(), z.ravel()
        points = np.column_stack([self.r + self.x, np.full(self.r.size, self.y), self.z])
        free = _within(host, points)
        for part in inside:
            free &= ~_within(part, points)
        every = [part.clearance(points) for part in (host, *inside)]
        self.clear = np.where(free, np.min(every, axis=0), 0.0)
        self.ends = (
            max((part.support_points(SIDES)[4, 2] for part in inside), default=self.middle),
            min((part.support_points(SIDES)[5, 2] for part in inside), default=self.middle),
        )

    def ring(self, least: float) -> Place:
        """Return where the ring of the largest volume fits, with walls of `least`."""
        thick = np.minimum(np.maximum(self.clear - least, 0.0), FULL * self.r)
        return self._place(thick**2 * self.r + EVEN * self.clear, thick)

    def cap(self, way: float, least: float) -> Place:
        """Return the roomiest place on the axis beyond all that lies in the host, up or down."""
        beyond = self.z > self.ends[0] if way > 0 else self.z < self.ends[1]
        room = np.where((self.r == 0.0) & beyond, np.maximum(self.clear - least, 0.0), 0.0)
        return self._place(room, room)

    def _place(self, worth: Array, clear: Array) -> Place:
        k = int(np.argmax(worth))
        return Place(float(self.r[k]), float(self.z[k]), float(clear[k]))


def _within(part: Part, points: Array) -> Mask:
    """Whether points (n, 3) near the plane y = 0 lie in a part's section by it."""
    inside = np.zeros(len(points), dtype=bool)
    for loop in part.section():
        local = (points[:, [0, 2]] - loop.shift) @ np.linalg.inv(loop.matrix).T
        inside ^= loop.outline.contains(local)
    return inside

"""Parts out of place: displaced, tilted, the ball turned off centre or to another diameter.

What lies inside a part moves with it: it was cast into it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from geometry.nesting import outermost
from geometry.parts import Body, Part
from geometry.placement import Placement
from shared.arrays import Array, frozen

Parts = tuple[Part, ...]


def shifted(parts: Parts, name: str, axis: int, by: float) -> Parts:
    """Return the parts with one, and what lies inside it, `by` cm along x, y or z (0, 1, 2)."""
    T = np.eye(4)
    T[axis, 3] = by
    return _moved(parts, _within(parts, name), T)


def tilted(parts: Parts, name: str, axis: int, by: float) -> Parts:
    """Return the parts with one, and what lies inside it, turned about its own place, rad.

    `axis` is 0 or 1: about the ball's x or y, through the part's origin.
    """
    (part,) = (part for part in parts if part.name == name)
    degrees = [0.0, 0.0, 0.0]
    degrees[axis] = np.degrees(by)
    turn = Placement(rotate=(degrees[0], degrees[1], degrees[2])).matrix
    there, back = np.eye(4), np.eye(4)
    there[:3, 3], back[:3, 3] = part.matrix[:3, 3], -part.matrix[:3, 3]
    return _moved(parts, _within(parts, name), there @ turn @ back)


def off_centre(parts: Parts, axis: int, by: float) -> Parts:
    """Return the parts as the ball's centre sees them, turned `by` cm off along an axis."""
    T = np.eye(4)
    T[axis, 3] = -by
    ball = outermost(parts).name
    return _moved(parts, {part.name for part in parts if part.name != ball}, T)


def turned(parts: Parts, by: float) -> Parts:
    """Return the parts with the ball's diameter `by` cm larger. Its shape must be a sphere's."""
    ball = outermost(parts)
    diameter = ball.shape.diameter + by  # type: ignore[attr-defined]
    larger = replace(ball, shape=ball.shape.model_copy(update={"diameter": diameter}))
    return tuple(larger if part is ball else part for part in parts)


def _within(parts: Parts, name: str) -> set[str]:
    """Return the names of a part and of all that lies inside it."""
    inside, new = set[str](), {name}
    while new:
        inside |= new
        new = {part.name for part in parts if new & set(part.hosts)} - inside
    return inside


def _moved(parts: Parts, names: set[str], T: Array) -> Parts:
    return tuple(_body(part, T) if part.name in names else part for part in parts)


def _body(part: Part, T: Array) -> Part:
    own = part.name, part.inside, part.shape, part.placement
    return Body(*own, frozen(T @ part.matrix), through=part.through)

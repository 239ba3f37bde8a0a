"""The placement of a part: the only place that changes axes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from shared.arrays import Array, frozen


def _rotation(degrees: tuple[float, float, float]) -> Array:
    """Rotation about the fixed x, then y, then z axis."""
    (cx, cy, cz), (sx, sy, sz) = (_exact(f(np.radians(degrees))) for f in (np.cos, np.sin))
    about_x = np.array([[1, 0, 0], [0, cx, -sx], [0, sx, cx]])
    about_y = np.array([[cy, 0, sy], [0, 1, 0], [-sy, 0, cy]])
    about_z = np.array([[cz, -sz, 0], [sz, cz, 0], [0, 0, 1]])
    return frozen(about_z @ about_y @ about_x)


def _exact(values: Array) -> Array:
    """Make quarter turns exact: cos 90° is 0, not 6e-17."""
    rounded = np.round(values)
    return np.where(np.abs(values - rounded) < 1e-15, rounded, values)


@dataclass(frozen=True)
class Placement:
    """A stretch along the shape's own axes, then a rotation, then a shift.

    `stretch` are factors, `rotate` degrees about the fixed x, then y, then z axis, `at` (cm) the
    position of the shape's own origin in the ball.
    """

    at: tuple[float, float, float] = (0.0, 0.0, 0.0)
    rotate: tuple[float, float, float] = (0.0, 0.0, 0.0)
    stretch: tuple[float, float, float] = (1.0, 1.0, 1.0)

    @property
    def matrix(self) -> Array:
        """The homogeneous matrix T (4, 4): a point p of the shape is at (T [p, 1])[:3]."""
        T = np.eye(4)
        T[:3, :3] = _rotation(self.rotate) @ np.diag(self.stretch)
        T[:3, 3] = self.at
        return frozen(T)

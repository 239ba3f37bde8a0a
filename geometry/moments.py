"""Moments of a solid: the vector space in which everything else is computed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from shared.arrays import Array, frozen


@dataclass(frozen=True, eq=False)
class Moments:
    """Volume, first and second moments of a solid of unit density, about the ball's centre.

    `J` is the symmetric 4×4 matrix ∫ [x y z 1]ᵀ [x y z 1] dV, read-only:

        J[:3, :3]  second moments ∫ x xᵀ dV    cm⁵
        J[:3, 3]   first moments ∫ x dV        cm⁴
        J[3, 3]    volume                      cm³

    Moments of separate bodies add, a body taken out of another subtracts, and a density scales them
    (then in g cm², g cm, g). Every real body has a positive semidefinite J; the converse is false.
    """

    J: Array

    def __post_init__(self) -> None:
        object.__setattr__(self, "J", frozen(self.J))

    @classmethod
    def of(cls, volume: float, first: Array, second: Array) -> Moments:
        """Moments from the volume, first moments (3,) and second moments ∫ x xᵀ dV (3, 3)."""
        J = np.empty((4, 4))
        J[:3, :3] = second
        J[:3, 3] = J[3, :3] = first
        J[3, 3] = volume
        return cls(J)

    @classmethod
    def symmetric(cls, volume: float, xx: float, yy: float, zz: float) -> Moments:
        """Moments of a body whose centroid is the origin and whose principal axes are x, y, z."""
        return cls(np.diag([xx, yy, zz, volume]))

    @classmethod
    def zero(cls) -> Moments:
        """The moments of nothing."""
        return cls(np.zeros((4, 4)))

    def __add__(self, other: Moments) -> Moments:
        return Moments(self.J + other.J)

    def __sub__(self, other: Moments) -> Moments:
        return Moments(self.J - other.J)

    def __mul__(self, density: float) -> Moments:
        return Moments(density * self.J)

    __rmul__ = __mul__

    def moved(self, T: Array) -> Moments:
        """Return the moments after the affine map `T` (4, 4), even a mirror: |det A| · T J Tᵀ."""
        return Moments(abs(float(np.linalg.det(T[:3, :3]))) * (T @ self.J @ T.T))

    @property
    def volume(self) -> float:
        """cm³ (g, once a density has been multiplied in)."""
        return float(self.J[3, 3])

    @property
    def centroid(self) -> Array:
        """The centre of volume (3,), cm. Raises ZeroDivisionError for no volume."""
        if self.volume == 0.0:
            raise ZeroDivisionError("nothing has no centroid")
        return frozen(self.J[:3, 3] / self.volume)

    def about(self, point: Array) -> Moments:
        """Return the moments about `point` (3,) instead of the ball's centre."""
        T = np.eye(4)
        T[:3, 3] = -point
        return self.moved(T)

    @property
    def inertia(self) -> Array:
        """The inertia tensor about the origin, unit density: tr(S)·E − S, (3, 3)."""
        S = self.J[:3, :3]
        return frozen(np.trace(S) * np.eye(3) - S)

"""Mass properties of a ball, exact, from its moments with the densities multiplied in."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.moments import Moments
from shared.arrays import Array, frozen
from shared.tolerances import AXIS_GAP

MASS_SLOPE = frozen(np.diag([0.0, 0.0, 0.0, 1.0]))
"""⟨slope, J⟩ is the mass: every linear figure of a ball is a 4×4 matrix of this kind."""

_EYE = np.eye(3)


@dataclass(frozen=True, eq=False)
class Principal:
    """Radii of gyration about `point` (3,), cm, along the principal axes there.

    `radii` (3,), cm, low to high; `axes` (3, 3), unit columns, pointing toward +z (if level, toward
    +x or +y). The principal inertia k is ⟨slopes[k], J⟩, and `slopes` (3, 4, 4) are also its
    derivative in J, about the centre and about the centre of gravity: moving the point or turning
    the axis has no first-order effect.
    """

    point: Array
    radii: Array
    axes: Array
    slopes: Array

    @property
    def low(self) -> float:
        """Low RG, cm."""
        return float(self.radii[0])

    @property
    def intermediate(self) -> float:
        """Intermediate RG, cm."""
        return float(self.radii[1])

    @property
    def high(self) -> float:
        """High RG, cm."""
        return float(self.radii[2])

    @property
    def differential(self) -> float:
        """High RG − low RG, cm."""
        return self.high - self.low

    @property
    def intermediate_differential(self) -> float:
        """High RG − intermediate RG, cm."""
        return self.high - self.intermediate

    def axis(self, k: int) -> Array | None:
        """Return the direction of axis `k` (0 low, 2 high); None if its RG isn't AXIS_GAP apart."""
        radii = self.radii.tolist()
        apart = min(abs(other - radii[k]) for i, other in enumerate(radii) if i != k)
        return frozen(self.axes[:, k]) if apart > AXIS_GAP else None

    @property
    def pin_tilt(self) -> float | None:
        """Angle between the low-RG axis and the pin axis, rad; None without such an axis."""
        low = self.axis(0)
        if low is None:
            return None
        x, y, z = low.tolist()
        return math.atan2(math.hypot(x, y), abs(z))

    def product_slope(self, j: int, k: int) -> Array:
        """The derivative (4, 4) in J of the product of inertia uⱼᵀ I uₖ, which is 0 here."""
        both = self._carried[j][:, None] * self._carried[k]
        return frozen((both + both.T) / -2.0)

    @cached_property
    def _carried(self) -> Array:
        """K u of each axis u (3, 4): ⟨(K u)(K v)ᵀ, J⟩ is uᵀ S v about the point."""
        return np.vstack([self.axes, -self.point @ self.axes]).T

    def pin_tilt_slope(self, mass: float) -> Array:
        """The derivative (4, 4) of the pin tilt in J, for a ball of `mass`, g.

        The low axis u turns by Σ wₖ (wₖᵀ dI u) / (λ − λₖ) toward the other axes wₖ. Zero where the
        tilt has a kink: on the pin axis and perpendicular to it.
        """
        low, slope = self.axes[:, 0], np.zeros((4, 4))
        sine = float(np.hypot(low[0], low[1]))
        if min(sine, abs(float(low[2]))) < 1e-9:
            return frozen(slope)
        for k in (1, 2):
            apart = mass * (self.radii[0] ** 2 - self.radii[k] ** 2)
            turned = -np.sign(low[2]) * self.axes[2, k] / (apart * sine)
            slope += turned * self.product_slope(0, k)
        return frozen(slope)


def principal(J: Array, point: Array) -> Principal:
    """Return the radii of gyration of mass moments `J` (4, 4) about `point` (3,), cm."""
    K = np.empty((4, 3))
    K[:3], K[3] = _EYE, -point
    S = K.T @ J @ K
    inertia, axes = np.linalg.eigh(S.trace() * _EYE - S)
    axes[:, _leading(axes) < 0.0] *= -1.0
    V = (K @ axes).T  # K (E − u uᵀ) Kᵀ = K Kᵀ − (K u)(K u)ᵀ
    slopes = K @ K.T - V[:, :, None] * V[:, None, :]
    radii = np.sqrt(np.maximum(inertia, 0.0) / J[3, 3])
    return Principal(frozen(point), frozen(radii), frozen(axes), frozen(slopes))


def radii_of(J: Array, about: str) -> Array:
    """Return the radii of gyration (k, 3), cm, low to high, of mass moments `J` (k, 4, 4).

    They are about each one's "cg", or about the "centre".
    """
    mass = J[:, 3, 3]
    c = J[:, :3, 3] / mass[:, None] if about == "cg" else np.zeros((len(J), 3))
    S = J[:, :3, :3] - mass[:, None, None] * c[:, :, None] * c[:, None, :]
    inertia = np.trace(S, axis1=1, axis2=2)[:, None, None] * _EYE - S
    radii = np.sqrt(np.maximum(np.linalg.eigvalsh(inertia), 0.0) / mass[:, None])
    return frozen(radii)


def _leading(axes: Array) -> Array:
    """Return the component of each axis that fixes its sign: z, or the largest if level."""
    tall, size = axes[2], np.abs(axes)
    if (size[2] > 1e-9).all():
        return np.asarray(tall)
    return np.asarray(np.where(size[2] > 1e-9, tall, axes[size.argmax(axis=0), (0, 1, 2)]))


def first_moment_along(direction: Array) -> Array:
    """Return the derivative (4, 4) in J of the first moment along a direction (3,)."""
    slope = np.zeros((4, 4))
    slope[:3, 3] = slope[3, :3] = direction / 2
    return slope


@dataclass(frozen=True, eq=False)
class MassProperties:
    """Mass, centre of gravity and radii of gyration. `moments` are Σ ρᵢ Jᵢ: g, g cm and g cm²."""

    moments: Moments

    @property
    def mass(self) -> float:
        """The true mass, g (a scale in air reads less by the mass of the displaced air)."""
        return self.moments.volume

    @cached_property
    def cg(self) -> Array:
        """Centre of gravity (3,), cm from the ball's centre."""
        return self.moments.centroid

    @cached_property
    def about_cg(self) -> Principal:
        """Radii of gyration about the centre of gravity."""
        return principal(self.moments.J, self.cg)

    @cached_property
    def about_centre(self) -> Principal:
        """Radii of gyration about the ball's geometric centre."""
        return principal(self.moments.J, np.zeros(3))

    def about(self, point: str) -> Principal:
        """Radii of gyration about "cg" or "centre"."""
        return self.about_cg if point == "cg" else self.about_centre

    @property
    def first_moment(self) -> float:
        """The size of the first moments, g cm."""
        return math.hypot(*self.moments.J[:3, 3])

    @cached_property
    def outward(self) -> Array:
        """Unit vector (3,) from the ball's centre to the CG; toward the pin if that is there."""
        size = self.first_moment
        return frozen(self.moments.J[:3, 3] / size if size > 0.0 else [0.0, 0.0, 1.0])

    @property
    def first_moment_slope(self) -> Array:
        """Derivative (4, 4) of `first_moment` in J."""
        return first_moment_along(self.outward)

    @property
    def cg_offset(self) -> float:
        """Distance of the centre of gravity from the ball's centre, cm."""
        return self.first_moment / self.mass

    @property
    def cg_offset_slope(self) -> Array:
        """Derivative (4, 4) of `cg_offset` in J."""
        return (self.first_moment_slope - self.cg_offset * MASS_SLOPE) / self.mass

    def top_weight(self, arm: float) -> float:
        """Static imbalance with the CG mark up, in g at the balance `arm` (cm): |c|·W/a."""
        return self.first_moment / arm

    def top_weight_along_pin(self, arm: float) -> float:
        """The part of the static imbalance along the pin, g; positive toward the pin."""
        return float(self.moments.J[2, 3]) / arm

    def pin_distance(self, radius: float) -> float:
        """Distance on a ball of `radius` (cm) from the pin to the CG mark, cm; 0 without one."""
        x, y, z = (float(s) for s in self.moments.J[:3, 3])
        return radius * float(np.arctan2(np.hypot(x, y), z)) if (x, y, z) != (0, 0, 0) else 0.0

"""One weight class as a linear map from densities to total moments, and a ball on it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Final

import numpy as np

from geometry.mass_properties import MASS_SLOPE, MassProperties, Principal
from geometry.moments import Moments
from geometry.parts import Part
from geometry.walls.thinnest import Wall
from optimizer.ball.sought import Dimension, Pour
from optimizer.ball.targets import About, Target
from shared.arrays import Array
from shared.units import WEIGHTS

if TYPE_CHECKING:  # a bound has a figure, and a figure measures balls
    from optimizer.ball.bounds import Bound
    from optimizer.ball.figures import Figure, Measured, Subject

NEAR: Final = 0.1
"""Relative difference allowed between the class weight and the number in its label."""


@dataclass(frozen=True, eq=False)
class LinearMap:
    """A weight class: its mould, what may be poured into it, and how its balls are measured.

    `parts` are this weight's own; other weights may have others, so their indices don't carry over.
    `moments` (n, 4, 4) are the regions' own, in the order of `parts` and `pours`. `mass` (g) is the
    class weight, `radius` (cm) the ball's, `arm` (cm) the balance's effective arm. `bounds` are all
    the requirements on its balls.

    If d dimensions of the mould are `free`, `growth` (d, n, 4, 4) is the moments' derivative in
    them, `wall_growth` (walls, d) that of the walls, and `mould` returns the map at other values.
    """

    label: str
    mass: float
    mass_tolerance: float | None
    parts: tuple[Part, ...]
    moments: Array
    walls: tuple[Wall, ...]
    pours: tuple[Pour, ...]
    target: Target
    about: About
    radius: float
    arm: float
    free: tuple[Dimension, ...] = ()
    growth: Array = field(default_factory=lambda: np.zeros((0, 0, 4, 4)))
    wall_growth: Array = field(default_factory=lambda: np.zeros((0, 0)))
    mould: Callable[[LinearMap, Array], LinearMap] | None = None
    bounds: tuple[Bound, ...] = ()

    @property
    def weighed(self) -> bool:
        """Whether the class weight is required; a diagnosis may waive it."""
        return any(bound.figure.key == "weight" and bound.side == "both" for bound in self.bounds)

    @property
    def name(self) -> str:
        """The label with its unit of weight, "16 lb", if it is the class weight in some unit."""
        try:
            figure = float(self.label)
        except ValueError:
            return self.label
        near = (
            u for u, unit in WEIGHTS.items() if abs(figure * unit.size / self.mass - 1.0) < NEAR
        )
        return " ".join((self.label, *near))

    def at(self, dimensions: Array) -> LinearMap:
        """Return the map of the mould with the free dimensions (d,), cm.

        Raises UnbuildableError where no such mould can be.
        """
        return self if self.mould is None else self.mould(self, dimensions)

    def ball(self, densities: Array) -> Ball:
        """Return the ball cast at `densities` (n,), g/cm³."""
        return Ball(self, densities)

    def pull(self, slope: Array) -> Array:
        """Return the gradient (…, n) in the densities of figures with derivatives `slope` in J."""
        return np.asarray(_flat(slope) @ _flat(self.moments).T)

    def target_of(self, figure: Figure) -> Bound:
        """Return the two-sided bound on a figure of the ball; ValueError if there is none."""
        for bound in self.bounds:
            if bound.figure == figure and bound.side == "both":
                return bound
        raise ValueError(f"{self.label}: nothing is asked of its {figure.words}")

    @cached_property
    def places(self) -> dict[Subject, int]:
        """The index of each part in `parts` and `pours`."""
        return {pour.part: i for i, pour in enumerate(self.pours)}

    @cached_property
    def places_of_walls(self) -> dict[Subject, list[int]]:
        """For each pair of parts with a wall, its indices in `walls`."""
        places: dict[Subject, list[int]] = {}
        for j, wall in enumerate(self.walls):
            places.setdefault(wall.between, []).append(j)
        return places

    @cached_property
    def volumes(self) -> Array:
        """Own volume of each region (n,), cm³."""
        return self.moments[:, 3, 3]

    @cached_property
    def aligned(self) -> bool:
        """Whether every region's CG lies on the pin axis and its products of inertia vanish.

        Then x, y and z are principal axes at any densities.
        """
        J = self.moments
        return self._vanish(J[:, 0, 1], J[:, 0, 2], J[:, 1, 2], J[:, 0, 3], J[:, 1, 3])

    @cached_property
    def symmetric(self) -> bool:
        """Whether it is `aligned` and every region has the same moments about x and y."""
        return self.aligned and self._vanish(self.moments[:, 0, 0] - self.moments[:, 1, 1])

    def _vanish(self, *moments: Array) -> bool:
        """Whether moments are zero, to rounding, on the scale of the ball's."""
        ball = float(np.sum(self.volumes)) * self.radius
        return bool(np.max(np.abs(moments)) <= 1e-12 * ball)


def _flat(matrices: Array) -> Array:
    """Return matrices (…, 4, 4) as rows (…, 16)."""
    return matrices.reshape(*matrices.shape[:-2], 16)


@dataclass(frozen=True, eq=False)
class Ball:
    """One ball of a weight class at given densities; its properties are exact.

    Gradients are in the n densities, then the d free dimensions.
    """

    map: LinearMap
    densities: Array

    def pull(self, slope: Array) -> Array:
        """Return the gradient (…, n + d) of figures with derivatives `slope` (…, 4, 4) in J."""
        by_density = self.map.pull(slope)
        if not len(self.map.growth):
            return by_density
        return np.concatenate([by_density, _flat(slope) @ self._growing], axis=-1)

    @cached_property
    def _growing(self) -> Array:
        """The mass moments' derivative (16, d) in the free dimensions."""
        return np.asarray((self.densities @ _flat(self.map.growth)).T)

    def measured(self, figure: Figure, of: Subject) -> Sequence[Measured]:
        """Return a figure's measurements, with their slopes; bounds on both sides need them."""
        key = figure.key, of
        if key not in self._measured:
            self._measured[key] = tuple(figure.measured(self, of))
        return self._measured[key]

    @cached_property
    def _measured(self) -> dict[tuple[str, Subject], Sequence[Measured]]:
        return {}

    def density(self, part: str) -> float | None:
        """Return the density of a part, g/cm³; None where it does not stand in this weight."""
        place = self.map.places.get(part)
        return None if place is None else float(self.densities[place])

    def unit(self, i: int) -> Array:
        """Return the gradient (n + d,) of the i-th density."""
        unit = np.zeros(len(self.densities) + len(self.map.growth))
        unit[i] = 1.0
        return unit

    @cached_property
    def properties(self) -> MassProperties:
        """Its mass properties."""
        J = self.densities @ _flat(self.map.moments)
        return MassProperties(Moments(J.reshape(4, 4)))

    @property
    def radii(self) -> Principal:
        """Radii of gyration about the point that the target names."""
        return self.properties.about(self.map.about)

    def radius_gradient(self, k: int) -> Array:
        """Return the gradient (n + d,) of the k-th radius of gyration (0 low)."""
        radius = float(self.radii.radii[k])
        slope = self.radii.slopes[k] - radius**2 * MASS_SLOPE
        return self.pull(slope) / (2 * radius * self.properties.mass)

    @cached_property
    def off_diagonal_gradient(self) -> Array:
        """The off-diagonal gradient (n + d,) between the high and the intermediate axis.

        Across the low axis, (h² − i²) m is the norm of the vector (I₁₁ − I₂₂, 2 I₁₂): this is the
        gradient of the second component, in units of h − i.
        """
        apart = self.radii.product_slope(1, 2) * 2.0
        return self.pull(apart) / (self.properties.mass * float(np.sum(self.radii.radii[1:])))

    @cached_property
    def rg_difference_rate(self) -> Array:
        """A bound (n,) on how fast each density can change a difference of two RGs, cm per g/cm³.

        It holds however the axes turn: the difference of two eigenvalues of I + δ Iᵢ changes by at
        most δ times the spread of Iᵢ's own eigenvalues (Weyl). Near a double RG a gradient doesn't.
        """
        c = self.properties.cg if self.map.about == "cg" else np.zeros(3)
        K = np.vstack([np.eye(3), -c])
        own = np.linalg.eigvalsh(K.T @ self.map.moments @ K)
        spread = own[:, 2] - own[:, 0]
        return np.asarray(spread / (2 * self.radii.low * self.properties.mass))

    @property
    def top_weight(self) -> float:
        """Static imbalance at the map's balance arm, g."""
        return self.properties.top_weight(self.map.arm)

    @property
    def pin_distance(self) -> float:
        """From the pin to the CG mark along the surface, cm."""
        return self.properties.pin_distance(self.map.radius)

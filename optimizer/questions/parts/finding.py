"""What the parts make of a ball: their shares of weight, RG² and differential, which add up.

A part is its region: its own material, without the parts inside it. A principal inertia of the
ball is ⟨K (E − u uᵀ) Kᵀ, Σ ρᵢ Jᵢ⟩ about one point and one axis u for all parts (`Principal`), so
each region's term of that sum is its share, whatever lies around it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from optimizer.ball.figures import Figure
from optimizer.ball.weight_class import Ball
from optimizer.lineup.result import LineupResult
from shared.arrays import Array
from shared.tolerances import AXIS_GAP

MORE: Final = 0.01
"""g/cm³ by which a part is made denser."""


@dataclass(frozen=True, eq=False)
class Made:
    """What the n parts of a ball add up to, in the order of `ball.map.parts`.

    Moments are about the point that the target names: the ball's CG, or its geometric centre, and
    about the principal axes there.
    """

    ball: Ball

    @property
    def masses(self) -> Array:
        """The mass of each part (n,), g."""
        return self.ball.map.volumes * self.ball.densities

    @cached_property
    def squares(self) -> Array:
        """Of RG² (3, n), low to high: each part's moment of inertia ÷ the ball's mass, cm²."""
        inertia = self.ball.map.pull(self.ball.radii.slopes) * self.ball.densities
        return np.asarray(inertia / self.ball.properties.mass)

    @property
    def mass_shares(self) -> Array:
        """The share of each part (n,) in the mass."""
        return np.asarray(self.masses / self.ball.properties.mass)

    @property
    def square_shares(self) -> Array:
        """The share of each part (3, n) in the square of low, intermediate and high RG."""
        return np.asarray(self.squares / self.ball.radii.radii[:, None] ** 2)

    def differential(self, k: int = 0) -> Array:
        """Return what each part (n,) adds to the differential; for k = 1 the intermediate one, cm.

        That is (I_high − I_k) ÷ m (RG_high + RG_k), the ball's mass and RGs. It is
        negative for a part that lies farther from the low-RG axis than from the high-RG axis.
        """
        radii = self.ball.radii.radii
        return np.asarray((self.squares[2] - self.squares[k]) / (radii[2] + radii[k]))

    def moves(self, figure: Figure) -> Array:
        """Return by how much (n,) MORE of each part moves a figure, all else unchanged.

        Measured on the changed ball: its weight is larger, and its CG and axes are where they are.
        """
        step = MORE * np.eye(len(self.ball.densities))
        denser = map(self.ball.map.ball, self.ball.densities + step)
        return np.array([figure.value(ball) for ball in denser]) - figure.value(self.ball)

    @property
    def axes_stand(self) -> bool:
        """Whether the axes are those of the ball, and not of a hair's breadth between two RGs.

        If a core is the same about x and y, it doesn't matter which of the level axes is taken.
        """
        radii = self.ball.radii
        if self.ball.map.symmetric:
            return radii.differential > AXIS_GAP
        return radii.axis(0) is not None and radii.axis(2) is not None


def made(result: LineupResult) -> dict[str, Made]:
    """Return what the parts make of each weight's ball, by label."""
    return {weight.label: Made(weight.ball) for weight in result.weights}


def ends(every: Mapping[str, Made]) -> tuple[Made, Made] | None:
    """Return the heaviest and the lightest ball of a line; None if it has only one weight."""
    by_mass = sorted(every.values(), key=lambda each: -each.ball.properties.mass)
    return (by_mass[0], by_mass[-1]) if len(by_mass) > 1 else None

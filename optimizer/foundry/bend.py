"""How far the program's rows can be from the figures of a ball: what makes its bound a proof.

Rows of RGs are tangents. Where all parts sit on the pin axis, their error is known in closed form.
With inertia I′ = f′² m′ linear in the densities, a row made at a ball of mass m and RG f promises
another ball the change

    p = (I′ − f² m′) / 2fm = Δf (1 + Δf/2f) (1 + Δm/m)

About the CG, at c along the pin, I′ lacks m′ c′², of which a tangent leaves m′ Δc²: p is greater by
m′ Δc² / 2fm for an axis across the pin. So p − Δf is of second order in what a ball is off the
target, not in how far its densities are.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from optimizer.linear.maps import Ball
from optimizer.linear.rows import Margin
from optimizer.lineup.result import WeightResult
from shared.arrays import Array
from shared.tolerances import ARITHMETIC


@dataclass(frozen=True, eq=False)
class Bend:
    """The rows made at a ball, for others that miss no target by more than `off` tolerances.

    `reach` (n,) is how far each of their densities may be from the ball's, g/cm³.
    """

    at: WeightResult
    reach: Array
    off: float

    @cached_property
    def tolerances(self) -> float:
        """How wrong the rows may be about a target, in its tolerances; inf where that isn't known.

        It isn't off the pin axis, and where the axes or the CG could change sides within reach, or
        a limit that is no plane could be in the way.
        """
        if not (self._sides_kept and all(map(self._plane, self.at.margins))):
            return np.inf
        wrong = self._wrong
        return max(wrong[d.figure] / d.tolerance for d in self.at.deviations if d.tolerance)

    @property
    def _ball(self) -> Ball:
        return self.at.ball

    @cached_property
    def _moved(self) -> dict[str, float]:
        """How far each figure of the target may be from the ball's: g, cm."""
        return {d.figure: self.off * (d.tolerance or 0.0) + abs(d.off) for d in self.at.deviations}

    @cached_property
    def _heavier(self) -> float:
        """Δm/m at the most."""
        return self._moved["weight"] / self._ball.properties.mass

    @cached_property
    def _cg_moved(self) -> float:
        """Δc along the pin at the most, cm; 0 where RGs are about the centre."""
        if self._ball.map.about == "centre":
            return 0.0
        c, J = float(self._ball.properties.cg[2]), self._ball.map.moments
        turned = self._within(J[:, 2, 3] - c * J[:, 3, 3])
        return turned / (self._ball.properties.mass * (1.0 - self._heavier))

    @cached_property
    def _wrong(self) -> dict[str, float]:
        """|p − Δf| of each figure of the target at the most, in its own unit.

        Of a differential h − l it is |Δ(h − l)| |Δm|/m + (1 + Δm/m) |Δh²/2h − Δl²/2l|.
        """
        radii, moved, m = self._ball.radii, self._moved, self._heavier
        shift = (1.0 + m) * self._cg_moved**2 / (2.0 * radii.low)
        low = moved["rg"]
        wrong = {"weight": 0.0, "rg": low * m + (1.0 + m) * low**2 / (2 * radii.low) + shift}
        high, h = low + moved["differential"], radii.high
        for figure, f, start in (
            ("differential", radii.low, low),
            ("intermediate differential", radii.intermediate, None),
        ):
            if figure in moved:
                by = moved[figure]
                other = high + by if start is None else start
                square = by * (high + other) / (2 * h) + other**2 * (h - f) / (2 * h * f)
                wrong[figure] = by * m + (1.0 + m) * square + shift
        return wrong

    @cached_property
    def _sides_kept(self) -> bool:
        """Whether every ball within reach has its axes in the same order, along x, y and z."""
        ball, radii = self._ball, self._ball.radii
        if not ball.map.aligned:
            return False
        lost = ball.properties.mass * (1.0 + self._heavier) * self._cg_moved**2
        across = np.abs(radii.axes[2]) < 0.5
        for k in (0, 1):
            if ball.map.symmetric and across[k] and across[k + 1]:
                continue
            between = radii.slopes[k + 1] - radii.slopes[k]
            apart = float(np.sum(between * ball.properties.moments.J))
            if apart - lost <= self._within(ball.map.pull(between)):
                return False
        return True

    @cached_property
    def _pin_side_kept(self) -> bool:
        """Whether the CG stays on its side of the centre within reach."""
        turned = self._within(self._ball.map.moments[:, 2, 3])
        return turned <= max(abs(float(self._ball.properties.moments.J[2, 3])), ARITHMETIC)

    def _plane(self, margin: Margin) -> bool:
        """Whether a limit's row is all that the limit says of the balls within reach."""
        if not margin.movable or margin.rule_only or margin.quantity == "density":
            return True
        if margin.quantity == "rg":
            return margin.slack >= self._within(margin.gradient)
        return self._pin_side_kept

    def _within(self, gradient: Array | None) -> float:
        """By how much a figure with this gradient (n,) moves within reach."""
        return 0.0 if gradient is None else float(np.abs(gradient) @ self.reach)

"""A bound on the error of the program's rows, which makes its result a proof.

A row is made at a ball of mass m, CG c, principal inertias f² m about axes u. For another ball
(marked ′) it has the diagonal a of the inertia about the same point, in the same axes, which is
linear in the densities, and predicts a change of RG p = (a′ − f² m′) / 2fm. The true inertia is

    f′² m′ = a′ − s + θ

where s is due to the shift of the CG, 0 ≤ s ≤ m′|Δc|², and θ to the rotation of the axes: at most 0
for the low RG, at least 0 for the high one, both bounded by the products of inertia e that appear
(eigenvalues of a 2×2 matrix that bounds the 3×3 one by its blocks). The three θ sum to 0. So

    p = Δf (1 + Δf/2f) (1 + Δm/m) + (s − θ) / 2fm

and p − Δf is of second order. For the CG offset c = |F| ÷ m with the first moments F, u along them,

    p = Δc (1 + Δm/m) − κ/m

where κ = |F′| − u·F′, which falls with u·F′ and grows with what appears across u.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from optimizer.ball.bounds import Margin
from optimizer.ball.figures import (
    CG_OFFSET,
    DIFFERENTIAL,
    INTERMEDIATE_DIFFERENTIAL,
    LOW_RG,
    WEIGHT,
    Figure,
)
from optimizer.ball.weight_class import Ball
from optimizer.lineup.result import WeightResult
from shared.arrays import Array
from shared.tolerances import ARITHMETIC


@dataclass(frozen=True, eq=False)
class Bend:
    """The rows made at a ball, applied to balls that miss no target by more than `off` tolerances.

    `reach` (n,) is how far each of their densities may be from the ball's, g/cm³.
    """

    at: WeightResult
    reach: Array
    off: float

    @cached_property
    def tolerances(self) -> float:
        """A bound on the rows' error for any target, in its tolerances; inf where there is none.

        There is none where all three RGs are too close for the reach, where a limit whose row is
        only a tangent could bind, and where the mass is not bounded.
        """
        if self._heavier >= 1.0 or not all(map(self._plane, self.at.margins)):
            return np.inf
        wrong = self._wrong
        return max(wrong[d.figure] / d.tolerance for d in self.at.deviations if d.tolerance)

    @property
    def _ball(self) -> Ball:
        return self.at.ball

    @cached_property
    def _moved(self) -> dict[Figure, float]:
        """The largest change of each figure of the target from the ball's: g, cm."""
        return {d.figure: self.off * (d.tolerance or 0.0) + abs(d.off) for d in self.at.deviations}

    @cached_property
    def _heavier(self) -> float:
        """The largest Δm/m."""
        return self._moved[WEIGHT] / self._ball.properties.mass

    @cached_property
    def _wrong(self) -> dict[Figure, float]:
        """The largest |p − Δf| of each figure of the target, in its own unit.

        For a differential h − l it is |Δ(h − l)| |Δm|/m + (1 + Δm/m) |Δh²/2h − Δl²/2l|, plus the
        contributions of s and θ.
        """
        radii, moved, m = self._ball.radii, self._moved, self._heavier
        below, above = self._turned
        per_inertia = 1.0 / (2.0 * radii.low * self._ball.properties.mass)
        low = moved[LOW_RG]
        high, h = low + moved[DIFFERENTIAL], radii.high
        square = low**2 / (2.0 * radii.low)
        added = per_inertia * (self._lost + below)
        wrong = {WEIGHT: 0.0, LOW_RG: low * m + (1.0 + m) * square + added}
        wrong[CG_OFFSET] = moved.get(CG_OFFSET, 0.0) * m + self._across / self._ball.properties.mass
        middle = high + moved.get(INTERMEDIATE_DIFFERENTIAL, 0.0)
        for figure, f, start, turned in (
            (DIFFERENTIAL, radii.low, low, below + above),
            (INTERMEDIATE_DIFFERENTIAL, radii.intermediate, middle, below + 2.0 * above),
        ):
            by = moved.get(figure, 0.0)
            square = by * (high + start) / (2.0 * h) + start**2 * (h - f) / (2.0 * h * f)
            added = per_inertia * (self._lost + turned)
            wrong[figure] = by * m + (1.0 + m) * square + added
        return wrong

    @cached_property
    def _across(self) -> float:
        """The largest κ, g cm."""
        first, u = self._ball.map.moments[:, :3, 3], self._ball.properties.outward
        along = self._ball.properties.first_moment - self._within(first @ u)
        across = self._within(np.linalg.norm(first - np.outer(first @ u, u), axis=1))
        return float(np.hypot(along, across)) - along

    @cached_property
    def _cg_moved(self) -> Array:
        """The largest Δc along each principal axis (3,), cm; 0 where RGs are about the centre."""
        if self._ball.map.about == "centre":
            return np.zeros(3)
        J, radii = self._ball.map.moments, self._ball.radii
        first = (J[:, :3, 3] - np.outer(J[:, 3, 3], radii.point)) @ radii.axes
        least = self._ball.properties.mass * (1.0 - self._heavier)
        return np.array([self._within(along) / least for along in first.T])

    @cached_property
    def _lost(self) -> float:
        """The most that a shift of the CG takes off an inertia, g cm²."""
        mass = self._ball.properties.mass * (1.0 + self._heavier)
        return mass * float(self._cg_moved @ self._cg_moved)

    @cached_property
    def _turned(self) -> tuple[float, float]:
        """The largest −θ of the low RG and θ of the high one, g cm²."""
        return self._extreme((0, 1, 2)), self._extreme((2, 1, 0))

    def _extreme(self, order: Sequence[int]) -> float:
        """Return the largest |θ| of the first axis, an extreme one; inf where there is no bound.

        Either its inertia is apart from both others', or it and the next one's from the last's.
        """
        first, near, far = order
        pairs = (first, near), (first, far), (near, far)
        e, e_far, e_others = (self._product(*pair) for pair in pairs)
        apart, apart_far = self._apart(first, near), self._apart(first, far)
        bounds = [np.inf]
        if (gap := min(apart, apart_far) - e_others) > 0.0:
            bounds.append((e**2 + e_far**2) / gap)
        if apart_far > 0.0:
            bounds.append(max(-apart, 0.0) + e + (e_far**2 + e_others**2) / apart_far)
        return min(bounds)

    def _product(self, i: int, j: int) -> float:
        """Return the largest product of inertia of axes i and j, g cm²."""
        radii, c = self._ball.radii, self._cg_moved
        K = np.vstack([np.eye(3), -radii.point]) @ radii.axes
        product = np.outer(K[:, i], K[:, j])
        mass = self._ball.properties.mass * (1.0 + self._heavier)
        linear = self._within(self._ball.map.pull((product + product.T) / 2.0))
        return linear + mass * float(c[i] * c[j])

    def _apart(self, i: int, j: int) -> float:
        """Return the smallest difference of the inertias of axes i and j, g cm²."""
        ball, slopes = self._ball, self._ball.radii.slopes
        between = slopes[max(i, j)] - slopes[min(i, j)]
        here = float(np.sum(between * ball.properties.moments.J))
        return here - self._within(ball.map.pull(between)) - self._lost

    def _plane(self, margin: Margin) -> bool:
        """Whether a limit's row is no stricter than the limit within reach."""
        if not margin.movable or margin.rule_only or margin.quantity == "density":
            return True
        if margin.quantity == "imbalance" and self._ball.map.aligned and self._pin_side_kept:
            return True
        beside = margin.beside is None or margin.edge >= self._within(margin.beside)
        return beside and margin.slack >= self._within(margin.gradient)

    @cached_property
    def _pin_side_kept(self) -> bool:
        """Whether the CG's distance along the pin keeps its sign within reach."""
        turned = self._within(self._ball.map.moments[:, 2, 3])
        return turned <= max(abs(float(self._ball.properties.moments.J[2, 3])), ARITHMETIC)

    def _within(self, gradient: Array | None) -> float:
        """Return the largest change of a figure with this gradient (n,) within reach."""
        return 0.0 if gradient is None else float(np.abs(gradient) @ self.reach)

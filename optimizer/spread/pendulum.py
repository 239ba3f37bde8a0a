"""A torsion pendulum: moments of inertia from periods.

A table on a wire of torsional stiffness k swings with the period T = 2π √((I + I₀) ÷ k), where I₀
is the empty table's inertia and I that of what lies on it, about the wire (from memory; damping and
the air are left out). Units are the user's, one system of them: k in g cm² ÷ s² gives g cm².
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import numpy as np

from shared.arrays import Array

CIRCLE = 4.0 * pi**2


@dataclass(frozen=True)
class TorsionPendulum:
    """A pendulum of `stiffness` k, whose `empty` table has the inertia I₀; both more than 0."""

    stiffness: float
    empty: float

    @classmethod
    def calibrated(cls, inertia: float, period: float, empty_period: float) -> TorsionPendulum:
        """Return the pendulum that swings so with a known `inertia`, and empty.

        Raises ValueError unless the inertia slows it.
        """
        if not (inertia > 0.0 and period > empty_period > 0.0):
            raise ValueError("a known inertia makes the period longer than that of the empty table")
        stiffness = CIRCLE * inertia / (period**2 - empty_period**2)
        return cls(stiffness, stiffness * empty_period**2 / CIRCLE)

    def inertia(self, period: float) -> float:
        """Return the inertia of what swings with this period.

        Raises ValueError for a period no longer than the empty table's.
        """
        inertia = self.stiffness * period**2 / CIRCLE - self.empty
        if not (period > 0.0 and inertia > 0.0):
            raise ValueError("a period that is no longer than that of the empty table")
        return inertia

    def inertia_slope(self, period: float) -> float:
        """Return the derivative of the inertia in the period."""
        return 2.0 * self.stiffness * period / CIRCLE

    def periods(self, inertias: Array) -> Array:
        """Return the periods with these inertias on the table."""
        return np.asarray(2.0 * pi * np.sqrt((inertias + self.empty) / self.stiffness))

    def period_slopes(self, inertias: Array) -> Array:
        """Return the derivatives of the periods in the inertias."""
        return np.asarray(CIRCLE / (2.0 * self.stiffness * self.periods(inertias)))

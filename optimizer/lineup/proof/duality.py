"""Weak duality: what rows, times multipliers, say of every point between bounds."""

from __future__ import annotations

import numpy as np

from optimizer.lineup.engine.linear_solver import Rows
from shared.arrays import Array


def multipliers(rows: Rows, duals: Array) -> Array:
    """Return duals (r,) without those for an end that a row doesn't have."""
    ends = np.where(duals > 0.0, rows.lower, rows.upper)
    return np.where(np.isfinite(ends), duals, 0.0)


def asked_beyond(rows: Rows, y: Array, lower: Array, upper: Array) -> float:
    """Return by how much the rows, times `y` (r,), ask more than any point of the columns has.

    By weak duality it holds for any multipliers, so it doesn't depend on the tolerances of the
    solver that found them. If none exceeds 1, the violations of the rows add up to no less.
    """
    ends = np.where(y > 0.0, rows.lower, rows.upper)
    slope = y @ rows.matrix
    return float(
        y @ np.where(y == 0.0, 0.0, ends) - np.sum(np.maximum(slope * lower, slope * upper))
    )

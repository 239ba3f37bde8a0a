"""Roots of many polynomials at once, between −1 and 1."""

from __future__ import annotations

from typing import Final

import numpy as np

from shared.arrays import Array, Index, Mask

STEPS: Final = 60
"""So many steps are made toward a root at most; Newton's method takes some six."""
FINE: Final = 1e-9
"""A step shorter than this is the last: the next would have twice as many digits."""


def sign_changes(c: Array) -> tuple[Index, Array]:
    """Return where polynomials change sign between −1 and 1: which of them (k,), and where (k,).

    `c` (n, d + 1) are their coefficients, that of 1 first. Between two neighbouring roots of its
    derivative a polynomial changes sign once at most; so each derivative's roots, from the last
    one up, say where to look for those of the one before. A root without a change of sign is none.
    """
    count, degree = len(c), c.shape[1] - 1
    knots = np.tile([-1.0, 1.0], (count, 1))
    which, at = np.empty(0, dtype=np.intp), np.empty(0)
    for order in range(degree - 1, -1, -1):
        q = _derivative(c, order)
        above = _values(q[:, None], knots) >= 0
        which, k = np.nonzero(above[:, 1:] != above[:, :-1])
        if q.shape[1] == 2:
            at = -q[which, 0] / q[which, 1]
        else:
            at = _between(q[which], knots[which, k], knots[which, k + 1], above[which, k])
        inner = knots[:, 1:].copy()  # where there is no root, an end of its interval does no harm
        inner[which, k] = at
        knots = np.column_stack([knots[:, :1], inner, np.ones(count)])
    return which, at


def _derivative(c: Array, order: int) -> Array:
    """Return the coefficients of the derivative of that order."""
    for _ in range(order):
        c = c[:, 1:] * np.arange(1, c.shape[1])
    return c


def _values(c: Array, x: Array) -> Array:
    """Return the values at `x` of polynomials, coefficients along the last axis of `c`."""
    value = c[..., -1] + 0 * x
    for k in range(c.shape[-1] - 2, -1, -1):
        value = value * x + c[..., k]
    return value


def _between(c: Array, low: Array, high: Array, above: Mask) -> Array:
    """Return the roots (n,) between `low` and `high`, `above` 0 at `low` or below.

    Newton's method, and the middle of what is left where that would lead out of it.
    """
    slope = _derivative(c, 1)
    x = (low + high) / 2
    live = np.arange(len(x))
    for _ in range(STEPS):
        now = x[live]
        value = _values(c[live], now)
        same = (value >= 0) == above[live]
        low[live], high[live] = np.where(same, now, low[live]), np.where(same, high[live], now)
        steep = _values(slope[live], now)
        step = value / np.where(steep == 0, np.inf, steep)
        there = now - step
        lost = ~((there > low[live]) & (there < high[live])) | (steep == 0)
        middle = (low[live] + high[live]) / 2
        x[live] = np.where(lost, middle, there)
        live = live[np.abs(x[live] - now) > FINE]
        if not len(live):
            break
    return x

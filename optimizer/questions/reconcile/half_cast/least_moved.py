"""The pours nearest to the schedule that bring a ball to its target."""

from __future__ import annotations

from typing import Final

import numpy as np

from optimizer.ball.weight_class import Ball, LinearMap
from optimizer.lineup.margins import deviations, margins
from shared.arrays import Array

SURE: Final = 1e4
"""What a figure that is off by its tolerance costs more than a move of a standard deviation; its
square is what counts."""
SMALL: Final = 1e-3
"""Of the class weight, of an RG or in cm: what is off where no tolerance is declared."""


def least_moved(linear_map: LinearMap, aimed: Array, sd: Array, figures: Array) -> Ball:
    """Return the ball nearest to the target, its limits kept; of those, the nearest to `aimed`.

    `aimed` (n,) are densities, moves of which are in units of `sd` (n,); `figures` are the
    target's. Least squares: what is off, in tolerances, costs SURE² times as much as a move.
    """
    from scipy.optimize import least_squares  # noqa: PLC0415 - heavy: only where it is asked

    low, high = (np.array([getattr(p, end) for p in linear_map.pours]) for end in ("low", "high"))
    free = low < high
    at = np.clip(aimed, low, high)
    if not free.any():
        return linear_map.ball(at)

    def ball_of(moves: Array) -> Ball:
        densities = at.copy()
        densities[free] = aimed[free] + moves * sd[free]
        return linear_map.ball(densities)

    def missed(moves: Array) -> Array:
        return np.concatenate([SURE * _missed(ball_of(moves), figures)[0], moves])

    def slopes(moves: Array) -> Array:
        by_density = _missed(ball_of(moves), figures)[1]
        return np.vstack([SURE * by_density[:, free] * sd[free], np.eye(len(moves))])

    least, most = ((end[free] - aimed[free]) / sd[free] for end in (low, high))
    found = least_squares(
        missed,
        np.clip(np.zeros(len(least)), least, most),
        slopes,
        bounds=(least, most),
        method="dogbox",
        xtol=1e-12,
        ftol=1e-15,
        gtol=1e-12,
    )
    return ball_of(found.x)


def _missed(ball: Ball, figures: Array) -> tuple[Array, Array]:
    """Return what a ball misses its target's figures by and breaks its limits by (r,), and slopes.

    In tolerances; a limit that is kept is missed by 0, with slopes (r, n) of 0.
    """
    values, slopes = list[float](), list[Array]()
    for off in deviations(ball, figures):
        unit = off.tolerance or SMALL * max(off.asked, 1.0)
        values.append(off.off / unit)
        slopes.append(off.gradient / unit)
    for margin in margins(ball):
        if margin.gradient is not None and not margin.rule_only:
            unit = margin.tolerance or SMALL * max(abs(margin.edge), 1.0)
            broken = margin.slack < 0.0
            values.append(margin.slack / unit if broken else 0.0)
            slopes.append(margin.gradient / unit * broken)
    return np.array(values), np.array(slopes)

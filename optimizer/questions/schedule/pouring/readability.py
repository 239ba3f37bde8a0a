"""How coarse a scale may be, with the errors of all components at their worst together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import takewhile

import numpy as np

from optimizer.ball.figures import WEIGHT
from optimizer.lineup.margins import Deviation, deviations
from optimizer.lineup.result import WeightResult
from shared.arrays import Array

SERIES = (5, 2, 1)
"""The readabilities of scales in each decade, coarsest first."""
FINEST = 1e-4
"""g: the readability of an analytical balance (from memory); nothing finer is advised."""


def coarsest_readability(weight: WeightResult, by_gram: Array) -> float | None:
    """Return the coarsest readability r (g), of 1, 2, 5 · 10ᵏ, that holds every target of a ball.

    Each of the c weighed components may be off by r/2 either way, all at once: even then no figure
    is further from its target than the tolerance, its present deviation included. `by_gram` (n, c)
    is the derivative of each pour's density in the mass of each component, g/cm³ per g; 0 for
    components of other pours. The worst case follows from the gradients at the ball, and is then
    measured exactly.

    None where no scale is fine enough; inf where no target depends on what is weighed.
    """
    figures = [deviation for deviation in weight.deviations if deviation.tolerance is not None]
    off = np.array([each.tolerances for each in figures])
    slopes = [each.gradient[: len(by_gram)] / (each.tolerance or 1.0) for each in figures]
    by_component = np.array(slopes) @ by_gram
    most = greatest_readability(off, by_component)
    if np.isinf(most):
        return most
    signs = np.sign(by_component) * np.where(off < 0.0, -1.0, 1.0)[:, None]
    return next(
        (r for r in readabilities(most) if _holds(weight, figures, by_gram, signs * r / 2)), None
    )


def greatest_readability(off: Array, by_component: Array) -> float:
    """Return the greatest r (g) for which |off| + r/2 Σ|by_component| ≤ 1 in every figure.

    `off` (f,) is each figure's deviation from its target, `by_component` (f, c) its change by a
    gram of each component, both in tolerances. 0 where a figure is already out of tolerance, inf
    where no component changes any.

    >>> greatest_readability(np.array([0.5, -0.2]), np.array([[0.1, -0.4], [0.0, 0.2]]))
    2.0
    """
    room, moved = np.maximum(1.0 - np.abs(off), 0.0), np.sum(np.abs(by_component), axis=1) / 2
    most = np.divide(room, moved, out=np.full(len(off), np.inf), where=moved > 0.0)
    return float(np.min(np.where(room > 0.0, most, 0.0), initial=np.inf))


def readabilities(most: float) -> Iterator[float]:
    """Yield the readabilities of the series from `most` down to FINEST, g.

    >>> list(readabilities(0.003))
    [0.002, 0.001, 0.0005, 0.0002, 0.0001]
    """
    if most < FINEST:
        return
    decade = int(np.ceil(np.log10(most)))
    series = (float(f"{digit}e{k}") for k in range(decade, -99, -1) for digit in SERIES)
    yield from takewhile(lambda r: r >= FINEST, (r for r in series if r <= most))


def _holds(
    weight: WeightResult, figures: Sequence[Deviation], by_gram: Array, errors: Array
) -> bool:
    """Whether each figure, measured exactly, is held at its worst errors (f, c), g."""
    ball = weight.ball
    asked = np.array([each.asked for each in weight.deviations if each.figure != WEIGHT])
    for deviation, worst in zip(figures, errors, strict=True):
        moved = deviations(ball.map.ball(ball.densities + by_gram @ worst), asked)
        off = next(each.tolerances for each in moved if each.figure == deviation.figure)
        if off is None or abs(off) > 1.0:
            return False
    return True

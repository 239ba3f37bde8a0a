"""The worst case: the ends of each figure with every input as far off as it may be."""

from __future__ import annotations

import numpy as np

from geometry.many_balls import ManyBalls, rows_of
from optimizer.scatter.model import FIGURES, Model
from optimizer.scenario.drawn import region_moments
from shared.arrays import Array
from shared.errors import UnbuildableError

TRIED = 8
"""Balls that are built exactly."""


def worst(model: Model) -> dict[str, tuple[float, float]] | None:
    """Return each figure's ends at the worst of all inputs together, each ball re-measured.

    From where the slopes point, or from the nominal ball if that is worse, one input after another
    goes to where the figure is worst: to one of its ends, or to its nominal value. None where an
    input has no end.
    """
    most = np.array([input_.law.most for input_ in model.inputs])
    if not np.all(np.isfinite(most)):
        return None
    ends = {}
    for name in FIGURES:
        start = np.where(model.slopes[name] < 0.0, -1.0, 1.0)
        low, high = (_climbed(model, name, sign, sign * start) for sign in (-1.0, 1.0))
        ends[name] = low, high
    return ends


def _climbed(model: Model, name: str, sign: float, at: Array) -> float:
    """Return the value of a figure that no single input can raise (`sign` 1) or lower (-1).

    The search starts at `at` (d,), of the most that each input may be off, or at the nominal ball.
    """
    most = np.array([input_.law.most for input_ in model.inputs])
    every, best = np.array([at, np.zeros(len(at))]), -np.inf
    while True:
        deviations = np.zeros((len(every), max(model.columns, default=-1) + 1))
        deviations[:, list(model.columns)] = every * most
        values = sign * model.figures(deviations, model.balls(deviations))[name]
        if not np.nanmax(values, initial=-np.inf) > best:
            return sign * best if np.isfinite(best) else np.nan
        best, at = float(np.nanmax(values)), every[np.nanargmax(values)]
        every = np.repeat(at[None], 3 * len(at), axis=0)
        for k in range(len(at)):
            every[3 * k : 3 * k + 3, k] = (-1.0, 0.0, 1.0)


def missed(model: Model, deviations: Array) -> dict[str, float]:
    """Return how far balls built exactly, at the first of `deviations`, are from the model.

    NaN where none of them can be built.
    """
    rows, some = [], []
    for row in deviations[:TRIED]:
        try:
            parts = model.parts([(input_, float(row[c])) for c, input_ in model.placed])
        except UnbuildableError:
            continue
        some.append(row)
        rows.append(model.densities(row[None])[0] @ rows_of(region_moments(parts)))
    if not rows:
        return dict.fromkeys(FIGURES, np.nan)
    at = np.array(some)
    told = model.figures(at, model.balls(at))
    exact = model.figures(at, ManyBalls(np.array(rows), model.ball.map.about))
    return {
        name: float(np.nanmax(np.abs(told[name] - exact[name]), initial=0.0)) for name in FIGURES
    }

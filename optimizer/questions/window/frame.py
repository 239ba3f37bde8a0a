"""The plane of low RG and differential: what a plot of windows shows of it."""

from __future__ import annotations

from typing import Final

import numpy as np

from optimizer.ball.figures import DIFFERENTIAL, LOW_RG
from optimizer.paper.pictures.ticks import Frame, Span, ticks, wider
from optimizer.paper.quantities import Units
from optimizer.questions.window.window import Window
from shared.arrays import Array, frozen

NONE: Final = frozen(np.zeros((0, 2)))


def target_box(window: Window) -> tuple[Span, Span] | None:
    """Return the target with its tolerances, low RG and differential, cm; None without one."""
    target = window.scenario.target
    if not target:
        return None
    rg, d = target[LOW_RG], target[DIFFERENTIAL]
    a, b = rg.tolerance or 0.0, d.tolerance or 0.0
    return (rg.low - a, rg.high + a), (d.low - b, d.high + b)


def frame_of(window: Window, balls: Array = NONE) -> Frame:
    """Return the frame that shows every window, the target, and `balls` (n, 2), cm."""
    reaches = [*(weight.alone for weight in window.weights), window.common]
    outlines = [balls, *(band.outline for reach in reaches for band in reach.bands)]
    if (box := target_box(window)) is not None:
        outlines.append(np.array(box).T)
    points, factor = np.vstack(outlines), Units.of(window.scenario).rg.factor
    (a, c), (b, d) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    rg, (low, high) = wider((a, b), 0.01 * factor), wider((max(c, 0.0), d), 0.01 * factor)
    differential = (max(low, 0.0), high)
    return Frame(rg, differential, ticks(rg, factor), ticks(differential, factor))

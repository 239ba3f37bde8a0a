"""Random balls of a weight class that keep every limit.

A search starts from the farthest of them, and none may lie outside what it has found.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from optimizer.ball.bounds import Bound
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.engine.search import SEED
from optimizer.questions.window.exact.bands import Band
from optimizer.questions.window.exact.halfspaces import corners_of
from optimizer.questions.window.reach import figures_held
from shared.arrays import Array, frozen
from shared.tolerances import ARITHMETIC, AXIS_GAP

THROWN = 600
"""Balls thrown; about 0.2 s."""
MIXED = 3
"""Corners of the densities' ranges that each is mixed from: edges and faces matter most."""
AXIS = 0.5
"""Cosine above which a principal axis is the pin axis, for a core aligned with x, y and z."""


@dataclass(frozen=True, eq=False)
class ThrownBalls:
    """Densities (k, n) of balls of the class weight within all limits, and their figures (k, 3).

    The figures are low RG, differential and the gap between intermediate and low RG, cm. `partial`
    are the bounds on figures that only some balls have.
    """

    densities: Array
    figures: Array
    partial: frozenset[Bound]

    def apart(self, sign: float) -> ThrownBalls:
        """Return those whose two lowest RGs are AXIS_GAP apart (1), or nearer (-1)."""
        kept = sign * (self.figures[:, 2] - AXIS_GAP) > 0.0
        return ThrownBalls(frozen(self.densities[kept]), frozen(self.figures[kept]), self.partial)

    def outermost(self, sign: float) -> Array:
        """Return the densities (0 or 1, n) with the greatest (1) or the least (-1) low RG."""
        return self.densities[np.argsort(-sign * self.figures[:, 0])[:1]]

    def near(self, rg: float, reach: float, sign: float) -> Array:
        """Return the densities (0 or 1, n) with the greatest or least differential near `rg`."""
        here = np.flatnonzero(np.abs(self.figures[:, 0] - rg) <= reach)
        return self.densities[here[np.argsort(-sign * self.figures[here, 1])[:1]]]

    def farthest(self, band: Band) -> tuple[float, float, Array]:
        """Return how far outside a band the farthest ball is, cm in either figure, and that ball.

        It is given by its low RG and densities (1, n); 0 and no densities (0, n) if all are inside.
        """
        rg, differential, _ = self.figures.T
        low, high = (np.interp(rg, band.rg, line.value) for line in (band.low, band.high))
        off = np.maximum(low - differential, differential - high)
        off = np.maximum(off, np.maximum(band.rg[0] - rg, rg - band.rg[-1]))
        k = int(np.argmax(off)) if len(off) else 0
        if not len(off) or off[k] <= 0.0:
            return 0.0, 0.0, self.densities[:0]
        return float(off[k]), float(rg[k]), self.densities[[k]]


def thrown_balls(maps: Sequence[LinearMap], pin: int) -> ThrownBalls:
    """Return random balls of one `opened` weight class; of several, none but what is `partial`.

    With all parts on the pin axis, a ball counts where that axis has the `pin`-th RG (0 low). There
    are none where the densities' ranges have too many corners.
    """
    balls, *more = (_balls(linear_map, pin) for linear_map in maps)
    if not more:
        return balls
    partial = balls.partial.union(*(others.partial for others in more))
    return replace(balls, densities=balls.densities[:0], figures=balls.figures[:0], partial=partial)


def _balls(linear_map: LinearMap, pin: int) -> ThrownBalls:
    asked = figures_held(linear_map.target)
    held = [bound for bound in linear_map.bounds if bound.held(linear_map)]
    linear, curved = ([b for b in held if b.figure.linear is way] for way in (True, False))
    kept, figures, measured = [], [], []
    thrown = _thrown(linear_map)
    for x, within in zip(thrown, _within(linear_map, linear, thrown), strict=True):
        ball = linear_map.ball(x)
        margins = [margin for bound in curved for margin in bound.margins(ball)]
        measured.append(frozenset(margin.bound for margin in margins))
        radii = ball.radii
        good = within and (not linear_map.aligned or abs(float(radii.axes[2, pin])) > AXIS)
        good = good and all(span.low <= of.value(ball) <= span.high for of, span in asked.items())
        if good and all(margin.slack >= -ARITHMETIC for margin in margins):
            kept.append(x)
            figures.append((radii.low, radii.differential, radii.intermediate - radii.low))
    bounds = frozenset[Bound]().union(*measured)
    partial = frozenset(b for b in bounds if not all(b in own for own in measured))
    densities = np.array(kept).reshape(-1, len(linear_map.pours))
    return ThrownBalls(frozen(densities), frozen(np.reshape(figures, (-1, 3))), partial)


def _within(linear_map: LinearMap, bounds: Sequence[Bound], thrown: Array) -> list[bool]:
    """Whether each ball (k, n) keeps these bounds, all on linear figures."""
    within = np.ones(len(thrown), dtype=bool)
    for first in thrown[:1]:
        ball = linear_map.ball(first)
        for margin in (margin for bound in bounds for margin in bound.margins(ball)):
            slope = 0.0 if margin.gradient is None else (thrown - first) @ margin.gradient
            within &= margin.slack + slope >= -ARITHMETIC
    return within.tolist()


def _thrown(linear_map: LinearMap) -> Array:
    """Return densities (k, n) of balls of the class weight within their ranges."""
    enumerated = corners_of(linear_map, [])
    corners = np.zeros((0, len(linear_map.pours))) if enumerated is None else enumerated[0]
    if len(corners) < 2:
        return corners
    random = np.random.default_rng(SEED)
    chosen = corners[random.integers(0, len(corners), (THROWN, MIXED))]
    share = random.dirichlet([0.4] * MIXED, THROWN)
    mixed = np.sum(share[:, :, None] * chosen, axis=1)
    return np.asarray(np.where(np.ptp(corners, axis=0) == 0.0, corners[0], mixed))

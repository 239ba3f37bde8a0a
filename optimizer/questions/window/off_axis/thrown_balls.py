"""Balls thrown into a weight class at random, as many as keep every limit.

A search starts from the farthest of them, and none may lie outside of what it has found.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from optimizer.ball.bounds import Bound
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.engine.search import SEED
from optimizer.questions.window.exact.bands import Band
from optimizer.questions.window.exact.polytope import Cuts, polytope
from shared.arrays import Array, frozen
from shared.tolerances import ARITHMETIC, AXIS_GAP

THROWN = 600
"""Balls that are thrown; about 0.2 s."""
MIXED = 3
"""Corners of the densities' ranges that each is mixed of: edges and faces are where it counts."""


AXIS = 0.5
"""Cosine above which an axis is the pin axis, of a core that has its axes along x, y, z."""


@dataclass(frozen=True, eq=False)
class Crowd:
    """Densities (k, n) of balls of the class weight within all limits, and their figures (k,), cm.

    `gap` is intermediate − low RG. `partial` are the bounds on figures that some balls only have.
    """

    densities: Array
    rg: Array
    differential: Array
    gap: Array
    partial: frozenset[Bound]

    def apart(self, sign: float) -> Crowd:
        """Return those whose two lowest RGs are AXIS_GAP apart (1), or nearer (-1)."""
        kept = sign * (self.gap - AXIS_GAP) > 0.0
        return Crowd(
            frozen(self.densities[kept]),
            frozen(self.rg[kept]),
            frozen(self.differential[kept]),
            frozen(self.gap[kept]),
            self.partial,
        )

    def outermost(self, sign: float) -> Array:
        """Return the densities (0 or 1, n) with the greatest (1) or the least (-1) low RG."""
        return self.densities[np.argsort(-sign * self.rg)[:1]]

    def near(self, rg: float, reach: float, sign: float) -> Array:
        """Return the densities (0 or 1, n) with the greatest or least differential near `rg`."""
        here = np.flatnonzero(np.abs(self.rg - rg) <= reach)
        return self.densities[here[np.argsort(-sign * self.differential[here])[:1]]]

    def farthest(self, band: Band) -> tuple[float, float, Array]:
        """Return how far outside of a band some ball is at the most, its low RG, its densities.

        In either figure, cm. Where all are inside, that is 0 for nobody.
        """
        low, high = (np.interp(self.rg, band.rg, line.value) for line in (band.low, band.high))
        off = np.maximum(low - self.differential, self.differential - high)
        off = np.maximum(off, np.maximum(band.rg[0] - self.rg, self.rg - band.rg[-1]))
        k = int(np.argmax(off)) if len(off) else 0
        if not len(off) or off[k] <= 0.0:
            return 0.0, 0.0, self.densities[:0]
        return float(off[k]), float(self.rg[k]), self.densities[[k]]


def crowd(maps: Sequence[LinearMap], pin: int) -> Crowd:
    """Return a crowd of one `opened` weight class; of several, nobody but what is `partial`.

    With all parts on the pin axis, a ball counts where that axis has the `pin`-th RG (0 low).
    """
    each = [_crowd(linear_map, pin) for linear_map in maps]
    if len(each) == 1:
        return each[0]
    nobody, nothing = np.zeros((0, len(maps[0].pours))), np.zeros(0)
    bounds = frozenset[Bound]().union(*(one.partial for one in each))
    return Crowd(nobody, nothing, nothing, nothing, bounds)


def _crowd(linear_map: LinearMap, pin: int) -> Crowd:
    """Return a crowd of a weight class; nobody where its ranges have too many corners."""
    inner, asked = (
        linear_map.intermediate,
        [bound for bound in linear_map.bounds if bound.held(linear_map)],
    )
    kept, figures, named = [], [], []
    for x in _thrown(linear_map):
        ball = linear_map.ball(x)
        held = [m for bound in asked for m in bound.margins(ball)]
        named.append(frozenset(m.bound for m in held))
        radii = ball.radii
        good = not linear_map.aligned or abs(float(radii.axes[2, pin])) > AXIS
        if inner is not None:
            good = good and inner.low <= radii.intermediate_differential <= inner.high
        if good and all(m.slack >= -ARITHMETIC for m in held):
            kept.append(x)
            figures.append((radii.low, radii.differential, radii.intermediate - radii.low))
    densities = np.array(kept).reshape(-1, len(linear_map.pours))
    rg, differential, gap = (frozen(each) for each in np.array(figures).reshape(-1, 3).T)
    bounds = frozenset.union(*named) - frozenset.intersection(*named) if named else frozenset()
    return Crowd(frozen(densities), rg, differential, gap, bounds)


def _thrown(linear_map: LinearMap) -> Array:
    """Return densities (k, n) of balls of the class weight within their ranges."""
    low, high = (np.array([getattr(p, end) for p in linear_map.pours]) for end in ("low", "high"))
    free = low < high
    if not np.any(free):
        return low[None]
    rest = linear_map.mass - float(linear_map.volumes[~free] @ low[~free])
    none = Cuts(np.zeros((0, int(np.sum(free)))), np.zeros(0))
    found = polytope(low[free], high[free], linear_map.volumes[free], rest, none)
    if found is None or not len(found.corners):
        return np.zeros((0, len(low)))
    random, thrown = np.random.default_rng(SEED), np.tile(low, (THROWN, 1))
    some = found.corners[random.integers(0, len(found.corners), (THROWN, MIXED))]
    share = random.dirichlet([0.4] * MIXED, THROWN)
    thrown[:, free] = np.sum(share[:, :, None] * some, axis=1)
    return thrown

"""Slices in a row: the two lines between which a weight's balls lie, as fine as they must be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import TypeAlias

import numpy as np

from optimizer.questions.window.exact.polytope_slices import PIN_LOW, Ends, Mix, Plane
from shared.arrays import Array, Mask, frozen

ERROR = 2e-6 * 2.54
"""cm (0.000002 in). The largest error of a line. A corner where two lines meet at a small angle is
off by several times that."""
DEEPEST = 14
"""Times a stretch between corners is halved at most."""
STEPS = 4
"""Secants by which a differential is found on a stretch, which is nearly straight."""

Point: TypeAlias = tuple[float, float]
"""A low RG and a differential, cm."""


@dataclass(frozen=True, eq=False)
class Chain:
    """Keys (m,) and the ends of each slice; `error` (cm) bounds what lies between."""

    s: Array
    low: tuple[Mix, ...]
    high: tuple[Mix, ...]
    error: float
    plane: Plane

    @property
    def lines(self) -> tuple[Array, Array]:
        """Low RG and differential (m, 2), cm, along the least and along the greatest w − c²."""
        low, high = (
            frozen(self.plane.figures(self.s, np.array([mix.square for mix in side])).T)
            for side in (self.low, self.high)
        )
        return low, high


def chain(
    knots: Array,
    ends: Ends,
    error: float = ERROR,
    deepest: int = DEEPEST,
    *,
    plane: Plane = PIN_LOW,
    proven: bool = True,
    through: Point | None = None,
) -> Chain:
    """Return the slices at the knots, and as many between as keep the chain within `error`.

    The error is a bound where the ends' w − c² are concave in s between knots. A stretch is halved
    at most `deepest` times. Where concavity isn't known (not `proven`), the error is an estimate,
    and on a steep stretch it is taken along the RG.

    If only what lies at the RG or the differential of a point is asked (`through`), stretches of
    which neither line has one of these are not halved, and those before the first and beyond the
    last that reach around one of them are left out: with none, no slice is left.
    """

    def off(points: Array, sides: Array) -> Array:
        both = np.concatenate([points, points], axis=1), np.concatenate([*sides], axis=1)
        far = np.max(np.split(plane.off(*both), 2), axis=0)
        along = np.sqrt(points[2]) - np.sqrt(points[0])
        return np.asarray(far if proven else np.minimum(far, along))

    keys: list[float] = knots.tolist()
    known, kept = dict(zip(keys, ends(keys), strict=True)), set(keys)
    stretches, depth, worst = np.array([keys[:-1], keys[1:]]), 0, 0.0
    while stretches.size:
        first, last = stretches
        middle = (first + last) / 2
        known.update(zip(middle.tolist(), ends(middle.tolist()), strict=True))
        points = np.stack((first, middle, last))
        squares = [[mix.square for mix in known[s]] for s in points.ravel().tolist()]
        sides = np.moveaxis(np.reshape(squares, (*points.shape, 2)), 2, 0)
        far, asked = off(points, sides), np.ones(len(first), bool)
        if through is not None:
            asked, around = _met(plane, points, sides, far + error, through)
            if not depth:
                kept.intersection_update(stretches[:, _filled(around)].ravel().tolist())
        halved = asked & (far > error) & (depth < deepest)
        worst = max(worst, float(np.max(far[asked & ~halved], initial=0.0)))
        kept.update(middle[halved].tolist())
        halves = (first, middle), (middle, last)
        stretches, depth = np.hstack([np.stack(half)[:, halved] for half in halves]), depth + 1
    order = sorted(kept)
    low, high = (tuple(known[s][side] for s in order) for side in (0, 1))
    return Chain(np.array(order), low, high, worst, plane)


def _met(
    plane: Plane, points: Array, sides: Array, room: Array, through: Point
) -> tuple[Mask, Mask]:
    """Return where a line, and where what lies between both, may have a figure of a point (k,).

    To within `room` (k,) of the boxes that the stretches' ends span.
    """
    first, last = np.moveaxis(plane.figures(points[::2], sides[:, ::2]), 2, 0)  # (2, sides, k)
    below = np.minimum(first, last) - room <= np.reshape(through, (2, 1, 1))
    above = np.maximum(first, last) + room >= np.reshape(through, (2, 1, 1))
    line, region = below & above, np.any(below, axis=1) & np.any(above, axis=1)
    return np.any(line, axis=(0, 1)), np.any(region, axis=0)


def _filled(held: Mask) -> Mask:
    """Return a mask (k,) from the first place that is held to the last."""
    return np.logical_or.accumulate(held) & np.logical_or.accumulate(held[::-1])[::-1]


def with_levels(curve: Chain, ends: Ends, levels: Sequence[float]) -> Chain:
    """Return the chain with more slices, where either line has one of these differentials (cm).

    The window is cut off there, so its corners become exact.
    """
    places = [
        (side, k, level)
        for (side, line), level in product(enumerate(curve.lines), levels)
        for k in np.flatnonzero((line[:-1, 1] - level) * (line[1:, 1] - level) < 0.0).tolist()
    ]
    if not places:
        return curve
    side, k, level = map(np.array, zip(*places, strict=True))
    over = np.array(curve.lines)[..., 1]
    ends_of = curve.s[k], curve.s[k + 1]
    (s0, s1), (off0, off1) = ends_of, (over[side, k] - level, over[side, k + 1] - level)
    for _ in range(STEPS):
        slope = np.divide(s1 - s0, off1 - off0, out=np.zeros_like(s1), where=off1 != off0)
        s0, off0, s1 = s1, off1, np.clip(s1 - off1 * slope, *ends_of)
        pairs = ends(s1.tolist())
        squares = np.array([pair[i].square for pair, i in zip(pairs, side.tolist(), strict=True)])
        off1 = curve.plane.figures(s1, squares)[1] - level
    every = dict(zip(curve.s.tolist(), zip(curve.low, curve.high, strict=True), strict=True))
    every |= dict(zip(s1.tolist(), pairs, strict=True))
    low, high = zip(*(every[key] for key in sorted(every)), strict=True)
    return replace(curve, s=np.array(sorted(every)), low=low, high=high)

"""Overlapping bands cut into disjoint ones, so that no area is drawn or counted twice."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from optimizer.questions.window.exact.bands import Band, Line, shared
from shared.arrays import frozen


def laid_out(bands: Iterable[Band], room: float) -> tuple[Band, ...]:
    """Return the bands, each without what an earlier one covers.

    Pieces thinner than `room` (cm) are left out.
    """
    done: list[Band] = []
    for band in bands:
        rest = [band]
        for earlier in done:
            rest = [piece for part in rest for piece in _without(part, earlier, room)]
        done += rest
    return tuple(done)


def _without(a: Band, b: Band, room: float) -> list[Band]:
    """Return what lies in `a` and not in `b`: before it, beyond it, below it and above it."""
    most, ends = float(np.max(a.high.value)) + room, np.zeros(2)
    first, last = float(b.rg[0]), float(b.rg[-1])
    around = [
        Band(frozen([0.0, first]), Line(ends, ()), Line(ends + most, ())),
        Band(frozen([last, last + float(a.rg[-1])]), Line(ends, ()), Line(ends + most, ())),
        Band(b.rg, Line(0.0 * b.rg, ()), b.low),
        Band(b.rg, b.high, Line(np.maximum(b.high.value, most), ())),
    ]
    pieces = [piece for side in around for piece in shared(a, side)]
    return [p for p in pieces if min(np.max(p.high.value - p.low.value), np.ptp(p.rg)) > room]

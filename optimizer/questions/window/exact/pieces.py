"""Bands that lie over each other, taken apart, so that no place is drawn or counted twice."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from optimizer.questions.window.exact.bands import Band, Line, shared
from shared.arrays import frozen


def laid_out(bands: Iterable[Band], room: float) -> tuple[Band, ...]:
    """Return the bands, of each one only what no earlier one has.

    Pieces thinner than `room` (cm) are left out.
    """
    found: list[Band] = []
    for band in bands:
        rest: tuple[Band, ...] = (band,)
        for other in found:
            rest = tuple(piece for one in rest for piece in _without(one, other, room))
        found += rest
    return tuple(found)


def _without(a: Band, b: Band, room: float) -> tuple[Band, ...]:
    """Return what lies in `a` and not in `b`: before it, beyond it, below it and above it."""
    most, ends = float(np.max(a.high.value)) + room, np.zeros(2)
    first, last = float(b.rg[0]), float(b.rg[-1])
    around = [
        Band(frozen([0.0, first]), Line(ends, ()), Line(ends + most, ())),
        Band(frozen([last, last + float(a.rg[-1])]), Line(ends, ()), Line(ends + most, ())),
        Band(b.rg, Line(0.0 * b.rg, ()), b.low),
        Band(b.rg, b.high, Line(np.maximum(b.high.value, most), ())),
    ]
    pieces = [piece for other in around for piece in shared(a, other)]
    return tuple(band for band in pieces if _thickness(band) > room)


def _thickness(band: Band) -> float:
    return min(float(np.max(band.high.value - band.low.value)), float(band.rg[-1] - band.rg[0]))

"""The range of a plot, and the figures along its axes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

Span = tuple[float, float]


@dataclass(frozen=True)
class Frame:
    """The ranges shown across and up, and the figures along both axes."""

    across: Span
    up: Span
    along: tuple[float, ...]
    beside: tuple[float, ...]


def wider(span: Span, least: float) -> Span:
    """Return a span with a margin at both ends, at least a quarter of `least` each."""
    room = max(0.06 * (span[1] - span[0]), least / 4)
    return span[0] - room, span[1] + room


def ticks(span: Span, unit: float) -> tuple[float, ...]:
    """Return four to eight round figures, in the unit, within the span."""
    low, high = span[0] / unit, span[1] / unit
    rough = (high - low) / 5
    power = 10.0 ** np.floor(np.log10(rough))
    step = float(power * next(f for f in (1, 2, 2.5, 5, 10) if f * power >= 0.8 * rough))
    first = int(np.ceil(low / step - 1e-9))
    last = int(np.floor(high / step + 1e-9))
    return tuple(unit * step * k for k in range(first, last + 1))

"""The plane of low RG and differential on paper: what is shown, and where its figures stand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from optimizer.report.quantities import Units
from optimizer.studies.window import Window

Span = tuple[float, float]


@dataclass(frozen=True)
class Frame:
    """What is shown, cm, and the figures along the axes."""

    rg: Span
    differential: Span
    along: tuple[float, ...]
    up: tuple[float, ...]


def target_box(found: Window) -> tuple[Span, Span] | None:
    """Return the target with its tolerances, low RG and differential, cm; None without one."""
    target = found.scenario.target
    if target is None:
        return None
    rg, d = target.rg, target.differential
    a, b = target.rg_tolerance, target.differential_tolerance
    return (rg.low - a, rg.high + a), (d.low - b, d.high + b)


def frame_of(found: Window, units: Units) -> Frame:
    """Return the frame that shows every window and the target."""
    outlines = [band.outline for one in found.weights for band in one.alone.bands]
    outlines += [band.outline for band in found.common.bands]
    box = target_box(found)
    if box is not None:
        outlines.append(np.array(box).T)
    points = np.vstack(outlines)
    (a, c), (b, d) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    least = 0.01 * units.rg.factor
    rg, differential = _wider((a, b), least), _wider((max(c, 0.0), d), least)
    differential = (max(differential[0], 0.0), differential[1])
    return Frame(rg, differential, ticks(rg, units.rg.factor), ticks(differential, units.rg.factor))


def _wider(span: Span, least: float) -> Span:
    room = max(0.06 * (span[1] - span[0]), least / 4)
    return span[0] - room, span[1] + room


def ticks(span: Span, unit: float) -> tuple[float, ...]:
    """Return round figures in the unit, four to eight of them, within the span (cm)."""
    low, high = span[0] / unit, span[1] / unit
    rough = (high - low) / 5
    power = 10.0 ** np.floor(np.log10(rough))
    step = float(power * next(f for f in (1, 2, 2.5, 5, 10) if f * power >= 0.8 * rough))
    first = int(np.ceil(low / step - 1e-9))
    last = int(np.floor(high / step + 1e-9))
    return tuple(unit * step * k for k in range(first, last + 1))

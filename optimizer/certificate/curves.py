"""Lines that bound the curves (s √u + d)² over u, for √u ≥ 0.

Where d s ≥ 0 the curve is concave: it lies below its tangents and above its chords. Where d s < 0,
the curve max(s √u + d, 0)² is convex: the other way round, for chords where s √u + d isn't below 0.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TypeAlias

from optimizer.certificate.forms import ONE, NotProven, Range

Line: TypeAlias = tuple[Fraction, Fraction]
"""Slope and constant."""


def tangent(r: Fraction, d: Fraction, s: Fraction = ONE) -> Line:
    """Return the tangent at √u = r."""
    if r <= 0 or s * r + d <= 0:
        raise NotProven("a tangent where there is none")
    return s * s + d * s / r, d * (s * r + d)


def chord(ends: Range, d: Fraction, s: Fraction = ONE) -> Line:
    """Return the chord between `ends` of √u."""
    low, high = ends
    if not 0 <= low <= high or min(s * low, s * high) + d < 0 or not high:
        raise NotProven("a chord where there is none")
    return s * s + 2 * d * s / (low + high), d * (d + 2 * s * low * high / (low + high))


def under(ends: Range, r: Fraction, d: Fraction, s: Fraction = ONE) -> Line:
    """Return a line below the curve between `ends`: its chord, or its tangent at √u = r."""
    return chord(ends, d, s) if d * s >= 0 else tangent(r, d, s)


def over(ends: Range, r: Fraction, d: Fraction, s: Fraction = ONE) -> Line:
    """Return a line above the curve between `ends`: its tangent at √u = r, or its chord."""
    return tangent(r, d, s) if d * s >= 0 else chord(ends, d, s)

"""Lines that bound the curves (s √u + d)² over u, for √u ≥ 0.

Where d s ≥ 0 the curve is concave: it lies below its tangents and above its chords. Where d s < 0,
the curve max(s √u + d, 0)² is convex: the other way round, for chords where s √u + d isn't below 0.

Each comes as a multiple of the line, so that nothing is divided and numbers stay short.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TypeAlias

from optimizer.certificate.forms import ONE, NotProven, Range

Line: TypeAlias = tuple[Fraction, Fraction]
"""Slope and constant."""
Multiple: TypeAlias = tuple[Fraction, Fraction, Fraction]
"""A number above 0, and so many times the slope and the constant of a line."""


def tangent(r: Fraction, d: Fraction, s: Fraction = ONE) -> Multiple:
    """Return r times the tangent at √u = r: slope s² + d s / r, constant d (s r + d)."""
    if r <= 0 or s * r + d <= 0:
        raise NotProven("a tangent where there is none")
    return r, s * (s * r + d), r * d * (s * r + d)


def chord(ends: Range, d: Fraction, s: Fraction = ONE) -> Multiple:
    """Return a + b times the chord between √u = a and b, the `ends`.

    Its slope is s² + 2 d s / (a + b), its constant d (d + 2 s a b / (a + b)).
    """
    a, b = ends
    if not 0 <= a <= b or min(s * a, s * b) + d < 0 or not b:
        raise NotProven("a chord where there is none")
    return a + b, s * (s * (a + b) + 2 * d), d * (d * (a + b) + 2 * s * a * b)


def under(ends: Range, r: Fraction, d: Fraction, s: Fraction = ONE) -> Multiple:
    """Return a line below the curve between `ends`: its chord, or its tangent at √u = r."""
    return chord(ends, d, s) if d * s >= 0 else tangent(r, d, s)


def over(ends: Range, r: Fraction, d: Fraction, s: Fraction = ONE) -> Multiple:
    """Return a line above the curve between `ends`: its tangent at √u = r, or its chord."""
    return tangent(r, d, s) if d * s >= 0 else chord(ends, d, s)

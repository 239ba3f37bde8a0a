"""Figures that are linear in a program's columns, and linear bounds on curved ones."""

from __future__ import annotations

from dataclasses import dataclass

from optimizer.ball.linear_rows import LinearRow, Name
from shared.arrays import Array

Range = tuple[float, float]
Line = tuple[float, float]
"""Slope and constant."""


@dataclass(frozen=True, eq=False)
class Affine:
    """A figure as a row over the columns plus a constant."""

    row: Array
    constant: float = 0.0

    def times(self, factor: float) -> Affine:
        """Return `factor` times this figure."""
        return Affine(factor * self.row, factor * self.constant)

    def bent(self, line: Line, mass: Affine) -> Affine:
        """Return slope · this figure + constant · mass."""
        slope, constant = line
        row = slope * self.row + constant * mass.row
        return Affine(row, slope * self.constant + constant * mass.constant)

    def at_least(self, other: Affine, label: str) -> LinearRow:
        """Return the row: this figure is at least `other`."""
        lower = other.constant - self.constant
        return LinearRow(Name(label), self.row - other.row, lower, float("inf"), price=1.0)


def tangents(ends: Range, d: float) -> list[Line]:
    """Return tangents of (√u + d)² over u, for √u at `ends` (≥ 0) and halfway between.

    The curve is concave for d > 0, so they lie above it. For d < 0 it is convex, and they lie below
    max(√u + d, 0)²; there are none at √u ≤ −d. There is none at u = 0 either.
    """
    low, high = ends
    points = (r for r in (low, (low + high) / 2, high) if r > max(0.0, -d))
    return list(dict.fromkeys((1.0 + d / r, d * (d + r)) for r in points))


def chord(ends: Range, d: float) -> Line:
    """Return the chord of (√u + d)² over u between `ends` of √u (≥ 0, one of them > 0)."""
    low, high = ends
    return 1.0 + 2.0 * d / (low + high), d * (d + 2.0 * low * high / (low + high))

"""Figures that are linear in a program's columns, and linear bounds on curved ones.

Every row bears the kind and the parameters by which the checker of proofs makes it anew.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np

from optimizer.ball.linear_rows import LinearRow, Name
from shared.arrays import Array

Kind: TypeAlias = tuple[str | int | float, ...]
"""A kind of row and its parameters, as `optimizer.certificate.rows` has them."""

Range = tuple[float, float]
Line = tuple[float, float]
"""Slope and constant."""


@dataclass(frozen=True, eq=False)
class ProofRow(LinearRow):
    """A row that every line-up of a box satisfies; `scale` times the checker's row of its kind."""

    kind: Kind = ()
    scale: float = 1.0


@dataclass(frozen=True, eq=False)
class Affine:
    """A figure as a row over the columns plus a constant; `scale` times the one of a ball in g."""

    row: Array
    constant: float = 0.0
    scale: float = 1.0

    def times(self, factor: float) -> Affine:
        """Return `factor` times this figure."""
        return replace(self, row=factor * self.row, constant=factor * self.constant)

    def bent(self, line: Line, mass: Affine) -> Affine:
        """Return slope · this figure + constant · mass."""
        slope, constant = line
        row = slope * self.row + constant * mass.row
        return replace(self, row=row, constant=slope * self.constant + constant * mass.constant)

    def at_least(self, other: Affine, *kind: str | int | float, times: float = 1.0) -> ProofRow:
        """Return the row: this figure is at least `other`; the checker has `times` as much."""
        lower, name = other.constant - self.constant, Name(str(kind[0]))
        slope = self.row - other.row
        return ProofRow(name, slope, lower, np.inf, price=1.0, kind=kind, scale=self.scale / times)


def tangents(ends: Range, d: float, s: float = 1.0) -> dict[Line, float]:
    """Return tangents of (s √u + d)² over u, for √u at `ends` (≥ 0) and halfway between; with √u.

    The curve is concave for d s > 0, so they lie above it. For d s < 0 it is convex, and they lie
    below max(s √u + d, 0)²; there are none where that is 0. There is none at u = 0 either.
    """
    low, high = ends
    points = (r for r in (low, (low + high) / 2, high) if r > 0.0 and s * r + d > 0.0)
    return {(s * s + d * s / r, d * (d + s * r)): r for r in points}


def chord(ends: Range, d: float, s: float = 1.0) -> Line:
    """Return the chord of (s √u + d)² over u between `ends` of √u (≥ 0, one of them > 0)."""
    low, high = ends
    return s * s + 2.0 * d * s / (low + high), d * (d + 2.0 * s * low * high / (low + high))

"""The rows that hold a point on the edge of what can be, and what they leave open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.lineup.engine.linear_solver import Rows
from shared.arrays import Array

FLAT = 1e-9
"""What of a gradient, beside its size, is rounding."""

Held: TypeAlias = frozenset[Name]
"""Names of the rows that hold a point, besides the equations."""


@dataclass(frozen=True, eq=False)
class Bound:
    """The rows that hold a point: their matrix (r, n) in the free columns, and what is missing."""

    matrix: Array
    missing: Array

    @classmethod
    def at(cls, rows: Sequence[LinearRow], held: Held, x: Array, free: np.ndarray) -> Bound:
        """Return the rows that are equations or `held`, in the columns that are `free`, at `x`."""
        some = Rows.of([row for row in rows if equation(row) or row.name in held])
        return cls(some.matrix[:, free], some.lower - some.matrix @ x)

    @property
    def back(self) -> Array:
        """The shortest step (n,) onto the rows."""
        return np.asarray(np.linalg.lstsq(self.matrix, self.missing, rcond=FLAT)[0])

    @property
    def open(self) -> Array:
        """Directions (n, p) that the rows leave open."""
        _, sizes, right = np.linalg.svd(self.matrix)
        return np.asarray(right[int(np.sum(sizes > FLAT * sizes[0])) :].T)

    def duals(self, aim: Array) -> Array:
        """Return what each row gives up (r,): aim + matrixᵀ · y = 0 where nothing is left."""
        return np.asarray(np.linalg.lstsq(self.matrix.T, -aim, rcond=FLAT)[0])


def equation(row: LinearRow) -> bool:
    """Whether a row holds every point."""
    return row.lower == row.upper

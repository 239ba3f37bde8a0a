"""The columns of an outer relaxation off the pin axis, where the axes turn with the densities.

Besides those that are `Known` on it, each class has columns for P = F Fᵀ ÷ m (its trace is p) and
for its least and greatest principal inertia, Λ and Λ'. The inertia I = tr(S − P) E − (S − P), S the
second moments, is linear in them. The intermediate inertia is tr I − Λ − Λ'.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property

import numpy as np

from optimizer.lineup.proof.affine import Affine
from optimizer.lineup.proof.boxes import LineupBox
from optimizer.lineup.proof.cones import PAIRS, frame_near
from optimizer.lineup.proof.known import Known
from shared.arrays import Array

ENTRIES = ((0, 0), (1, 1), (0, 1), (0, 2), (1, 2))
"""The entries of P that have columns; the last of its diagonal is p less the other two."""
_EYE = np.eye(3)


class TiltedColumns(Known):
    """What is known of a line-up whose parts don't all stand on the pin axis."""

    OWN = len(ENTRIES) + 2
    aligned = False

    @cached_property
    def firsts(self) -> list[Array]:
        """The rows (3, c) of the first moments, for each class."""
        return [
            np.array([self.first(k, axis).row for axis in range(3)]) for k in range(len(self.maps))
        ]

    @cached_property
    def levers(self) -> list[Array]:
        """The rows (3, 3, c) of P, for each class."""
        return [self._levers(k) for k in range(len(self.maps))]

    @cached_property
    def inertia(self) -> list[Array]:
        """The rows (3, 3, c) of the inertia about the point that the target names."""
        return [self._inertia(k) for k in range(len(self.maps))]

    @cached_property
    def extremes(self) -> list[Array]:
        """The rows (2, c) of the least and the greatest principal inertia, for each class."""
        starts = (self._own(k) + len(ENTRIES) for k in range(len(self.maps)))
        return [np.eye(self.count)[start : start + 2] for start in starts]

    @cached_property
    def frames(self) -> list[Array]:
        """Vectors (3, 3) near the principal axes, a row each, for each class."""
        columns = self.lineup.columns
        balls = (one.ball(columns.densities(k, columns.middle)) for k, one in enumerate(self.maps))
        return [frame_near(ball.radii.axes) for ball in balls]

    def bounds(self, box: LineupBox) -> tuple[Array, Array]:
        """Return the bounds of the columns."""
        lower, upper = np.zeros((2, self.count))
        lower[: self.n], upper[: self.n] = np.array(box.densities).T
        at = self.n + len(self.maps)
        lower[at : at + 3], upper[at : at + 3] = np.square(self.shared(box.figures)).T
        for k, (light, heavy) in enumerate(self.masses):
            most = np.max(np.abs(box.c[3 * k : 3 * k + 3]), axis=1)
            at = self._own(k)
            upper[self.n + k] = heavy * min(float(most @ most), self.offset[1] ** 2)
            for number, (i, j) in enumerate(ENTRIES, start=at):
                upper[number] = heavy * most[i] * most[j]
                lower[number] = 0.0 if i == j else -upper[number]
            low, apart, _ = self.own(k, box.figures)
            at += len(ENTRIES)
            ends = np.array([low, (low[0] + apart[0], low[1] + apart[1])]) ** 2
            lower[at : at + 2], upper[at : at + 2] = light * ends[:, 0], heavy * ends[:, 1]
        return lower, upper

    def _own(self, k: int) -> int:
        """Return the first of the columns that class `k` has besides."""
        return self.n + len(self.maps) + 3 + k * self.OWN

    def _levers(self, k: int) -> Array:
        """Return the rows (3, 3, c) of P."""
        P = np.zeros((3, 3, self.count))
        for column, (i, j) in enumerate(ENTRIES, start=self._own(k)):
            P[i, j, column] = P[j, i, column] = 1.0
        P[2, 2] = self._column(self.n + k).row - P[0, 0] - P[1, 1]
        return P

    def _inertia(self, k: int) -> Array:
        """Return the rows (3, 3, c) of the inertia about the point that the target names."""
        J = self.maps[k].moments
        S = np.array([[self._figure(k, J[:, i, j]).row for j in range(3)] for i in range(3)])
        S = S - self.levers[k] if self.maps[k].about == "cg" else S
        return np.asarray(_EYE[:, :, None] * np.trace(S) - S)

    def _inertias(self, k: int) -> list[Affine]:
        """Return the principal inertias, cm²: the least, the intermediate and the greatest."""
        low, high = self.extremes[k]
        three = (low, np.trace(self.inertia[k]) - low - high, high)
        return [replace(self.mass[k], row=row) for row in three]

    def product(self, k: int, pair: int) -> Array:
        """Return the row (c,) of the product of inertia of one of the frame's PAIRS."""
        i, j = PAIRS[pair]
        return bent(self.inertia[k], self.frames[k][i], self.frames[k][j])

    def kernel(self, k: int, end: int) -> Array:
        """Return the rows (3, 3, c) of N of the low axis (`end` 0) or of the high one (1)."""
        above = self.inertia[k] - _EYE[:, :, None] * self.extremes[k][end]
        return np.asarray(above if end == 0 else -above)


def bent(A: Array, u: Array, v: Array) -> Array:
    """Return the row (c,) of u·A v, of a matrix of rows (3, 3, c)."""
    return np.asarray(np.tensordot(np.outer(u, v), A))

"""The integer program near a line-up: the whole steps that its rows find best, and their bound.

minimise off + NEAR · far, over counts within reach, where every limit's row is kept, `off` is at
least the deviation in any target's row, in tolerances, and `far` is the distance from the line-up
in counts. Steps that have been measured are cut off, so that the next answer is a new one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from optimizer.lineup.engine.linear_solver import Rows
from optimizer.lineup.engine.whole_solver import least_cost
from optimizer.questions.schedule.steps.counting import Candidate, Counts
from shared.arrays import Array

NEAR = 1e-5
"""Tolerances that one count nearer to the line-up is worth, to settle ties."""
NODES = 20000
"""Branches of one program, at most: seconds. Its bound holds wherever it stops."""


@dataclass(frozen=True, eq=False)
class Answer:
    """Columns (c,) as stated, or None; by the rows, none is off by less than `least` tolerances."""

    x: Array | None
    least: float


@dataclass(frozen=True, eq=False)
class WholeProgram:
    """The program within `reach` counts of the line-up, with rows made `at` one near it."""

    counts: Counts
    at: Candidate
    reach: int

    def best(self, tried: Sequence[Candidate], most: float) -> Answer:
        """Return the best steps that are off by at most `most`, other than those `tried`."""
        counts, rows = self.counts, self._rows
        n, s, start = len(counts.x), len(counts.sought), counts.x / counts.size
        lower, upper = counts.box(self.reach)
        alone = np.count_nonzero(rows.matrix, axis=1) <= 1  # stating keeps within a range
        room = np.where(rows.margin | alone, 0.0, np.abs(rows.matrix) @ counts.rounding)
        sides = np.vstack([_units(n, counts.sought), -_units(n, counts.sought)])
        cut, cut_lower = self._cuts(tried)
        others, zeros = cut.shape[1] - n, np.zeros
        off = rows.tolerance[:, None]
        matrix = np.block(
            [
                [rows.matrix * counts.size, off, zeros((len(room), s + others))],
                [sides, zeros((2 * s, 1)), np.tile(np.eye(s), (2, 1)), zeros((2 * s, others))],
                [cut[:, :n], zeros((len(cut), 1 + s)), cut[:, n:]],
            ]
        )
        answer = least_cost(
            np.r_[zeros(n), 1.0, np.full(s, NEAR), zeros(others)],
            np.r_[counts.whole, zeros(1 + s), np.ones(others)],
            (
                np.r_[lower, zeros(1 + s + others)],
                np.r_[upper, most, np.full(s, np.inf), np.ones(others)],
            ),
            matrix,
            (
                np.r_[rows.lower + room, sides @ start, cut_lower],
                np.r_[rows.upper, np.full(2 * s + len(cut), np.inf)],
            ),
            nodes=NODES,
        )
        if answer.least == np.inf:
            return Answer(None, most)
        x = None if answer.x is None else counts.columns(answer.x[:n])
        return Answer(x, answer.least - NEAR * self.reach * s)

    def seen(self, tried: Sequence[Candidate]) -> float:
        """Return the largest error of the rows at those `tried`, in tolerances."""
        return max(
            abs(candidate.off + float(np.min(self._rows.levels(candidate.x))))
            for candidate in tried
        )

    @cached_property
    def _rows(self) -> Rows:
        return Rows.of(replace(self.counts.lineup, weight_kept=False).nearest_rows(self.at.x))

    def _cuts(self, tried: Sequence[Candidate]) -> tuple[Array, Array]:
        """Return rows (r, c + b) and their lower ends, which exclude the steps `tried`.

        Each is cut off in its worst weight: other line-ups with the same steps there are no better.
        For each whole column of that weight there are two columns of 0 or 1: whether the answer is
        above it, and whether it is below.
        """
        counts, n = self.counts, len(self.counts.x)
        wide = 2.0 * self.reach + 1.0
        rows, lower = np.zeros((0, n)), np.zeros(0)
        for candidate in tried:
            whole = [j for j in counts.lineup.columns.poured[candidate.worst] if counts.whole[j]]
            if not whole:
                continue
            sides = np.vstack([_units(n, whole), -_units(n, whole)])
            w, b = len(sides), rows.shape[1] - n
            rows = np.block(
                [
                    [rows, np.zeros((len(rows), w))],
                    [sides, np.zeros((w, b)), -wide * np.eye(w)],
                    [np.zeros((1, n + b)), np.ones((1, w))],
                ]
            )
            lower = np.r_[lower, sides @ np.round(candidate.x / counts.size) + 1.0 - wide, 1.0]
        return rows, lower


def _units(n: int, columns: Sequence[int]) -> Array:
    return np.eye(n)[columns]

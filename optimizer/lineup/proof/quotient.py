"""The greatest quotient of two linear figures, by a sequence of linear programs.

Dinkelbach's method (1967; from memory): with c a value that some point reaches, the greatest
`figure` − c · `mass` bounds what remains, and the point where it is greatest has the next c.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np

from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.lineup.engine.linear_solver import LinearSolver, Optimum, Rows
from optimizer.lineup.proof.duality import asked_beyond, multipliers
from shared.arrays import Array

FAR = 1e3
"""cm, cm²: more than a figure ÷ m is; of what exceeds it, nothing is known."""


@dataclass(frozen=True, eq=False)
class Quotient:
    """What `figure` (c,) over `mass` (c,), rows over the columns, is at most, where `rows` hold.

    `bounds` are those of the columns.
    """

    figure: Array
    mass: Array
    rows: Sequence[LinearRow]
    bounds: tuple[Array, Array]

    def steps(self, solver: LinearSolver, at: float) -> Iterator[Step]:
        """Yield the programs' optima, from a value on; they come nearer without end."""
        while True:
            beyond = self.figure - at * self.mass
            stacked = Rows.of([*self.rows, LinearRow(Name("far"), beyond, FAR, inf, price=1 / FAR)])
            step = Step(self, at, stacked, solver.best(stacked, *self.bounds))
            yield step
            at = step.reached


@dataclass(frozen=True, eq=False)
class Step:
    """One program: it raises what the figure has beyond `at` times the mass."""

    of: Quotient
    at: float
    rows: Rows
    optimum: Optimum

    @property
    def reached(self) -> float:
        """The quotient at the optimum."""
        return float(self.of.figure @ self.optimum.x) / float(self.of.mass @ self.optimum.x)

    @property
    def left(self) -> float:
        """What the figure has beyond at the optimum."""
        return float((self.of.figure - self.at * self.of.mass) @ self.optimum.x)

    @property
    def broken(self) -> float:
        """By how much rows are broken there, in total: then it says nothing."""
        return float(np.sum(self.rows.broken(self.optimum.x)[:-1]))

    @property
    def left_at_most(self) -> float:
        """What the figure can have beyond, by weak duality: it says something of an empty box."""
        rows = self.rows
        y = multipliers(rows, np.clip(self.optimum.duals, -rows.price, rows.price))
        return FAR * (1.0 - asked_beyond(rows, y, *self.of.bounds))

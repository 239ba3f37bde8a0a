"""Linear programs from labelled rows, solved by HiGHS, warm from one to the next.

maximise t − Σ price · violation over lower ≤ x ≤ upper, t free, every row; some columns integer.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from optimizer.ball.linear_rows import LinearRow, Name
from shared import stopping
from shared.arrays import Array
from shared.errors import SolverError
from shared.tolerances import SOLVER

MOST = 1e6
"""Tolerances: t stays within ±MOST, which bounds every program."""

USUAL: Mapping[str, Any] = {"simplex_strategy": 1, "presolve": "off", "solver": "choose"}
"""How programs are solved: by HiGHS's dual simplex method, cold where it fails warm..."""
OTHERS: Sequence[Mapping[str, Any]] = (
    USUAL,
    {**USUAL, "simplex_strategy": 4},
    {**USUAL, "presolve": "on"},
    {**USUAL, "solver": "ipm"},
)
"""...then by the primal one, presolved, and by an interior point. The dual method gives up where
prices make duals large."""

Matrix = tuple[Array, Array, Array]
"""A sparse matrix by columns: where each column starts, and each entry's row and value."""


@dataclass(frozen=True, eq=False)
class Rows:
    """Stacked rows: the arrays by which programs are solved and points are judged.

    A row without a tolerance has 0 in `tolerance`; a row that can't be violated has inf in `price`.
    `names` are those of the rows that were stacked.
    """

    matrix: Array
    lower: Array
    upper: Array
    tolerance: Array
    price: Array
    names: Sequence[Name] = ()

    @classmethod
    def of(cls, rows: Sequence[LinearRow]) -> Rows:
        """Stack labelled rows."""
        return cls(
            np.array([row.coefficients for row in rows]),
            np.array([row.lower for row in rows]),
            np.array([row.upper for row in rows]),
            np.array([row.tolerance or 0.0 for row in rows]),
            np.array([np.inf if row.price is None else row.price for row in rows]),
            [row.name for row in rows],
        )

    @cached_property
    def margin(self) -> Any:
        """Which rows are margins (r,), bool."""
        return self.tolerance > 0.0

    def levels(self, x: Array) -> Array:
        """Return slack ÷ tolerance of each margin's row at `x` (r,); inf for other rows."""
        slack = self.matrix @ x - self.lower
        return np.asarray(
            np.divide(slack, self.tolerance, out=np.full(len(slack), np.inf), where=self.margin)
        )

    def broken(self, x: Array) -> Array:
        """Return the violation (r,) ≥ 0 at `x` of each row that isn't a margin's."""
        value = self.matrix @ x
        gap = np.maximum(np.maximum(self.lower - value, value - self.upper), 0.0)
        return np.where(self.margin, 0.0, gap)

    def merit(self, x: Array) -> float:
        """Return the smallest margin at `x`, less the price of all violations."""
        least = float(np.min(self.levels(x))) if self.margin.any() else 0.0
        broken = self.broken(x)
        return least - float(np.sum(self.price[broken > 0.0] * broken[broken > 0.0]))


@dataclass(frozen=True, eq=False)
class Optimum:
    """The optimum of a linear program: the columns, t, the objective, and each row's dual (r,)."""

    x: Array
    t: float
    objective: float
    duals: Array


class LinearSolver:
    """HiGHS, kept warm between programs of the same shape.

    Every solve's model status is checked; a SolverError says what HiGHS answered instead.
    """

    def __init__(self) -> None:
        import highspy  # noqa: PLC0415 - heavy: only when something is solved

        self._module = highspy
        with silent_stdout():  # it prints its banner when it is made
            self._highs = highspy.Highs()
        self.name = f"HiGHS {self._highs.version()}"
        for option, value in (
            ("output_flag", False),
            ("primal_feasibility_tolerance", SOLVER),
            ("dual_feasibility_tolerance", SOLVER),
            ("mip_feasibility_tolerance", SOLVER),
            ("mip_rel_gap", SOLVER),
        ):
            self._highs.setOptionValue(option, value)
        self._shape: tuple[int, int] | None = None
        self.solved = self.work = 0
        """Count programs, and their rows."""

    def best(self, rows: Rows, lower: Array, upper: Array, whole: int = 0) -> Optimum:
        """Return the best columns between `lower` and `upper`, the last `whole` of them integers.

        With integers the duals are 0. Raises KeyboardInterrupt if the run is to stop, even if the
        signal arrived while C code was running.
        """
        stopping.check()
        r, n = rows.matrix.shape
        elastic = np.flatnonzero(np.isfinite(rows.price))
        e = len(elastic)
        margin = np.flatnonzero(rows.margin)
        of_t = np.where(np.isfinite(rows.lower), -rows.tolerance, rows.tolerance)[margin]
        column, at = np.nonzero(
            rows.matrix.T
        )  # by columns: those of x, t, and each row's two breaks
        ends = len(at) + len(margin) + np.arange(2 * e + 1)
        matrix = (
            np.concatenate([np.searchsorted(column, np.arange(n + 1)), ends]),
            np.concatenate([at, margin, elastic, elastic]),
            np.concatenate([rows.matrix[at, column], of_t, np.ones(e), -np.ones(e)]),
        )
        prices = rows.price[elastic]
        cost = np.concatenate([np.zeros(n), [-1.0 if rows.margin.any() else 0.0], prices, prices])
        box = (
            np.concatenate([lower, [-MOST], np.zeros(2 * e)]),
            np.concatenate([upper, [MOST], np.full(2 * e, np.inf)]),
        )
        self._pass(matrix, cost, box, rows, whole=range(n - whole, n))
        solution = self._run()
        values = np.array(solution.col_value)
        duals = np.zeros(r) if whole else np.array(solution.row_dual)
        return Optimum(values[:n], float(values[n]), -float(cost @ values), duals)

    def forget(self) -> None:
        """Solve the next program cold."""
        self._highs.clearSolver()
        self._shape = None

    def _pass(
        self, matrix: Matrix, cost: Array, box: tuple[Array, Array], rows: Rows, *, whole: range
    ) -> None:
        """Hand the program to HiGHS, with the last one's basis if it has the same shape."""
        starts, index, values = matrix
        shape, kinds = (len(rows.lower), len(cost)), np.zeros(len(cost), np.int32)
        kinds[whole.start : whole.stop] = 1  # an integer
        basis = self._highs.getBasis() if self._shape == shape and not whole else None
        # linear programs here are small: presolving one takes longer than solving it
        self._highs.setOptionValue("presolve", "choose" if whole else "off")
        self._highs.passModel(
            shape[1],
            shape[0],
            len(values),
            int(self._module.MatrixFormat.kColwise),
            int(self._module.ObjSense.kMinimize),
            0.0,
            cost,
            *box,
            rows.lower,
            rows.upper,
            starts,
            index,
            values,
            kinds,
        )
        if basis is not None:
            self._highs.setBasis(basis)
        self._shape = None if whole else shape

    def _run(self) -> Any:
        self._highs.run()
        self.solved += 1
        self.work += self._highs.getNumRow()
        if not self._optimal():
            for how in OTHERS:
                self._highs.clearSolver()
                self._set(how)
                self._highs.run()
                if self._optimal():
                    break
            self._set(USUAL)
        if not self._optimal():
            answer = self._highs.modelStatusToString(self._highs.getModelStatus())
            raise SolverError(f"HiGHS did not solve a bounded program: {answer}")
        return self._highs.getSolution()

    def _set(self, options: Mapping[str, Any]) -> None:
        for option, value in options.items():
            self._highs.setOptionValue(option, value)

    def _optimal(self) -> bool:
        return bool(self._highs.getModelStatus() == self._module.HighsModelStatus.kOptimal)


@contextmanager
def silent_stdout() -> Iterator[None]:
    """Keep the solver's banner, written to file descriptor 1 behind Python's back, off stdout."""
    sys.stdout.flush()
    try:
        kept = os.dup(1)
    except OSError:  # no standard output to guard
        yield
        return
    with open(os.devnull, "wb") as nowhere:  # noqa: PTH123 - a device, not a path of ours
        os.dup2(nowhere.fileno(), 1)
        try:
            yield
        finally:
            _flush_c()
            os.dup2(kept, 1)
            os.close(kept)


def _flush_c() -> None:
    """Flush C's buffer for standard output while it still goes nowhere."""
    import ctypes  # noqa: PLC0415 - only beside a solve

    library = ctypes.CDLL("ucrtbase" if sys.platform == "win32" else None)
    library.fflush(None)

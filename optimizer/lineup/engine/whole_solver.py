"""Programs with integers, solved by HiGHS: the best point, and a bound wherever it stops."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from optimizer.lineup.engine.linear_solver import silent_stdout
from shared import stopping
from shared.arrays import Array
from shared.errors import SolverError

Box = tuple[Array, Array]
"""Lower and upper ends."""


@dataclass(frozen=True, eq=False)
class WholeOptimum:
    """The best point found (n,), or None; no point costs less than `least`, inf if none exists."""

    x: Array | None
    least: float


def least_cost(
    cost: Array, whole: Array, columns: Box, matrix: Array, rows: Box, *, nodes: int
) -> WholeOptimum:
    """Minimise cost @ x for columns (n,) and rows matrix @ x (r,) in their boxes.

    `whole` (n,) is 1 for an integer. Every column's box is finite, or its cost bounds it. At most
    `nodes` branches are tried. Raises SolverError if HiGHS fails.
    """
    import highspy  # noqa: PLC0415 - heavy: only when something is solved

    stopping.check()
    with silent_stdout():  # it prints its banner when it is made
        highs = highspy.Highs()
    for option, value in (("output_flag", False), ("mip_rel_gap", 0.0), ("mip_max_nodes", nodes)):
        highs.setOptionValue(option, value)
    by_column, at = np.nonzero(matrix.T)
    highs.passModel(
        len(cost),
        len(matrix),
        len(at),
        int(highspy.MatrixFormat.kColwise),
        int(highspy.ObjSense.kMinimize),
        0.0,
        cost,
        *columns,
        *rows,
        np.searchsorted(by_column, np.arange(len(cost) + 1)),
        at,
        matrix[at, by_column],
        whole.astype(np.int32),
    )
    highs.run()
    status, info, kinds = highs.getModelStatus(), highs.getInfo(), highspy.HighsModelStatus
    if status in {kinds.kInfeasible, kinds.kUnboundedOrInfeasible}:  # it is bounded
        return WholeOptimum(None, np.inf)
    if status not in {kinds.kOptimal, kinds.kSolutionLimit, kinds.kIterationLimit}:
        answer = highs.modelStatusToString(status)
        raise SolverError(f"HiGHS did not solve a bounded program: {answer}")
    x = (
        np.array(highs.getSolution().col_value)
        if np.isfinite(info.objective_function_value)
        else None
    )
    return WholeOptimum(x, info.mip_dual_bound if np.any(whole) else info.objective_function_value)

"""The line-up program, as cvxpy states it.

maximise    t − Σ price · break
such that   margins:   slack ≥ tolerance · t
            the rest:  lower ≤ row · x + break ≤ upper
                       lowest ≤ x ≤ highest
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from optimizer.lineup.engine.linear_solver import MOST, Optimum, Rows, silent_stdout
from shared.arrays import Array
from shared.errors import SolverError
from shared.tolerances import SOLVER

OTHER: Final = "Clarabel"
"""The solver of the program as cvxpy states it: an interior-point method."""


def lineup_program(rows: Rows, lower: Array, upper: Array) -> tuple[Any, Any, Any]:
    """Return the cvxpy problem of these rows, and its variables x (n,) and t."""
    import cvxpy as cp  # noqa: PLC0415 - heavy: only when something is solved

    x, t = cp.Variable(len(lower), name="x"), cp.Variable(name="t")
    constraints = [x >= lower, x <= upper, t <= MOST, t >= -MOST]
    loss: Any = 0.0
    if rows.margin.any():
        a = rows.margin
        constraints.append(rows.matrix[a] @ x - rows.lower[a] >= rows.tolerance[a] * t)
    equal = ~rows.margin & (rows.lower == rows.upper)
    above = ~rows.margin & ~equal & np.isfinite(rows.lower)
    if equal.any():
        more, less = (cp.Variable(int(equal.sum()), nonneg=True) for _ in range(2))
        constraints.append(rows.matrix[equal] @ x + more - less == rows.lower[equal])
        loss = loss + rows.price[equal] @ (more + less)
    if above.any():
        more = cp.Variable(int(above.sum()), nonneg=True)
        constraints.append(rows.matrix[above] @ x + more >= rows.lower[above])
        loss = loss + rows.price[above] @ more
    return cp.Problem(cp.Maximize(t - loss), constraints), x, t


def state_and_solve(rows: Rows, lower: Array, upper: Array) -> Optimum:
    """Return the optimum of the line-up program, stated in cvxpy and solved by Clarabel.

    An interior-point method, independent of the search's simplex. Duals are not computed. Raises
    SolverError unless the status is optimal.
    """
    problem, x, t = lineup_program(rows, lower, upper)
    with silent_stdout():
        problem.solve(solver="CLARABEL", tol_gap_abs=SOLVER, tol_gap_rel=SOLVER, tol_feas=SOLVER)
    if problem.status != "optimal" or x.value is None:
        raise SolverError(f"the line-up program was not solved: {problem.status}")
    value = np.clip(np.array(x.value, dtype=float), lower, upper)
    return Optimum(value, float(t.value), float(problem.value), np.zeros(len(rows.lower)))

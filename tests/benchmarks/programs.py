"""One line-up program, three ways on the same rows: cvxpy anew, scipy's linprog, HiGHS warm.

The objectives are checked against each other before anything is timed.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from benchmarks.moments import median  # noqa: E402 - after the path
from scipy.optimize import linprog  # noqa: E402

from optimizer.lineup.columns import columns  # noqa: E402
from optimizer.lineup.engine.linear_solver import MOST, LinearSolver, Rows  # noqa: E402
from optimizer.lineup.engine.stated_program import state_and_solve  # noqa: E402
from optimizer.lineup.rows import Lineup  # noqa: E402
from optimizer.scenario import linear_maps, read_scenario  # noqa: E402


def by_linprog(rows: Rows, lower: np.ndarray, upper: np.ndarray) -> float:
    """Return the objective as scipy finds it, the arrays made anew."""
    n, other = len(lower), np.flatnonzero(~rows.margin)
    k, a = len(other), rows.margin
    margins = np.column_stack([-rows.matrix[a], rows.tolerance[a], np.zeros((a.sum(), 2 * k))])
    elastic = np.column_stack([rows.matrix[other], np.zeros(k), np.eye(k), -np.eye(k)])
    up, low = np.isfinite(rows.upper[other]), np.isfinite(rows.lower[other])
    prices = rows.price[other]
    found = linprog(
        np.r_[np.zeros(n), -1.0, prices, prices],
        A_ub=np.vstack([margins, elastic[up], -elastic[low]]),
        b_ub=np.r_[-rows.lower[a], rows.upper[other][up], -rows.lower[other][low]],
        bounds=[*zip(lower, upper, strict=True), (-MOST, MOST), *[(0.0, None)] * (2 * k)],
    )
    return -float(found.fun)


def main() -> None:
    """Print the figures."""
    scenario = read_scenario(ROOT / "scenarios" / "juniper.toml", target_required=True)
    maps = linear_maps(scenario)
    line = Lineup(maps, columns(maps, scenario.sharing))
    lower, upper = line.columns.lower, line.columns.upper
    rows = Rows.of(line.margin_rows(line.columns.middle))
    solver = LinearSolver()
    ways: dict[str, Callable[[], float]] = {
        "cvxpy, stated anew": lambda: state_and_solve(rows, lower, upper).objective,
        "scipy linprog": lambda: by_linprog(rows, lower, upper),
        "HiGHS, warm": lambda: solver.best(rows, lower, upper).objective,
    }
    objectives = {name: run() for name, run in ways.items()}
    times = {name: median(run) for name, run in ways.items()}
    print(f"one program: {len(rows.lower)} rows, {line.columns.count} columns and t")
    for name, took in times.items():
        ratio = took / times["HiGHS, warm"]
        print(f"{name:20} {1e3 * took:8.2f} ms {ratio:6.1f}×   objective {objectives[name]:.9f}")
    spread = max(objectives.values()) - min(objectives.values())
    print(f"the objectives differ by {spread:.1e} tolerances")
    if spread > 1e-5:
        sys.exit("the three do not agree")


if __name__ == "__main__":
    main()

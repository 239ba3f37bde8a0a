"""Columns that are whole: the program's optimum is the best of all whole values."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.lineup.engine.linear_solver import LinearSolver, Rows


@pytest.mark.parametrize("seed", range(3))
def test_whole_columns_are_as_good_as_trying_all(seed: int) -> None:
    """Margins over two free and four 0/1 columns, two of these at least 1; all 16 are tried."""
    random, solver = np.random.default_rng(seed), LinearSolver()
    rows = [
        LinearRow(
            Name("margin"), random.normal(size=6), float(random.normal()), np.inf, tolerance=0.5
        )
        for _ in range(8)
    ]
    rows.append(LinearRow(Name("count"), np.array([0, 0, 1, 1, 1, 1.0]), 2.0, np.inf))
    lower, upper = np.array([-1, -1, 0, 0, 0, 0.0]), np.ones(6)
    optimum = solver.best(Rows.of(rows), lower, upper, whole=4)
    np.testing.assert_allclose(optimum.x[2:], np.round(optimum.x[2:]), atol=1e-9)
    tried = [
        solver.best(Rows.of(rows[:-1]), np.r_[lower[:2], ends], np.r_[upper[:2], ends]).t
        for ends in product((0.0, 1.0), repeat=4)
        if sum(ends) >= 2
    ]
    assert optimum.t == pytest.approx(max(tried), abs=1e-7)
    assert optimum.t < solver.best(Rows.of(rows), lower, upper).t, "fractions would do better"
    assert not optimum.duals.any()

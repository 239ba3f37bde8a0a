"""The engine on rows whose best point is known in closed form."""

from __future__ import annotations

import numpy as np
import pytest

from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.lineup.engine.climbing import Engine
from optimizer.lineup.engine.linear_solver import LinearSolver
from shared.arrays import Array

PRICE = 1e4


def _on_the_sphere(x: Array) -> list[LinearRow]:
    """Return x² + y² + z² = 1 as its tangent at `x`, and x + 2y + 2z as what is raised."""
    sphere = LinearRow(Name("sphere"), 2 * x, 1 + x @ x, 1 + x @ x, price=PRICE)
    aim = LinearRow(Name("aim"), np.array([1.0, 2.0, 2.0]), 0.0, np.inf, tolerance=1.0)
    return [sphere, aim]


def _climbed(*, second_order: bool) -> tuple[Array, int]:
    solver, ones = LinearSolver(), np.ones(3)
    engine = Engine(
        _on_the_sphere, -ones, ones, 0 * ones, ones, solver, crawl=1e-9, second_order=second_order
    )
    peak = engine.climb(np.array([1.0, 0.0, 0.1]))
    assert peak.error <= 1e-7
    return peak.x, solver.solved


def test_a_second_order_correction_follows_a_curved_row():
    """The normal (1, 2, 2) / 3 is farthest; first-order steps creep there, or stop short."""
    plain, many = _climbed(second_order=False)
    x, few = _climbed(second_order=True)
    assert x @ [1.0, 2.0, 2.0] == pytest.approx(3.0, abs=1e-6)
    assert x @ [1.0, 2.0, 2.0] > plain @ [1.0, 2.0, 2.0] - 1e-9
    assert few < many / 2

"""Programs with integers against every choice of the integers, tried one by one."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from scipy.optimize import linprog

from optimizer.lineup.engine.whole_solver import WholeOptimum, least_cost

WHOLE, MOST = 4, 3
"""So many columns are integers from −MOST to MOST; one more is not."""


def _program(seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The cost, the rows and their upper ends."""
    random = np.random.default_rng(seed)
    matrix = random.normal(size=(4, WHOLE + 1))
    return random.normal(size=WHOLE + 1), matrix, random.normal(size=4) + 1.0


def _best(seed: int, *, nodes: int = 1000) -> WholeOptimum:
    cost, matrix, upper = _program(seed)
    reach = np.full(WHOLE + 1, float(MOST))
    whole = np.r_[np.ones(WHOLE), 0.0]
    return least_cost(
        cost, whole, (-reach, reach), matrix, (np.full(4, -np.inf), upper), nodes=nodes
    )


def _tried(seed: int) -> float:
    """The least cost of all: for each choice the last column at an end of its range."""
    cost, matrix, upper = _program(seed)
    least = np.inf
    for choice in product(range(-MOST, MOST + 1), repeat=WHOLE):
        left, slope = upper - matrix[:, :-1] @ choice, matrix[:, -1]
        low = np.max(left[slope < 0] / slope[slope < 0], initial=-MOST)
        high = np.min(left[slope > 0] / slope[slope > 0], initial=MOST)
        if low <= high:
            least = min(least, cost[:-1] @ choice + min(cost[-1] * low, cost[-1] * high))
    return least


@pytest.mark.parametrize("seed", range(6))
def test_the_least_cost_is_that_of_every_choice(seed):
    found, (cost, matrix, upper) = _best(seed), _program(seed)
    assert found.least == pytest.approx(_tried(seed), abs=1e-6)
    assert found.x is not None
    assert cost @ found.x == pytest.approx(found.least, abs=1e-6)
    assert np.all(matrix @ found.x <= upper + 1e-6)
    assert found.x[:WHOLE] == pytest.approx(np.round(found.x[:WHOLE]), abs=1e-6)


@pytest.mark.parametrize("seed", range(6))
def test_a_bound_holds_where_no_branch_is_tried(seed):
    assert _best(seed, nodes=0).least <= _tried(seed) + 1e-6


def test_no_choice_is_an_infinite_cost():
    """Twice a whole number is never 1."""
    one = np.ones(1)
    found = least_cost(one, one, (-9 * one, 9 * one), 2 * one[:, None], (one, one), nodes=9)
    assert found.x is None
    assert found.least == np.inf


def test_without_integers_it_is_the_linear_program():
    cost, matrix, upper = _program(3)
    box = np.full(len(cost), 3.0)
    found = least_cost(
        cost, np.zeros(len(cost)), (-box, box), matrix, (np.full(4, -np.inf), upper), nodes=9
    )
    assert found.least == pytest.approx(
        linprog(cost, A_ub=matrix, b_ub=upper, bounds=(-3, 3)).fun, abs=1e-6
    )

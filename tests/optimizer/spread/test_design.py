"""Designs against textbooks, determinants and brute force."""

from __future__ import annotations

import numpy as np
import pytest

from optimizer.spread.design import Candidates, ranked, shares

GRID = np.append(np.linspace(-1.0, 1.0, 201), [-np.sqrt(0.2), np.sqrt(0.2)])


def test_a_quadratic_is_measured_at_its_ends_and_its_middle_by_thirds() -> None:
    """D-optimal on [−1, 1]: a textbook result (Fedorov, 1972, from memory)."""
    weights = shares(np.vander(GRID, 3))
    at = np.flatnonzero(weights > 1e-3)
    assert GRID[at] == pytest.approx([-1.0, 0.0, 1.0], abs=1e-12)
    assert weights[at] == pytest.approx([1 / 3] * 3, abs=1e-4)


def test_a_cubic_is_measured_at_four_places_by_quarters() -> None:
    """±1 and ±1/√5 = ±0.4472: the zeros of (1 − x²) P₃′(x)."""
    weights = shares(np.vander(GRID, 4))
    at = np.flatnonzero(weights > 1e-3)
    assert np.sort(GRID[at]) == pytest.approx([-1.0, -0.4472, 0.4472, 1.0], abs=5e-5)
    assert weights[at] == pytest.approx([0.25] * 4, abs=1e-3)


@pytest.mark.parametrize("seed", range(4))
def test_no_other_design_of_random_rows_tells_more(seed: int) -> None:
    """The equivalence theorem, and 200 random designs, none of a larger determinant."""
    random = np.random.default_rng(seed)
    rows = random.normal(size=(12, 3))
    weights = shares(rows)
    information = (rows.T * weights) @ rows
    assert weights.min() >= 0.0
    assert weights.sum() == pytest.approx(1.0, rel=1e-12)
    telling = np.einsum("ci,ij,cj->c", rows, np.linalg.inv(information), rows)
    assert telling.max() <= 3.0 * (1.0 + 1e-5)
    most = np.linalg.det(information)
    others = random.dirichlet(np.full(12, 0.3), size=200)
    assert max(np.linalg.det((rows.T * w) @ rows) for w in others) <= most * (1.0 + 1e-5)


def test_rows_that_leave_a_parameter_open_are_refused() -> None:
    with pytest.raises(ValueError, match="tell all parameters"):
        shares(np.ones((4, 2)))


def _candidates() -> Candidates:
    random = np.random.default_rng(9)
    root = random.normal(size=(3, 3))
    return Candidates(root @ root.T, random.normal(size=(5, 3)), random.uniform(0.1, 2.0, 5))


def test_gains_are_those_of_the_covariance_after_each() -> None:
    """The information of each candidate added and inverted: determinant and variance."""
    candidates, wanted = _candidates(), np.array([0.0, 1.0, 0.0])
    now = candidates.covariance
    for k, (row, variance) in enumerate(zip(candidates.rows, candidates.variances, strict=True)):
        after = np.linalg.inv(np.linalg.inv(now) + np.outer(row, row) / variance)
        gain = np.linalg.slogdet(now)[1] - np.linalg.slogdet(after)[1]
        assert candidates.gains[k] == pytest.approx(gain, rel=1e-9)
        assert candidates.variances_after(wanted)[k] == pytest.approx(after[1, 1], rel=1e-9)
        assert candidates.gains_of(wanted)[k] == pytest.approx(np.log(now[1, 1] / after[1, 1]))


def test_the_next_measurement_depends_on_what_is_asked_and_on_its_cost() -> None:
    """Of two independent parts: the coarse gauge of the wider one, unless it costs ten times more.

    Gains: log (1 + 4 ÷ 0.5) = log 9, log (1 + 1 ÷ 0.25) = log 5; the third row tells nothing.
    """
    rows = np.array([[1.0, 0.0], [0.0, 1.0], [0.0, 0.0]])
    candidates = Candidates(np.diag([4.0, 1.0]), rows, np.array([0.5, 0.25, 1.0]))
    assert candidates.gains == pytest.approx(np.log([9.0, 5.0, 1.0]))
    assert ranked(candidates.gains) == [0, 1]
    assert ranked(candidates.gains, np.array([10.0, 1.0, 1.0])) == [1, 0]
    assert ranked(candidates.gains_of(np.array([0.0, 1.0]))) == [1]
    known = Candidates(np.zeros((2, 2)), rows, candidates.variances)
    with pytest.raises(ValueError, match="known exactly"):
        known.gains_of(np.array([1.0, 0.0]))

"""Reconciled measurements against VDI 2048's worked example and plain least squares."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import least_squares

from optimizer.spread.adjustment import Adjustment, Gaussian, adjusted


def _published() -> Adjustment:
    """Return VDI 2048's worked example: ten flows of a plant, three balances."""
    flows = [46.241, 45.668, 44.575, 44.319, 0.525, 69.978, 10.364, 3.744, 4.391, 18.498]
    halves = np.array([0.8, 0.79, 0.535, 0.532, 0.105, 0.854, 0.168, 0.058, 0.058, 0.205])
    correlation = np.eye(10)
    correlation[0, 1] = correlation[1, 0] = 0.2
    correlation[2, 3] = correlation[3, 2] = 0.4
    balances = np.array(
        [
            [1, 1, -1, -1, 0.4, 0, 0, 0, 0, 0],
            [0, 0, 1, 1, -1, -1, -1, -1, -1, 0],
            [0, 0, 0, 0, 0, 0, 1, 1, 1, -1],
        ]
    )
    measured = Gaussian(np.array(flows), correlation * np.outer(halves, halves) / 1.96**2)
    return adjusted(measured, balances, np.zeros(3))


def test_the_published_plant_is_reconciled_to_its_digits() -> None:
    """The adjusted flows, and the first one's 95 % half-width, as printed there."""
    after = _published().after
    printed = "44.9645 44.4180 44.9259 44.6671 0.5263 70.5531 10.3758 3.7454 4.3924 18.5136"
    assert " ".join(f"{flow:.4f}" for flow in after.mean) == printed
    assert f"{1.96 * after.sd[0]:.4f}" == "0.5756"
    low, high = after.intervals[0]
    assert (high - low) / 2 == pytest.approx(0.5756, abs=6e-5)


def test_the_published_plant_fails_its_test_and_names_both_suspects() -> None:
    """20.31 against 7.815; x1 and x2 stand in one balance only, and are both 4.50 off."""
    plant = _published()
    assert (f"{plant.test.statistic:.2f}", f"{plant.test.limit:.3f}") == ("20.31", "7.815")
    assert plant.test.freedom == 3
    assert not plant.test.passed
    assert plant.suspects == (0, 1)
    assert np.round(np.abs(plant.standardised[:2]), 2) == pytest.approx([4.5, 4.5])


def test_adjusted_values_are_the_nearest_that_balance() -> None:
    """Values by the balances' null space, nearest by scipy's least squares in sds."""
    random = np.random.default_rng(3)
    root = random.normal(size=(5, 5))
    measured = Gaussian(random.normal(size=5), root @ root.T)
    balances, constants = random.normal(size=(2, 5)), random.normal(size=2)
    free = np.linalg.svd(balances)[2][2:].T
    some = np.linalg.lstsq(balances, constants, rcond=None)[0]
    nearest = least_squares(
        lambda t: np.linalg.solve(root, some + free @ t - measured.mean), np.zeros(3), xtol=1e-14
    )
    found = adjusted(measured, balances, constants)
    assert found.after.mean == pytest.approx(some + free @ nearest.x, rel=1e-6)
    assert found.test.statistic == pytest.approx(2.0 * nearest.cost, rel=1e-6)
    assert balances @ found.after.covariance == pytest.approx(np.zeros((2, 5)), abs=1e-9)


def test_a_balance_said_twice_changes_nothing() -> None:
    """What it asks counts once, and so do its degrees of freedom."""
    measured = Gaussian.independent(np.array([1.0, 2.0, 4.0]), np.array([0.1, 0.2, 0.3]))
    once = adjusted(measured, np.array([[1.0, 1.0, -1.0]]), np.zeros(1))
    twice = adjusted(measured, np.array([[1.0, 1.0, -1.0], [2.0, 2.0, -2.0]]), np.zeros(2))
    assert twice.after.mean == pytest.approx(once.after.mean, rel=1e-12)
    assert (twice.test.freedom, once.test.freedom) == (1, 1)
    assert twice.test.statistic == pytest.approx(1.0 / 0.14, rel=1e-12)


def test_what_is_known_exactly_stays_as_it_is_and_may_contradict() -> None:
    """Of 1 + 2 = 4 with the sum and a part exact, the other part takes it all."""
    balance = np.array([[1.0, 1.0, -1.0]])
    known = Gaussian.independent(np.array([1.0, 2.0, 4.0]), np.array([0.0, 0.2, 0.0]))
    assert adjusted(known, balance, np.zeros(1)).after.mean == pytest.approx([1.0, 3.0, 4.0])
    exact = Gaussian.independent(np.array([1.0, 2.0, 4.0]), np.zeros(3))
    with pytest.raises(ValueError, match="contradict"):
        adjusted(exact, balance, np.zeros(1))


def test_what_no_balance_holds_is_neither_corrected_nor_suspected() -> None:
    """The second quantity stands in no balance; the others are 10 sd apart."""
    measured = Gaussian.independent(np.array([0.0, 7.0, 10.0]), np.ones(3))
    found = adjusted(measured, np.array([[1.0, 0.0, -1.0]]), np.zeros(1))
    assert found.after.mean == pytest.approx([5.0, 7.0, 5.0])
    assert found.standardised[1] == 0.0
    assert np.isnan(found.by_others[1])
    assert found.by_others[[0, 2]] == pytest.approx([10.0, 0.0])
    assert found.suspects == (0, 2)


def test_a_negative_variance_is_refused() -> None:
    """Correlations of −0.9 between all three of three quantities can't be."""
    impossible = Gaussian(np.zeros(3), np.full((3, 3), -0.9) + 1.9 * np.eye(3))
    with pytest.raises(ValueError, match="negative variance"):
        adjusted(impossible, np.ones((1, 3)), np.zeros(1))


def test_two_errors_are_both_named_and_neither_explains_it_alone() -> None:
    """Five readings of one quantity, two of them off either way: without one, χ² still fails."""
    read = Gaussian.independent(np.array([0.0, 0.1, -0.1, 8.0, -8.0]), np.ones(5))
    balances = np.hstack([np.ones((4, 1)), -np.eye(4)])
    found = adjusted(read, balances, np.zeros(4))
    assert found.suspects == (3, 4)
    assert not found.explains.any()
    one = Gaussian.independent(np.array([0.0, 0.1, -0.1, 8.0, 0.2]), np.ones(5))
    found = adjusted(one, balances, np.zeros(4))
    assert found.suspects == (3,)
    assert found.explains.tolist() == [False, False, False, True, False]


@pytest.mark.parametrize(("sd", "named"), [(5.0, (1,)), (9.0, (0, 1))])
def test_an_error_that_is_far_likelier_is_named_alone(sd: float, named: tuple[int, ...]) -> None:
    """A quantity read as 0 and 20, and as 0 by a coarse gauge; ten pairs that fit raise χ²'s limit.

    Without the first, the rest misses by 20² ÷ (1 + sd²); without the second, by nothing. Either
    would do alone; by exp(15.4 ÷ 2), but not by exp(4.9 ÷ 2), the second is over 20 times likelier.
    """
    pairs = np.kron(np.eye(10), [1.0, -1.0])
    balances = np.zeros((12, 23))
    balances[0, :2] = balances[1, 1:3] = 1.0, -1.0
    balances[2:, 3:] = pairs
    values, sds = np.zeros(23), np.ones(23)
    values[1], sds[2] = 20.0, sd
    found = adjusted(Gaussian.independent(values, sds), balances, np.zeros(12))
    left = found.test.statistic - found.standardised**2
    assert left[:2] == pytest.approx([400.0 / (1.0 + sd**2), 0.0], abs=1e-9)
    assert found.explains[:2].all()
    assert found.suspects == named

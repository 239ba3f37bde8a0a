"""Learned spreads against closed forms and simulated populations."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import chi2, multivariate_normal

from optimizer.spread.learning import Members
from shared.arrays import Array

N = 10


def _alike(values: Array, gauge: float) -> Members:
    """Return members that were measured one by one, with one gauge."""
    n = len(values)
    return Members(values, np.eye(n) * gauge**2, np.ones((n, 1)), [np.eye(n)])


def test_members_measured_alike_have_a_closed_form() -> None:
    """τ² is the sample variance less the gauge's; the likelihood is χ²'s of n − 1 degrees.

    With S² = Σ(y − ȳ)² and v = τ² + s², twice its log is −(n − 1) log v − S² ÷ v.
    """
    values, gauge = np.random.default_rng(1).normal(1.4, 0.02, N), 0.004
    square = (N - 1) * values.var(ddof=1)
    (found,) = _alike(values, gauge).learned(np.array([0.01]))
    assert found.sd == pytest.approx(np.sqrt(square / (N - 1) - gauge**2), rel=1e-5)

    def over(v: float) -> float:
        best = square / (N - 1)
        lost = (N - 1) * np.log(v / best) + square / v - square / best
        return float(lost - chi2.ppf(0.95, 1))

    ends = [brentq(over, 1e-6, square / (N - 1)), brentq(over, square / (N - 1), 1.0)]
    expected = np.sqrt(np.array(ends) - gauge**2)
    assert [found.low, found.high] == pytest.approx(expected, rel=3e-4)


def test_the_likelihood_is_that_of_the_contrasts_and_has_its_slopes() -> None:
    """The normal density of what two means leave, by scipy; differences for the slopes."""
    random = np.random.default_rng(2)
    means, effects = random.normal(size=(8, 2)), [random.normal(size=(8, q)) for q in (8, 3)]
    members = Members(random.normal(size=8), np.eye(8) * 0.3, means, effects)
    sds = np.array([0.7, 1.1])
    left = np.linalg.svd(means)[0][:, 2:].T
    whole = np.eye(8) * 0.3 + sum(t**2 * Z @ Z.T for t, Z in zip(sds, effects, strict=True))
    law = multivariate_normal(np.zeros(6), left @ whole @ left.T)
    value, slopes = members.log_likelihood(sds)
    constant = 3.0 * np.log(2.0 * np.pi)
    assert value - constant == pytest.approx(law.logpdf(left @ members.values), rel=1e-9)
    for j, step in enumerate(1e-5 * np.eye(2)):
        change = members.log_likelihood(sds + step)[0] - members.log_likelihood(sds - step)[0]
        assert slopes[j] == pytest.approx(change / 2e-5, rel=1e-6)


def test_blocks_are_the_same_members_quicker() -> None:
    """Blocks of 3, 1 and 4, out of order; a column in two of them, and a known one in all."""
    random = np.random.default_rng(7)
    blocks = np.array([2, 0, 2, 1, 0, 2, 0, 2])
    own = np.array([random.normal(size=8) * (blocks == b) for b in (0, 1, 2)]).T
    effects = [own, random.normal(size=(8, 1)) * (blocks != 1)[:, None]]
    known, means = random.normal(size=(8, 2)), random.normal(size=(8, 2))
    values, covariance = random.normal(size=8), np.diag(random.uniform(0.1, 0.4, 8))
    covariance[0, 2] = covariance[2, 0] = 0.05
    parted = Members(values, covariance, means, effects, known, blocks)
    dense = Members(values, covariance + known @ known.T, means, effects)
    for sds in ([0.7, 1.1], [2.0, 0.3], [0.5, 0.0]):
        value, slopes = parted.log_likelihood(np.array(sds))
        expected, likewise = dense.log_likelihood(np.array(sds))
        assert value == pytest.approx(expected, rel=1e-10)
        assert slopes == pytest.approx(likewise, rel=1e-9, abs=1e-12)


def test_a_sum_is_told_from_its_terms() -> None:
    """Two effects of the same columns: together they aren't 0, and either may be."""
    values = np.random.default_rng(8).normal(1.4, 0.02, N)
    same = Members(values, np.eye(N) * 1e-6, np.ones((N, 1)), [np.eye(N), np.eye(N)])
    found = same.learned(np.array([0.01, 0.01]))
    assert same.together(found) == (0, 1)
    alone = _alike(values, 0.001)
    assert alone.together(alone.learned(np.array([0.01]))) == ()


def test_members_nearer_than_their_gauge_may_not_be_spread_at_all() -> None:
    """Readings alike to a tenth of the gauge's sd: 0 is likeliest, and the upper end is known."""
    (found,) = _alike(1.4 + 0.001 * np.linspace(-1, 1, N), 0.01).learned(np.array([0.02]))
    assert found.sd == pytest.approx(0.0, abs=1e-6)
    assert found.low == 0.0
    assert 0.0 < found.high < 0.02


def test_two_members_set_hardly_an_upper_end_and_one_shows_nothing() -> None:
    (found,) = _alike(np.array([1.40, 1.43]), 0.001).learned(np.array([0.02]))
    assert found.sd == pytest.approx(0.03 / np.sqrt(2.0), rel=0.01)
    assert found.high > 10 * found.sd
    with pytest.raises(ValueError, match="too few"):
        _alike(np.array([1.4]), 0.001).learned(np.array([0.02]))


def test_what_nothing_measures_has_no_interval() -> None:
    """The second effect moves no value: its likelihood is flat from 0 on."""
    values = np.random.default_rng(4).normal(size=N)
    members = Members(values, np.eye(N) * 0.01, np.ones((N, 1)), [np.eye(N), np.zeros((N, N))])
    seen, unseen = members.learned(np.array([1.0, 1.0]))
    assert seen.high < np.inf
    assert (unseen.low, unseen.high) == (0.0, np.inf)


@pytest.mark.slow
def test_intervals_hold_the_spread_of_simulated_shops() -> None:
    """10 balls each of 150 shops: 95 % intervals hold the true spread in 90 to 99 % of them.

    And the spread isn't drawn together: its root mean square is right, to 5 %.
    """
    random, held, squares = np.random.default_rng(5), 0, 0.0
    for _ in range(150):
        values = random.normal(1.4, 0.02, N) + random.normal(0.0, 0.008, N)
        (found,) = _alike(values, 0.008).learned(np.array([0.01]))
        held += found.low <= 0.02 <= found.high
        squares += found.sd**2
    assert 0.90 <= held / 150 <= 0.99
    assert np.sqrt(squares / 150) == pytest.approx(0.02, rel=0.05)


@pytest.mark.slow
def test_several_spreads_are_told_from_figures_that_mix_them() -> None:
    """Two materials seen in two castings and a weight of each of 10 balls; 40 shops."""
    random, truth, held = np.random.default_rng(6), np.array([0.008, 0.03]), 0
    rows = np.array([[4.2, 0.26], [0.0, 0.26], [4.2, 0.0]])
    means = np.tile(rows, (N, 1))
    effects = [np.kron(np.eye(N), rows[:, [j]]) for j in range(2)]
    covariance = np.eye(3 * N) * 0.002**2
    for _ in range(40):
        densities = random.normal([1.15, 2.1], truth, (N, 2))
        values = (densities @ rows.T).ravel() + random.normal(0.0, 0.002, 3 * N)
        found = Members(values, covariance, means, effects).learned(np.array([0.01, 0.01]))
        held += sum(f.low <= sd <= f.high for f, sd in zip(found, truth, strict=True))
    assert 0.90 <= held / 80 <= 0.99

"""Shares of variance and joint shares against closed forms and published values."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from optimizer.spread.linear import MOST, joint_share, variance_shares

SLOPES = st.lists(st.floats(-3.0, 3.0), min_size=1, max_size=5)


def _covariance(seed: int, d: int) -> np.ndarray:
    random = np.random.default_rng(seed)
    root = random.normal(size=(d, d))
    return np.asarray(root @ root.T)


def test_independent_sources_share_by_their_squares() -> None:
    """(slope · sd)² ÷ variance: 9, 16 and 0 of 25."""
    slopes, sd = np.array([3.0, -2.0, 0.0]), np.array([1.0, 2.0, 5.0])
    assert variance_shares(slopes, np.diag(sd**2)) == pytest.approx([0.36, 0.64, 0.0], rel=1e-12)


@given(SLOPES, st.integers(0, 1000))
def test_shares_add_up_and_are_never_negative(slopes: list[float], seed: int) -> None:
    """More known never explains less: each source's share is a mean of what isn't negative."""
    d = len(slopes)
    covariance = _covariance(seed, d)
    shares = variance_shares(np.array(slopes), covariance)
    assert np.all(shares >= -1e-9)
    if np.array(slopes) @ covariance @ slopes > 1e-12:
        assert shares.sum() == pytest.approx(1.0, abs=1e-9)


@given(st.floats(-2, 2), st.floats(-2, 2), st.floats(0.1, 3), st.floats(0.1, 3), st.floats(-1, 1))
def test_two_correlated_normals_have_a_closed_form(
    a: float, b: float, s: float, t: float, r: float
) -> None:
    """With u = a s, v = b t: (u² + u v r + r²(v² − u²)/2) ÷ (u² + 2 u v r + v²).

    Owen and Prieur (2017, from memory). Of the first: alone it explains (u + r v)²; after the
    other, u²(1 − r²). Half of both together.
    """
    u, v = a * s, b * t
    total = u * u + 2 * u * v * r + v * v
    covariance = np.array([[s * s, r * s * t], [r * s * t, t * t]])
    if total < 1e-3:
        return
    shares = variance_shares(np.array([a, b]), covariance)
    known = (u * u + u * v * r + r * r * (v * v - u * u) / 2) / total
    if abs(r) < 1.0 - 1e-9:
        assert shares == pytest.approx([known, 1.0 - known], abs=1e-6)


def test_shapleys_shares_by_every_order_of_the_sources() -> None:
    """Brute force: what each adds to the variance explained by those before it, by regression."""
    slopes, covariance = np.array([1.0, -0.5, 2.0, 0.3]), _covariance(5, 4)

    def explained(known: tuple[int, ...]) -> float:
        if not known:
            return 0.0
        k = list(known)
        rest = (
            covariance
            - covariance[:, k] @ np.linalg.inv(covariance[np.ix_(k, k)]) @ (covariance[k, :])
        )
        return float(slopes @ (covariance - rest) @ slopes)

    added = np.zeros(4)
    for order in permutations(range(4)):
        for place, i in enumerate(order):
            added[i] += (explained(order[: place + 1]) - explained(order[:place])) / 24
    total = float(slopes @ covariance @ slopes)
    assert variance_shares(slopes, covariance) == pytest.approx(added / total, rel=1e-9)


def test_groups_that_are_independent_are_shared_alone() -> None:
    """One correlated pair among many independent ones: no more sources than MOST in a group."""
    d = MOST + 8
    covariance = np.eye(d)
    covariance[0, 5] = covariance[5, 0] = 0.6
    shares = variance_shares(np.ones(d), covariance)
    assert shares[[1, 2, 3, 4]] == pytest.approx(1.0 / (d + 1.2))
    assert shares[[0, 5]] == pytest.approx(1.6 / (d + 1.2))  # alike, so they share evenly
    with pytest.raises(ValueError, match=f"at most {MOST}"):
        variance_shares(np.ones(d), np.eye(d) + 0.1)


def test_what_does_not_vary_has_no_shares() -> None:
    assert variance_shares(np.array([1.0, 2.0]), np.zeros((2, 2))) == pytest.approx([0.0, 0.0])
    assert variance_shares(np.zeros(2), np.eye(2)) == pytest.approx([0.0, 0.0])


def test_genzs_trivariate_normal() -> None:
    """Genz (1992): 0.82798 below (1, 4, 2), correlations 3/5, 1/3, 11/15 (from memory)."""
    covariance = np.array([[1.0, 3 / 5, 1 / 3], [3 / 5, 1.0, 11 / 15], [1 / 3, 11 / 15, 1.0]])
    low, high = np.full(3, -np.inf), np.array([1.0, 4.0, 2.0])
    found = joint_share(np.zeros(3), covariance, low, high)
    assert found == pytest.approx(0.82798, abs=1e-5)
    scale, mean = np.array([2.0, 0.1, 30.0]), np.array([5.0, -1.0, 100.0])
    scaled = covariance * np.outer(scale, scale)
    assert joint_share(mean, scaled, low, mean + scale * high) == pytest.approx(found, abs=1e-6)


def test_independent_normals_multiply() -> None:
    """(2Φ(1) − 1)(Φ(2) − Φ(−0.5)), a third that has no limits, and one that doesn't vary."""
    low, high = np.array([-1.0, -0.5, -np.inf, 0.0]), np.array([1.0, 2.0, np.inf, 1.0])
    covariance = np.diag([1.0, 1.0, 1.0, 0.0])
    known = (2 * norm.cdf(1) - 1) * (norm.cdf(2) - norm.cdf(-0.5))
    mean = np.array([0.0, 0.0, 0.0, 0.5])
    assert joint_share(mean, covariance, low, high) == pytest.approx(known, abs=1e-6)
    assert joint_share(mean - 1.0 * np.eye(4)[3], covariance, low, high) == 0.0


def test_figures_that_move_as_one_count_once() -> None:
    """The same figure twice: a singular covariance."""
    one = joint_share(np.zeros(1), np.eye(1), np.array([-1.0]), np.array([1.5]))
    both = joint_share(np.zeros(2), np.ones((2, 2)), np.array([-1.0, -2]), np.array([1.5, 3]))
    assert one == pytest.approx(norm.cdf(1.5) - norm.cdf(-1.0), abs=1e-9)
    assert both == pytest.approx(one, abs=1e-4)


def test_figures_that_hardly_vary_are_inside_or_outside() -> None:
    """Rounding may make a variance a little negative or tiny; the share is then 1 or 0."""
    for variance in (1e-30, 0.0, -1e-30):
        covariance = np.array([[variance]])
        assert joint_share(np.zeros(1), covariance, np.array([-1.0]), np.array([1.0])) == 1.0
        assert joint_share(np.zeros(1), covariance, np.array([0.5]), np.array([1.0])) == 0.0

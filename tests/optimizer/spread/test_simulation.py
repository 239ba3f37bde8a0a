"""Intervals and moments against closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binomtest, norm, t

from optimizer.spread.simulation import Moments, share


@pytest.mark.parametrize(("count", "of"), [(0, 100), (1, 50), (37, 50), (50, 50), (1234, 65536)])
def test_one_scrambling_has_clopper_and_pearsons_interval(count: int, of: int) -> None:
    """As scipy's exact binomial test has it."""
    known = binomtest(count, of).proportion_ci(0.95, "exact")
    found = share([count], [of])
    assert (found.low, found.high) == pytest.approx((known.low, known.high), abs=1e-12)
    assert found.value == count / of


def test_nothing_counted_is_a_bound() -> None:
    """1 − 0.025^(1/n), the closed form of none in n, and its mirror."""
    high = 1.0 - 0.025 ** (1.0 / 1000)
    none, every = share([0, 0], [500, 500]), share([500, 500], [500, 500])
    assert (none.low, none.high) == pytest.approx((0.0, high), rel=1e-9)
    assert (every.low, every.high) == pytest.approx((1.0 - high, 1.0), rel=1e-9)


def test_scramblings_that_differ_widen_it() -> None:
    """Student over them: 0.2, 0.4 and 0.6 have a standard error of 0.2/√3."""
    found = share([200, 400, 600], [1000] * 3)
    reach = t.ppf(0.975, 2) * 0.2 / np.sqrt(3)
    assert (found.low, found.high) == pytest.approx((max(0, 0.4 - reach), 0.4 + reach), rel=1e-12)


def test_it_is_never_narrower_than_of_independent_samples() -> None:
    """Scramblings that happen to agree say no more than their number."""
    found, known = share([400] * 16, [1000] * 16), binomtest(6400, 16000).proportion_ci(0.95)
    assert (found.low, found.high) == pytest.approx((known.low, known.high), abs=1e-12)


def test_moments_of_pieces_are_those_of_the_whole() -> None:
    values = np.random.default_rng(4).normal(1e6, 3.0, 10_001)
    found = Moments()
    for piece in np.array_split(values, [5, 4000, 4001]):
        found.add(piece)
    assert found.mean == pytest.approx(float(values.mean()), rel=1e-15)
    assert found.sd == pytest.approx(float(values.std(ddof=1)), rel=1e-9)
    assert found.quantile(0.3) == pytest.approx(float(np.quantile(values, 0.3)), abs=0.02)


def test_quantiles_are_to_a_cell() -> None:
    """Evenly spaced normal quantiles, shuffled; 4096 cells over about ± 7.6."""
    values = norm.ppf((np.arange(100_000) + 0.5) / 100_000)
    np.random.default_rng(2).shuffle(values)
    found = Moments()
    for piece in np.array_split(values, 12):
        found.add(piece)
    for part in (0.001, 0.025, 0.5, 0.9, 0.975):
        assert found.quantile(part) == pytest.approx(norm.ppf(part), abs=16 / 4096)


def test_a_piece_without_samples_changes_nothing() -> None:
    """All balls of a piece may be without a low-RG axis."""
    found = Moments()
    found.add(np.zeros(0))
    assert found.count == 0
    assert np.isnan([found.mean, found.sd, found.quantile(0.5)]).all()
    found.add(np.array([0.25, 0.75]))
    found.add(np.zeros(0))
    assert (found.count, found.mean) == (2, 0.5)


def test_what_never_varies_is_its_own_quantile() -> None:
    found = Moments()
    for _ in range(3):
        found.add(np.full(9, 0.25))
    assert (found.mean, found.sd, found.quantile(0.1)) == (0.25, 0.0, 0.25)


def test_a_figure_that_never_falls_below_a_kink_keeps_its_quantiles() -> None:
    """A length √(x² + y²) has no slope at 0; of two unit normals it is Rayleigh's: √(−2 ln(1 − p)).

    To first order it doesn't vary at all: the histogram's range is its own.
    """
    x, y = np.random.default_rng(9).normal(size=(2, 200_000))
    found = Moments()
    for piece in np.array_split(np.hypot(x, y), 20):
        found.add(piece)
    for part in (0.025, 0.5, 0.975):
        assert found.quantile(part) == pytest.approx(np.sqrt(-2 * np.log(1 - part)), abs=0.01)

"""Estimates against Kalman's gains, scipy's least squares, and simulated shops."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import least_squares

from optimizer.spread.adjustment import Gaussian
from optimizer.spread.estimation import Estimate, Model, estimated
from shared.arrays import Array

VOLUMES = np.array([4200.0, 900.0, 260.0])
"""cm³: a shell, a core and an insert."""
PRIOR = Gaussian.independent(np.array([1.15, 1.45, 2.1]), np.array([0.008, 0.017, 0.03]))
"""g/cm³."""
ROWS = np.vstack(
    [
        VOLUMES,
        VOLUMES * [0, 1, 1],
        VOLUMES * [0, 0, 1],
        VOLUMES * [9.0, 3.0, 1.5] / 1000,
        VOLUMES,
    ]
)
"""The ball's weight, two castings' masses, an inertia in kg cm², the weight again."""
GAUGES = np.array([2.0, 1.0, 1.0, 0.05, 2.0])


def _linear(rows: Array) -> Model:
    return lambda parameters: (rows @ parameters, rows)


def _estimated(values: Array, rows: Array = ROWS, gauges: Array = GAUGES) -> Estimate:
    return estimated(PRIOR, Gaussian.independent(values, gauges), _linear(rows))


def _kalman(values: Array) -> tuple[Array, Array]:
    """Take in one measurement after another, by Kalman's gain."""
    mean, covariance = PRIOR.mean, PRIOR.covariance
    for row, value, gauge in zip(ROWS, values, GAUGES, strict=True):
        gain = covariance @ row / (row @ covariance @ row + gauge**2)
        mean = mean + gain * (value - row @ mean)
        covariance = covariance - np.outer(gain, row @ covariance)
    return mean, covariance


def _shop(random: np.random.Generator) -> tuple[Array, Array]:
    """Return the densities of a shop drawn from the prior, and what its gauges read."""
    truth = random.normal(PRIOR.mean, PRIOR.sd)
    return truth, ROWS @ truth + random.normal(0.0, GAUGES)


def test_a_kalman_filter_agrees() -> None:
    """All measurements at once are as good as one after another."""
    _, values = _shop(np.random.default_rng(1))
    found, (mean, covariance) = _estimated(values), _kalman(values)
    assert found.settled
    assert found.parameters.mean == pytest.approx(mean, rel=1e-9)
    assert found.parameters.covariance == pytest.approx(covariance, rel=1e-6, abs=1e-14)
    assert found.test.freedom == len(ROWS)
    off = values - ROWS @ PRIOR.mean
    spread = ROWS @ PRIOR.covariance @ ROWS.T + np.diag(GAUGES**2)
    assert found.test.statistic == pytest.approx(off @ np.linalg.solve(spread, off), rel=1e-8)


def test_a_wide_prior_leaves_it_to_the_data() -> None:
    """With a prior ten million times as wide, the estimate is that of least squares alone."""
    _, values = _shop(np.random.default_rng(2))
    wide = Gaussian(PRIOR.mean, PRIOR.covariance * 1e14)
    found = estimated(wide, Gaussian.independent(values, GAUGES), _linear(ROWS))
    weighed = ROWS / GAUGES[:, None]
    alone = np.linalg.lstsq(weighed, values / GAUGES, rcond=None)[0]
    assert found.parameters.mean == pytest.approx(alone, rel=1e-7)
    assert found.parameters.covariance == pytest.approx(
        np.linalg.inv(weighed.T @ weighed), rel=1e-5
    )


def _radius(parameters: Array) -> tuple[Array, Array]:
    """Return a mass and the root of inertia ÷ mass, with their derivatives."""
    mass, inertia = ROWS[0] @ parameters, 1000.0 * ROWS[3] @ parameters
    radius = np.sqrt(inertia / mass)
    slope = (1000.0 * ROWS[3] / mass - inertia / mass**2 * ROWS[0]) / (2.0 * radius)
    return np.array([mass, radius]), np.vstack([ROWS[0], slope])


def test_least_squares_agrees_where_the_model_bends() -> None:
    """Least squares (scipy) with the prior as further residuals; an RG is no linear figure."""
    wide = Gaussian(PRIOR.mean, 400.0 * PRIOR.covariance)
    measured = Gaussian.independent(np.array([6900.0, 2.52]), np.array([2.0, 0.002]))
    found = estimated(wide, measured, _radius)
    alone = least_squares(
        lambda p: np.concatenate([
            (p - wide.mean) / wide.sd, (_radius(p)[0] - measured.mean) / measured.sd,
        ]),
        wide.mean, xtol=1e-15, ftol=1e-15, gtol=1e-15, x_scale=wide.sd,
    )  # fmt: skip
    assert found.settled
    assert found.parameters.mean == pytest.approx(alone.x, rel=1e-6)
    assert found.parameters.covariance == pytest.approx(
        np.linalg.inv(alone.jac.T @ alone.jac), rel=1e-3
    )
    assert found.test.statistic == pytest.approx(2.0 * alone.cost, rel=1e-6)


def test_steps_that_overshoot_are_shortened() -> None:
    """Gauss and Newton's step for atan θ = 0 from θ = 2 overshoots: it runs away from 1.4 on."""
    prior = Gaussian.independent(np.array([2.0]), np.array([1e4]))
    measured = Gaussian.independent(np.array([0.0]), np.array([0.01]))
    found = estimated(prior, measured, lambda p: (np.arctan(p), np.diag(1.0 / (1.0 + p**2))))
    assert found.settled
    assert found.parameters.mean == pytest.approx([0.0], abs=1e-6)


def test_a_model_with_wrong_slopes_is_not_called_settled() -> None:
    """With the slope's sign wrong, no step comes nearer."""
    prior = Gaussian.independent(np.array([0.0]), np.array([1.0]))
    measured = Gaussian.independent(np.array([1.0]), np.array([0.1]))
    assert not estimated(prior, measured, lambda p: (p, -np.eye(1))).settled


def test_intervals_hold_the_densities_of_simulated_shops() -> None:
    """500 shops drawn from the prior: each part's 95 % interval holds in 93 to 97 % of them.

    The three parts together: by chance alone 1500 cases are outside that once in 2000.
    """
    random, held = np.random.default_rng(5), 0
    for _ in range(500):
        truth, values = _shop(random)
        low, high = _estimated(values).parameters.intervals.T
        held += int(np.count_nonzero((low <= truth) & (truth <= high)))
    assert 0.93 <= held / 1500 <= 0.97


def test_a_typo_of_a_third_of_a_pound_is_flagged_and_named() -> None:
    """136 g on a weighing: flagged in at least 95 % of shops, and named in as many of them."""
    random, flagged, named = np.random.default_rng(6), 0, 0
    for _ in range(300):
        _, values = _shop(random)
        values[4] += 0.3 * 453.59237
        found = _estimated(values)
        flagged += not found.test.passed
        named += 4 in found.suspects and len(found.suspects) <= 2
    assert flagged >= 285
    assert named >= 285


def test_a_sound_shop_is_seldom_accused() -> None:
    """The global test fails by chance in 5 % of 500 shops, give or take three sds."""
    random = np.random.default_rng(7)
    failed = sum(not _estimated(_shop(random)[1]).test.passed for _ in range(500))
    assert 10 <= failed <= 40


def test_a_single_weighing_cannot_tell_the_gauge_from_the_pours() -> None:
    """One measurement, 300 g off: the scale or any of the parts, all equally far off."""
    found = _estimated(ROWS[:1] @ PRIOR.mean + 300.0, ROWS[:1], GAUGES[:1])
    assert found.suspects == (0,)
    assert found.unlikely == (0, 1, 2)
    assert np.abs(found.shifts) == pytest.approx(np.abs(found.residuals[0]), rel=1e-9)


def test_a_density_far_off_is_not_blamed_on_the_gauges() -> None:
    """All measurements agree that the insert is 0.3 g/cm³ too dense: ten sds of the prior."""
    found = _estimated(ROWS @ (PRIOR.mean + np.array([0.0, 0.0, 0.3])))
    assert found.unlikely == (2,)
    assert found.suspects == ()


def test_what_others_say_of_a_weighing_is_what_they_say_without_it() -> None:
    """Leave the casting's line out, estimate, and predict it."""
    _, values = _shop(np.random.default_rng(8))
    others = [0, 2, 3, 4]
    without = _estimated(values[others], ROWS[others], GAUGES[others])
    predicted = ROWS[1] @ without.parameters.mean
    assert _estimated(values).by_others[1] == pytest.approx(predicted, rel=1e-9)


def test_what_the_data_narrow_and_what_they_cannot_tell_apart() -> None:
    """Only the ball's weight is known: with wide priors two parts trade against each other.

    Of independent priors with V sd alike the sd falls to √½, and the correlation is −1.
    """
    prior = Gaussian.independent(np.array([1.0, 1.0]), np.array([0.1, 0.1]))
    measured = Gaussian.independent(np.array([2.0]), np.array([1e-4]))
    found = estimated(prior, measured, _linear(np.ones((1, 2))))
    assert found.narrowed == pytest.approx(np.sqrt([0.5, 0.5]), rel=1e-5)
    assert found.parameters.inseparable == [(0, 1)]
    apart = estimated(prior, Gaussian.independent(np.ones(1), np.ones(1)), _linear(np.eye(2)[:1]))
    assert apart.narrowed[1] == pytest.approx(1.0, rel=1e-12)
    assert apart.parameters.inseparable == []


def test_a_measurement_without_uncertainty_is_refused() -> None:
    with pytest.raises(ValueError, match="without any uncertainty"):
        _estimated(ROWS[:1] @ PRIOR.mean, ROWS[:1], np.zeros(1))


def test_what_rounding_hides_is_no_reason_to_give_up() -> None:
    """A curved figure that is known to 1e-13: χ² is flat to rounding before the estimate settles.

    Its minimum, with x the prior's and y the reading's: (x − 1) ÷ 0.1² + 3x² (x³ − y) ÷ 0.01² = 0.
    """
    prior = Gaussian.independent(np.array([1.0]), np.array([0.1]))

    def cube(x: Array) -> tuple[Array, Array]:
        return np.round(x**3, 13), 3.0 * np.square(x)[:, None]

    for y in np.random.default_rng(8).normal(1.0, 0.3, 300):
        found = estimated(prior, Gaussian.independent(np.array([y]), np.array([0.01])), cube)
        (x,) = found.parameters.mean
        assert found.settled
        assert (x - 1.0) / 0.01 + 3.0 * x**2 * (x**3 - y) / 1e-4 == pytest.approx(0.0, abs=0.01)

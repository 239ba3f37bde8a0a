"""Tolerances of least cost, against their closed form and another solver."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from optimizer.spread.allocation import ToleranceProgram
from shared.arrays import Array


def free(slopes: Array, price: Array) -> ToleranceProgram:
    """Return the program of independent sources whose ends don't matter."""
    count = len(price)
    ends = np.full(count, 1e-3), np.full(count, 10.0)
    return ToleranceProgram(np.atleast_2d(slopes), np.eye(count), price, *ends)


def test_one_figure_has_the_closed_form() -> None:
    """tᵢ ∝ (Bᵢ/aᵢ²)^⅓: the gradients of cost and variance are parallel, −Bᵢ/tᵢ² = −2λaᵢ²tᵢ."""
    program = free(np.array([1.0, 2.0, 0.5]), np.array([1.0, 1.0, 4.0]))
    found = program.cheapest(np.array([0.1]))
    np.testing.assert_allclose(found, [0.048942, 0.030832, 0.123326], atol=1e-6)


@given(
    st.lists(
        st.tuples(st.floats(0.2, 5.0), st.floats(0.2, 5.0)),
        min_size=2,
        max_size=5,
    ),
    st.floats(0.02, 0.5),
)
@settings(max_examples=30, deadline=None)
def test_one_figure_has_the_closed_form_for_any_prices(
    each: list[tuple[float, float]], allowed: float
) -> None:
    slopes, price = np.array(each).T
    shape = (price / slopes**2) ** (1.0 / 3.0)
    expected = shape * allowed / np.linalg.norm(slopes * shape)
    found = free(slopes, price).cheapest(np.array([allowed]))
    np.testing.assert_allclose(found, expected, rtol=1e-4)


@pytest.mark.parametrize("seed", range(4))
def test_several_figures_of_correlated_sources_agree_with_another_solver(seed: int) -> None:
    """Sequential least squares, in logarithms, from the least tolerances, on the same rows."""
    random = np.random.default_rng(seed)
    slopes, price = random.normal(size=(3, 4)), random.uniform(0.5, 2.0, 4)
    correlation = np.eye(4)
    correlation[0, 1] = correlation[1, 0] = -0.4
    least, most = np.full(4, 0.1), np.full(4, 1.0)

    def sds(t: Array) -> Array:
        return np.sqrt(np.einsum("ji,ik,jk->j", slopes * t, correlation, slopes * t))

    allowed = 0.6 * sds(most)
    program = ToleranceProgram(slopes, correlation, price, least, most)
    np.testing.assert_allclose(program.sd(most), sds(most), rtol=1e-12)
    found = program.cheapest(allowed)
    other = minimize(
        lambda z: np.sum(price * np.exp(-z)),
        np.log(least),
        method="SLSQP",
        bounds=list(zip(np.log(least), np.log(most), strict=True)),
        constraints={"type": "ineq", "fun": lambda z: allowed - sds(np.exp(z))},
        options={"ftol": 1e-12, "maxiter": 500},
    )
    assert other.success
    assert np.all(sds(found) <= allowed * (1.0 + 1e-6))
    assert program.cost(found) == pytest.approx(other.fun, rel=1e-5)


def test_the_least_tolerances_are_the_end() -> None:
    """Nothing tighter than the least is asked for, and nothing looser than the most."""
    least, most = np.array([0.2, 0.3]), np.array([1.0, 1.0])
    program = ToleranceProgram(np.array([[1.0, 1.0]]), np.eye(2), np.ones(2), least, most)
    np.testing.assert_allclose(program.cheapest(np.array([1e-6])), least, rtol=1e-3)
    np.testing.assert_allclose(program.cheapest(np.array([1e3])), most, rtol=1e-6)


def test_a_source_that_moves_nothing_stays_as_wide_as_it_is() -> None:
    program = ToleranceProgram(
        np.array([[1.0, 0.0], [0.0, 0.0]]), np.eye(2), np.ones(2), np.full(2, 0.1), np.ones(2)
    )
    found = program.cheapest(np.array([0.5, 0.1]))
    np.testing.assert_allclose(found, [0.5, 1.0], rtol=1e-5)

"""Krieger and Dougherty's formula, against printed values and backwards."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.mixing.pourability import loading_at, viscosity_at


@pytest.mark.parametrize(
    ("solids", "printed"),
    [
        (0.1, "1.3124"),
        (0.2, "1.8212"),
        (0.3, "2.7512"),
        (0.4, "4.8034"),
        (0.5, "11.378"),
        (0.55, "23.07"),
        (0.6, "84.45"),
    ],
)
def test_the_formula_gives_its_table(solids: float, printed: str) -> None:
    """φm = 0.64, [η] = 2.5: the formula of Trans. Soc. Rheol. 3 (1959) 137, computed beside it."""
    digits = len(printed.split(".")[1])
    assert f"{viscosity_at(solids, 0.64, 2.5):.{digits}f}" == printed


def test_a_thin_mix_follows_einstein() -> None:
    """η_r → 1 + [η]φ as φ → 0, whatever φm (Einstein 1906; from memory)."""
    assert viscosity_at(1e-7, 0.58, 3.1) == pytest.approx(1 + 3.1e-7, abs=1e-12)


def test_nothing_flows_at_the_packing() -> None:
    """From φm on the viscosity is infinite, not a number of a broken root."""
    assert viscosity_at(0.64, 0.64, 2.5) == math.inf
    assert viscosity_at(0.80, 0.64, 2.5) == math.inf


@given(viscosity=st.floats(1.001, 1e4), packing=st.floats(0.2, 0.9), intrinsic=st.floats(1.0, 10.0))
def test_the_loading_has_the_viscosity_that_was_named(
    viscosity: float, packing: float, intrinsic: float
) -> None:
    """The closed form is the formula backwards."""
    loading = loading_at(viscosity, packing, intrinsic)
    assert 0.0 < loading <= packing
    if loading < 0.999 * packing:  # nearer, a bit of the loading is much of the viscosity
        assert viscosity_at(loading, packing, intrinsic) == pytest.approx(viscosity, rel=1e-8)

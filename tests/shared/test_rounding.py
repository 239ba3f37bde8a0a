from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.rounding import fixed, rounded


@pytest.mark.parametrize(
    ("value", "digits", "told"),
    [
        (2.5, 0, "2"),
        (3.5, 0, "4"),
        (0.125, 2, "0.12"),
        (0.135, 2, "0.14"),
        (1.15, 1, "1.2"),
        (1.25, 1, "1.2"),
        (1.2501, 1, "1.3"),
        (-2.5, 0, "-2"),
        (-0.0004, 3, "0.000"),
        (1e-12, 4, "0.0000"),
        (7212.125, 2, "7212.12"),
    ],
)
def test_ties_go_to_the_even_digit(value, digits, told) -> None:
    """ASTM E29's rounding method: a 5 with nothing behind it goes to the even digit (from memory).

    The figure is what is written: 1.15 is one and fifteen hundredths, though its binary is less.
    """
    assert fixed(value, digits) == told


@given(st.floats(-1e6, 1e6), st.integers(0, 5))
def test_rounding_moves_a_figure_by_at_most_half_a_step_and_only_once(value, digits) -> None:
    step = Decimal(1).scaleb(-digits)
    once = rounded(value, digits)
    assert abs(once - Decimal(repr(value))) <= step / 2
    assert rounded(once, digits) == once

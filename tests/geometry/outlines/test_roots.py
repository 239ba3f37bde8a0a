"""Roots of polynomials, against those that they were made of."""

from __future__ import annotations

import numpy as np
import pytest

from geometry.solids.crossings import sign_changes


@pytest.mark.parametrize("degree", [1, 2, 4, 8])
def test_a_polynomial_changes_sign_at_the_roots_it_was_made_of(degree: int) -> None:
    roots = np.sort(np.random.default_rng(degree).uniform(-1.4, 1.4, (200, degree)), axis=1)
    c = np.array([np.polynomial.polynomial.polyfromroots(of) for of in roots])
    which, at = sign_changes(c)
    row, k = np.nonzero(np.abs(roots) < 1)
    order = np.lexsort((at, which))
    assert np.array_equal(which[order], row)
    off = np.abs(at[order] - roots[row, k])
    gap = np.diff(roots, axis=1, prepend=-9, append=9)
    clear = np.minimum(gap[:, 1:], gap[:, :-1])[row, k] > 0.03
    assert off[clear].max() < 1e-8
    assert np.median(off) < 1e-14


def test_a_root_without_a_change_of_sign_is_none() -> None:
    """x² touches 0 and x² + 1 does not reach it; x³ crosses it though its slope is 0 there."""
    which, at = sign_changes(np.array([[0.0, 0, 1, 0], [1.0, 0, 1, 0], [0.0, 0, 0, 1]]))
    assert which.tolist() == [2]
    assert at == pytest.approx([0.0], abs=1e-5)

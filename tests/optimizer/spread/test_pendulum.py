"""The torsion pendulum against a worked example and differences."""

from __future__ import annotations

import numpy as np
import pytest

from optimizer.spread.pendulum import TorsionPendulum

EXAMPLE = TorsionPendulum.calibrated(0.1924, 4.62, 1.21)


def test_the_worked_example_comes_out_to_its_digits() -> None:
    """0.1924 slug ft² at 4.62 s, empty 1.21 s: k 0.382 lbf ft, I₀ 0.014; 4.08 s means 0.147."""
    assert f"{EXAMPLE.stiffness:.3f} {EXAMPLE.empty:.3f}" == "0.382 0.014"
    assert f"{EXAMPLE.inertia(4.08):.3f}" == "0.147"
    assert EXAMPLE.inertia(4.62) == pytest.approx(0.1924, rel=1e-12)


def test_periods_lead_back_to_inertias_and_slopes_are_their_derivatives() -> None:
    """Central differences of either."""
    inertias, step = np.array([0.05, 0.147]), 1e-5
    periods = EXAMPLE.periods(inertias)
    assert [EXAMPLE.inertia(p) for p in periods] == pytest.approx(inertias, rel=1e-12)
    either = (EXAMPLE.periods(inertias + step) - EXAMPLE.periods(inertias - step)) / (2 * step)
    assert EXAMPLE.period_slopes(inertias) == pytest.approx(either, rel=1e-6)
    moved = (EXAMPLE.inertia(4.08 + step) - EXAMPLE.inertia(4.08 - step)) / (2 * step)
    assert EXAMPLE.inertia_slope(4.08) == pytest.approx(moved, rel=1e-8)


def test_impossible_periods_are_refused() -> None:
    with pytest.raises(ValueError, match="no longer than that of the empty table"):
        EXAMPLE.inertia(1.21)
    with pytest.raises(ValueError, match="longer than that of the empty table"):
        TorsionPendulum.calibrated(0.1924, 1.2, 1.21)

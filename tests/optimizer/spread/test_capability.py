"""Capability figures against worked numbers, and tables of the normal distribution."""

from __future__ import annotations

import math

import pytest

from optimizer.spread.capability import capability


def test_a_centred_process() -> None:
    """2/2.4, and 2 Φ(−2.5) = 0.01242 (from a table)."""
    found = capability(10.0, 0.4, 9.0, 11.0)
    assert found.cp == pytest.approx(0.8333, abs=5e-5)
    assert found.cpk == pytest.approx(found.cp, rel=1e-12)
    assert found.outside == pytest.approx(0.01242, abs=5e-6)


def test_a_process_off_its_middle() -> None:
    """0.5/1.2, and Φ(−1.25) + Φ(−3.75) = 0.10565 + 0.00009 (from a table)."""
    found = capability(10.5, 0.4, 9.0, 11.0)
    assert found.cp == pytest.approx(0.8333, abs=5e-5)
    assert found.cpk == pytest.approx(0.4167, abs=5e-5)
    assert found.outside == pytest.approx(0.10574, abs=5e-6)


def test_one_limit_only() -> None:
    """Three standard deviations below the limit: Cpk 1, Φ(−3) = 0.00134990 outside."""
    found = capability(1.0, 2.0, -math.inf, 7.0)
    assert (found.cp, found.cpk) == (math.inf, 1.0)
    assert found.outside == pytest.approx(0.00134990, abs=5e-9)


def test_a_mean_beyond_a_limit_is_a_negative_figure() -> None:
    assert capability(12.0, 0.5, 9.0, 11.0).cpk == pytest.approx(-2.0 / 3.0)

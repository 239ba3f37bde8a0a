"""When the target is out of reach: the ball within the limits that misses it least."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from oracles.balls import Ellipsoid, about_centre
from oracles.lineups import INCH, POUND, RADIUS

TEXT = (Path(__file__).parents[3] / "scenarios" / "two-pours.toml").read_text(encoding="utf-8")
TOLERANCE = (0.06 * POUND, 0.003 * INCH, 0.001 * INCH)
SOLIDS = (
    Ellipsoid((RADIUS,) * 3),
    Ellipsoid((2.6 * INCH, 2.6 * INCH, 3.2 * INCH), host=0),
)


def _worst(block, weight):
    """The largest deviation of two-pour balls, in tolerances, by the oracle; `block` (k,)."""
    unit = [about_centre(SOLIDS, one) for one in np.eye(2)]
    rho = np.column_stack([np.full_like(block, 1.18), block])
    mass = rho @ [one[0] for one in unit]
    across, along = (np.sqrt(rho @ [one[2][k, k] for one in unit] / mass) for k in (0, 2))
    low, high = np.minimum(across, along), np.maximum(across, along)
    off = [mass - weight * POUND, low - 2.6 * INCH, high - low - 0.030 * INCH]
    return np.max(np.abs(off) / np.array(TOLERANCE)[:, None], axis=0)


@pytest.fixture(scope="module")
def result(solved):
    return solved(TEXT)


def test_no_density_of_the_block_comes_nearer(result):
    """One density is free: 20 001 of them, over the whole range, are measured."""
    assert result.status == "infeasible"
    wanted = {"16": 15.90, "15": 15.12, "14": 14.12, "13": 13.12, "12": 12.12}
    for weight in result.weights:
        block = float(weight.ball.densities[1])
        assert 0.55 <= block <= 1.95
        found = max(abs(off.tolerances) for off in weight.deviations)
        assert found == pytest.approx(
            _worst(np.array([block]), wanted[weight.label])[0], abs=1e-6
        )
        scan = _worst(np.linspace(0.55, 1.95, 20001), wanted[weight.label])
        assert found <= scan.min() + 0.02  # the step of the stated density, 1e-4, in tolerances


def test_the_limit_that_stops_it_is_named(solved):
    """A weight that only a heavier block could make: its upper end stands in the way."""
    result = solved(TEXT.replace("16 = 15.90", "16 = 18.90"))
    assert result.status == "infeasible"
    heavy = result.weights[0]
    assert heavy.ball.densities[1] == 1.95
    stops = {(m.weight, m.limit, m.part) for m in result.infeasible.stops}
    assert ("16", "density max", "block") in stops


def test_every_weight_is_told_its_own_status_by_its_own_nearness(result):
    """Weights that share nothing don't wait for one another: the RG rises as the weight falls."""
    rgs = [weight.ball.radii.low for weight in result.weights]
    assert rgs == sorted(rgs)
    alone = [max(abs(off.tolerances) for off in weight.deviations) for weight in result.weights]
    assert len({round(off, 3) for off in alone}) == len(alone)


def test_limits_are_kept_before_targets(solved):
    """With top weight asked for, the nearest ball of a moved block has it."""
    moved = TEXT.replace('inside   = "cover"', 'inside   = "cover"\nat = [0, 0, 0.15]')
    limited = moved.replace("[limits]", "[limits]\ntop_weight = { max = 0.9, tolerance = 0.25 }")
    result = solved(limited)
    assert result.status == "infeasible"
    for weight in result.weights:
        for margin in weight.margins:
            if margin.limit in {"top weight max", "density min", "density max"}:
                assert margin.slack > -0.02 * (margin.tolerance or 1.0)
    free = solved(moved)
    tops = [w.ball.top_weight for w in free.weights], [w.ball.top_weight for w in result.weights]
    assert max(tops[0]) > 0.9 * 28.35 > max(tops[1]) - 0.3

"""Derivatives of walls in the dimensions of a mould, against differences of walls."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from oracles.differences import central
from scenes import BALL, SMOOTH_PAIRS, Point, changed, dimensions, named, part
from whole import Share, in_shares

from geometry.shapes.sphere import Sphere
from geometry.surfaces.velocity import Dimension
from geometry.walls.thinnest import wall, wall_rates


@in_shares(6)
@pytest.mark.parametrize("pair", SMOOTH_PAIRS)
def test_a_wall_grows_as_differences_of_walls_do(pair: str, share: Share) -> None:
    """In every length of either part and where they sit.

    Parts turned about one line are as close all round, so that any move off it is a kink: those
    moves are for the ties below.
    """
    inner, outer, nested = SMOOTH_PAIRS[pair]
    parts = named(inner, outer)
    on_line = all(p.placement.at[:2] == (0, 0) and p.placement.rotate == (0, 0, 0) for p in parts)
    before = wall(*parts, nested=nested)
    moved = {("at", axis) for axis in range(2 if on_line else 0)}
    smooth = [d for d in dimensions(*parts) if d[1] not in moved]
    rates = wall_rates([before], parts, smooth)[0]
    for dimension, rate in share(zip(smooth, rates, strict=True)):

        def thickness(by: float, dimension: Dimension = dimension) -> float:
            return wall(*changed(parts, dimension, by), nested=nested).thickness

        assert rate == pytest.approx(float(central(thickness, 1e-3)), abs=2e-6), dimension


@given(st.tuples(*[st.floats(-3, 3)] * 3), st.floats(1, 9))
def test_a_sphere_in_a_sphere_has_the_rates_of_its_closed_form(at: Point, radius: float) -> None:
    """R − r − |t|: half off for each cm of its diameter, half more for the host's, −t/|t|."""
    d = float(np.linalg.norm(at))
    assume(d > 0.1)
    parts = named(part(Sphere(diameter=2 * radius), at), part(BALL))
    (rates,) = wall_rates([wall(*parts, nested=True)], parts, dimensions(*parts))
    off = np.array(at) / d
    np.testing.assert_allclose(rates, [-0.5, *-off, 0.5, *off], atol=1e-6)

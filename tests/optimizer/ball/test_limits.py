"""Single limits, on figures that can be worked by hand."""

from __future__ import annotations

import numpy as np
import pytest
from asked import margins_of
from oracles.balls import weight_and_radii

from optimizer.ball.limits import DensityRange, DensityStep, PinDistance, TopWeight, WallLimit
from optimizer.ball.limits.density_step import NamedStep
from optimizer.ball.limits.wall import WallException


def _by_limit(limit, ball):
    return {(m.words, m.part): m for m in margins_of(limit, ball)}


def test_a_given_density_has_no_margin(ball):
    """Its range is one number, which nothing can be inside of."""
    one = ball("aligned", ranges=((1.1, 1.1), (0.5, 1.5), (0.8, 2.9), (1.0, 3.6)))
    assert {m.part for m in margins_of(DensityRange(), one)} == {"mantle", "block", "insert"}


def test_top_weight_is_in_ounces_at_the_balance_arm(ball):
    """|c|·W/a with the CG by the oracle, a the ball's radius: 1 oz is 28.3495 g (exact: lb/16)."""
    one = ball("off axis")
    cg = one.properties.cg
    ounces = float(np.linalg.norm(cg)) * one.properties.mass / one.map.radius / 28.349523125
    found = _by_limit(TopWeight(min=1.0, max=4.0, tolerance=0.25), one)
    assert found["top weight min", None].tolerances == pytest.approx((ounces - 1.0) / 0.25)
    assert found["top weight max", None].tolerances == pytest.approx((4.0 - ounces) / 0.25)


def test_only_what_is_given_of_a_limit_is_held(ball):
    one = ball("aligned")
    assert [m.words for m in margins_of(TopWeight(max=4.0), one)] == ["top weight max"]
    assert [m.words for m in margins_of(PinDistance(min=1.0), one)] == ["pin distance min"]
    assert margins_of(TopWeight(), one) == []


def test_pin_distance_is_an_arc_on_the_surface(ball):
    """The angle from +z to the CG times the radius."""
    one = ball("off axis")
    c = one.properties.cg
    angle = np.arccos(c[2] / np.linalg.norm(c))
    (margin,) = margins_of(PinDistance(max=40.0), one)
    assert margin.value == pytest.approx(one.map.radius * angle, abs=1e-6)


def test_the_pin_distance_of_a_ball_on_its_axis_moves_by_a_leap_only(ball):
    """The CG mark is at the pin or opposite to it, πR away: no slope, but a density moves it."""
    one = ball("aligned")
    (margin,) = margins_of(PinDistance(min=5.0), one)
    assert margin.movable
    assert not np.any(margin.gradient)
    assert one.properties.cg[2] < 0
    assert margin.value == pytest.approx(np.pi * one.map.radius)


def test_a_step_is_held_both_ways_to_the_host(ball):
    one = ball("aligned")
    found = _by_limit(DensityStep(max=0.5), one)
    rho = dict(zip(("cover", "mantle", "block", "insert"), one.densities, strict=True))
    assert set(found) == {
        ("density step max", pair)
        for a, b in (("mantle", "cover"), ("block", "mantle"), ("insert", "block"))
        for pair in ((a, b), (b, a))
    }
    for (_, (inner, outer)), margin in found.items():
        assert margin.slack == pytest.approx(0.5 - (rho[inner] - rho[outer]))


def test_a_named_step_is_held_one_way_between_any_two_parts(ball):
    """By the densities' difference with its sign; where a part is missing, it asks nothing."""
    one = ball("aligned")
    rho = dict(zip(("cover", "mantle", "block", "insert"), one.densities, strict=True))
    pairs = [("insert", "cover"), ("mantle", "block"), ("block", "nothing")]
    between = tuple(NamedStep(denser=a, than=b, min=0.3) for a, b in pairs)
    limit = DensityStep(tolerance=0.1, between=between)
    found = _by_limit(limit, one)
    assert set(found) == {("density step min", pair) for pair in pairs[:2]}
    for (_, (denser, than)), margin in found.items():
        assert margin.tolerances == pytest.approx((rho[denser] - rho[than] - 0.3) / 0.1)


def test_an_exception_counts_either_way_round(ball):
    one = ball("aligned")
    usual = _by_limit(WallLimit(min=0.5), one)
    for pair in (("mantle", "cover"), ("cover", "mantle")):
        exceptional = WallLimit.model_construct(
            min=0.5, tolerance=None, exceptions=(WallException(between=pair, min=0.1),)
        )
        found = _by_limit(exceptional, one)
        name = ("wall min", ("mantle", "cover"))
        assert found[name].slack == pytest.approx(usual[name].slack + 0.4)
        rest = {key for key in found if key != name}
        assert all(found[key].slack == usual[key].slack for key in rest)


def test_the_wall_of_two_spheres_is_the_difference_of_their_radii(ball):
    one = ball("aligned")
    cover, mantle = (one.map.parts[i].shape.diameter / 2 for i in (0, 1))
    found = _by_limit(WallLimit(min=0.2), one)["wall min", ("mantle", "cover")]
    assert found.value == pytest.approx(cover - mantle, abs=1e-7)


def test_the_oracle_and_the_limits_measure_the_same_ball(ball):
    """So that what stands above rests on an independent CG."""
    from oracles.lineups import manufactured  # noqa: PLC0415 - the line behind the fixture

    line, densities = manufactured(np.random.default_rng(len("off axis")), "off axis", "cg")
    one = ball("off axis")
    mass, _, cg = weight_and_radii(line.solids, densities, "cg")
    assert one.properties.mass == pytest.approx(mass)
    assert np.allclose(one.properties.cg, cg, atol=1e-9)

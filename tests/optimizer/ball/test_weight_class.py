"""One weight class as a linear map, and a ball on it, against the independent ball."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from oracles.balls import Ellipsoid, about_centre, weight_and_radii
from oracles.lineups import RADIUS, Line, manufactured

from optimizer.ball.bounds import Bound, Margin
from optimizer.ball.equations import equations
from optimizer.ball.figures import DIFFERENTIAL, LOW_RG, WALL
from optimizer.ball.sought import Pour
from optimizer.ball.targets import Span
from optimizer.scenario import linear_maps, scenario

KINDS = ["aligned", "aligned triaxial", "tilted 80", "triaxial", "off axis"]


def _map(line):
    return linear_maps(scenario(line.text(), file="line.toml", target_required=True))[0]


@pytest.fixture(params=KINDS)
def made(request):
    """A line, the densities it was made of, and its map."""
    line, densities = manufactured(np.random.default_rng(9), request.param, "cg")
    return line, np.array(densities), _map(line)


def test_a_ball_is_the_sum_of_its_densities_times_the_regions_moments(made):
    """By superposition of whole solids the oracle gets the same, and never forms a region."""
    line, densities, one = made
    mass, first, inertia = about_centre(line.solids, densities)
    found = one.ball(densities).properties.moments
    assert found.volume == pytest.approx(mass)
    assert np.allclose(found.J[:3, 3], first, atol=1e-7)
    assert np.allclose(found.inertia, inertia, rtol=1e-10, atol=1e-6)


def test_pull_is_linear_in_the_densities(made):
    """⟨slope, J⟩ of any slope is pull(slope)·ρ: the derivative of a linear figure is the figure."""
    _, densities, one = made
    slope = np.random.default_rng(0).normal(size=(4, 4))
    J = one.ball(densities).properties.moments.J
    assert one.pull(slope) @ densities == pytest.approx(float(np.sum(slope * J)), rel=1e-9)


@pytest.mark.parametrize("about", ["cg", "centre"])
def test_the_gradient_of_each_radius_is_its_derivative(made, about):
    line, densities, one = made
    ball, h = replace(one, about=about).ball(densities), 1e-5
    steps = h * np.eye(len(densities))
    for k in range(3):
        slope = [
            (
                weight_and_radii(line.solids, densities + s, about)[1][k]
                - weight_and_radii(line.solids, densities - s, about)[1][k]
            )
            / (2 * h)
            for s in steps
        ]
        assert np.allclose(ball.radius_gradient(k), slope, rtol=1e-5, atol=1e-7)


def test_aligned_and_symmetric_say_what_the_parts_are():
    random = np.random.default_rng(1)
    told = {kind: _map(manufactured(random, kind, "cg")[0]) for kind in KINDS}
    assert {k for k, one in told.items() if one.aligned} == {"aligned", "aligned triaxial"}
    assert {k for k, one in told.items() if one.symmetric} == {"aligned"}


def test_a_hair_off_the_axis_is_off_the_axis():
    """A thousandth of a millimetre is no rounding: the axes do turn then."""
    solids = (
        Ellipsoid((RADIUS,) * 3),
        Ellipsoid((3.0, 3.0, 5.0), (1e-4, 0.0, 0.0), host=0),
    )
    line = Line(solids, {"15": 6800.0}, (6.5, 6.5), (0.1, 0.1))
    assert not _map(line).aligned


def test_a_differential_moves_no_more_than_its_gradient_and_the_turning_say(made):
    """Steps of 1e-4 g/cm³ each way in each density; what is left is of second order."""
    line, densities, one = made
    ball, step = one.ball(densities), 1e-4
    radii = weight_and_radii(line.solids, densities, "cg")[1]
    gradient = ball.radius_gradient(2) - ball.radius_gradient(0)
    most = step * float(np.sum(np.abs(gradient)) + np.sum(ball.rg_difference_rate)) + 1e-8
    for way in np.ndindex(2, 2, 2, 2):
        shift = step * (2.0 * np.array(way) - 1.0)
        moved = weight_and_radii(line.solids, densities + shift, "cg")[1]
        assert abs((moved[2] - moved[0]) - (radii[2] - radii[0])) <= most


def test_turning_holds_at_a_crossing():
    """Two inserts whose axes cross, at the densities where the ball is nearly round.

    There the gradient of the differential says nearly nothing about what a step does.
    """
    solids = (
        Ellipsoid((RADIUS,) * 3),
        Ellipsoid((2.0, 2.0, 3.5), (0.0, 0.0, 5.0), host=0),
        Ellipsoid((3.5, 2.0, 2.0), (0.0, 0.0, -5.0), (0.0, 30.0, 0.0), host=0),
    )
    line = Line(solids, {"15": 6800.0}, (6.5, 6.5), (0.1, 0.1), ranges=((1.0, 2.0),) * 3)
    one = _map(line)
    densities = np.array([1.2, 1.2 + 1e-7, 1.2 - 1e-7])
    ball = one.ball(densities)
    before = ball.radii.differential
    step = 5e-5
    worst = 0.0
    for way in np.ndindex(3, 3, 3):
        shift = step * (np.array(way) - 1.0)
        worst = max(worst, abs(one.ball(densities + shift).radii.differential - before))
    assert 0 < worst <= float(np.sum(step * ball.rg_difference_rate))


def test_an_equation_is_the_distance_from_the_target(made):
    """Zero at what the oracle measured; off by d(RG²) when the RG asked for is another."""
    line, densities, one = made
    ball = one.ball(densities)
    figures = {LOW_RG: line.rg[0], DIFFERENTIAL: line.differential[0]}
    for row in equations(ball, figures, (0, 1, 2)):
        assert row.error(ball.properties.moments.J) == pytest.approx(0.0, abs=1e-8)
    other = figures | {LOW_RG: line.rg[0] + 0.01}
    errors = {
        row.name: row.error(ball.properties.moments.J) for row in equations(ball, other, (0, 1, 2))
    }
    low, high = figures[LOW_RG], figures[LOW_RG] + figures[DIFFERENTIAL]
    assert errors["weight"] == pytest.approx(0.0, abs=1e-9)
    assert errors["low RG"] == pytest.approx(low**2 - (low + 0.01) ** 2, abs=1e-8)
    assert errors["high RG"] == pytest.approx(high**2 - (high + 0.01) ** 2, abs=1e-8)


def test_the_radii_equations_are_free_of_the_mass(made):
    """A ball of twice the densities has the same RGs: only the weight's equation is broken."""
    line, densities, one = made
    J = 2.0 * one.ball(densities).properties.moments.J
    figures = {LOW_RG: line.rg[0], DIFFERENTIAL: line.differential[0]}
    rows = list(equations(one.ball(2.0 * densities), figures, (0, 1, 2)))
    assert rows[0].error(J) == pytest.approx(1.0)
    assert all(abs(row.error(J)) < 1e-8 for row in rows[1:])


def test_a_span_and_a_pour_know_what_is_given():
    assert Span(1.0, 1.0).fixed
    assert not Span(1.0, 2.0).fixed
    assert Pour("block", "dense", 1.2, 1.2, None).fixed
    assert Span(1.0, 2.0, 0.1).at(1.5) == Span(1.5, 1.5, 0.1)


def test_a_margin_tells_its_slack_in_tolerances_or_not_at_all():
    one = Margin(Bound(WALL, low=0.2, tolerance=0.02), "15", 0.3, 0.1)
    assert one.tolerances == pytest.approx(5.0)
    assert replace(one, bound=Bound(WALL, low=0.2)).tolerances is None
    assert not one.movable

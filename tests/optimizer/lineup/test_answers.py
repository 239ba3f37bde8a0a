"""What a designer may count on: the same answer, evenly shared, told as it is measured."""

from __future__ import annotations

import numpy as np
import pytest
from oracles.balls import Ellipsoid, about_centre, weight_and_radii
from oracles.lineups import OUNCE, RADIUS, Line, manufactured
from scipy.optimize import fsolve

from optimizer.lineup.margins import stated
from shared.tolerances import DENSITY_STEP

SHARED = ("# same_density", "same_density")


def _densities(result):
    return {
        (weight.label, part.name): float(density)
        for weight in result.weights
        for part, density in zip(weight.ball.map.parts, weight.ball.densities, strict=True)
    }


def _least(result):
    """The smallest margin that a density moves, in tolerances."""
    return min(
        m.tolerances
        for weight in result.weights
        for m in weight.margins
        if m.movable and m.tolerances is not None and not m.rule_only
    )


def _aligned(number, about="cg"):
    line, _ = manufactured(np.random.default_rng([11, number]), "aligned", about)
    return line.but(top=(None, 4.5))


def test_the_answer_is_the_same_on_every_run(solved, juniper):
    assert _densities(solved(juniper)) == _densities(solved(juniper))


@pytest.mark.parametrize("number", range(6))
def test_the_order_of_the_parts_changes_nothing(solved, number):
    """To the step that densities are stated in."""
    line = _aligned(number)
    first, second = (_densities(solved(line.text(order))) for order in ((0, 1, 2, 3), (0, 3, 2, 1)))
    assert first.keys() == second.keys()
    assert all(abs(first[key] - second[key]) < 1.01 * DENSITY_STEP for key in first)


def test_a_density_that_no_margin_holds_goes_to_mid_range(solved):
    """Without tolerances nothing is a margin: of all line-ups, the one nearest to mid-range.

    One density is left over by three equations, so the distance of the farthest, in half ranges,
    can be told by scanning that one.
    """
    line = _aligned(3, "centre").but(top=(None, None))
    text = line.text()
    for spread in set(line.spread):
        text = text.replace(f"\ntolerance = {spread}\n", "\n")
    found = np.array(list(_densities(solved(text)).values()))
    middle, half = np.array(line.ranges).mean(axis=1), np.ptp(line.ranges, axis=1) / 2

    unit = [weight_and_radii(line.solids, found, "centre")[:2]]
    mass, radii = unit[0]
    step = 1e-5
    slopes = []
    for one in np.eye(4):
        m, r = weight_and_radii(line.solids, found + step * one, "centre")[:2]
        slopes.append([(m - mass) / mass / step, *((r - radii)[[0, 2]] / step)])
    free = np.linalg.svd(np.array(slopes).T)[2][-1]  # the direction that keeps all three
    far = float(np.max(np.abs(found - middle) / half))
    for t in np.linspace(-0.3, 0.3, 601):
        there = float(np.max(np.abs(found + t * free - middle) / half))
        assert there > far - 5e-4


def test_one_cover_for_all_weights_costs_margin(solved, juniper):
    """The reference figures of the example: 1.0 tolerances without, 0.12 with one cover."""
    alone, shared = solved(juniper), solved(juniper.replace(*SHARED, 1))
    assert alone.status == shared.status == "feasible"
    assert _least(alone) == pytest.approx(1.0, abs=0.05)
    assert _least(shared) == pytest.approx(0.12, abs=0.01)
    covers = {rho for (_, part), rho in _densities(shared).items() if part == "cover"}
    assert len(covers) == 1


def test_groups_share_within_and_cost_less_than_all(solved, juniper):
    pairs = juniper.replace('# same_density = "all"', 'same_density = [["16", "15"], ["14", "13"]]')
    some = solved(pairs)
    cover = {label: rho for (label, part), rho in _densities(some).items() if part == "cover"}
    assert cover["16"] == cover["15"]
    assert cover["14"] == cover["13"]
    assert _least(solved(juniper.replace(*SHARED, 1))) - 0.01 <= _least(some)
    assert _least(some) <= _least(solved(juniper)) + 0.01


@pytest.mark.parametrize(
    ("density", "low", "high", "said"),
    [
        (1.23456, 1.0, 2.0, 1.2346),
        (1.99998, 1.0, 1.99999, 1.99999),  # never out of the range
        (1.00002, 1.00001, 2.0, 1.00001),
        (1.00004, 1.00003, 1.00005, 1.00003),  # too narrow to hold a step
        (1.11111111, 1.11111111, 1.11111111, 1.11111111),  # a given density, as it is given
        (1.00001 - 2e-16, 1.00001, 2.0, 1.00001),  # outside by what a solver leaves
        (1.99999 + 1e-9, 1.0, 1.99999, 1.99999),
        (2.1, 1.0, 2.0, 2.1),  # out of the range, and said to be
    ],
)
def test_a_stated_density_stays_in_its_range(density, low, high, said):
    assert stated(density, low, high) == said


@pytest.mark.parametrize(("kind", "about"), [("aligned", "cg"), ("off axis", "centre")])
@pytest.mark.parametrize("number", range(5))
def test_every_figure_is_what_the_oracle_measures_of_the_stated_densities(
    solved, kind, about, number
):
    line, _ = manufactured(np.random.default_rng([13, number]), kind, about)
    result = solved(line)
    weight = result.weights[0]
    densities = weight.ball.densities
    for density, (low, high) in zip(densities, line.ranges, strict=True):
        assert low <= density <= high
        at_end = density in (low, high)
        assert at_end or abs(density / DENSITY_STEP - round(density / DENSITY_STEP)) < 1e-6
    for point in ("cg", "centre"):
        mass, radii, cg = weight_and_radii(line.solids, densities, point)
        assert weight.ball.properties.mass == pytest.approx(mass, rel=1e-10)
        assert np.allclose(weight.ball.properties.about(point).radii, radii, atol=1e-8)
        assert np.allclose(weight.ball.properties.cg, cg, atol=1e-9)
    mass, radii, cg = weight_and_radii(line.solids, densities, about)
    off = {one.figure.key: one.off for one in weight.deviations}
    assert off["weight"] == pytest.approx(mass - line.weights["15"], abs=1e-6)
    assert off["rg"] == pytest.approx(radii[0] - line.rg[0], abs=1e-8)
    assert off["differential"] == pytest.approx(
        radii[2] - radii[0] - line.differential[0], abs=1e-8
    )
    top = next(m for m in weight.margins if m.words == "top weight max")
    assert top.value == pytest.approx(np.linalg.norm(cg) * mass / RADIUS, rel=1e-9)
    assert top.slack == pytest.approx(line.top[1] * OUNCE - top.value, abs=1e-9)


def test_a_wall_under_its_limit_is_infeasible_whatever_the_densities(solved):
    line = _aligned(0).but(limits="wall = { min = 80.0, tolerance = 0.5 }")
    result = solved(line)
    assert result.status == "infeasible"
    assert {margin.words for margin in result.infeasible.broken} == {"wall min"}
    assert "no density moves" in result.infeasible.proof
    assert abs(result.weights[0].deviations[0].off) < 1.0  # the densities are on target, g


def test_every_density_given_is_measured_and_judged(solved):
    """The densities that it was manufactured with are feasible, another block is not."""
    line, made = manufactured(np.random.default_rng(4), "aligned", "cg")
    fixed = line.but(ranges=[(rho, rho) for rho in made])
    assert solved(fixed).status == "feasible"
    wrong = [(rho, rho) for rho in (*made[:2], made[2] + 0.2, made[3])]
    result = solved(line.but(ranges=wrong))
    assert result.status == "infeasible"
    assert result.infeasible.proof.startswith("proven for 15")
    assert result.weights[0].ball.densities.tolist() == [low for low, _ in wrong]


def test_the_high_axis_may_be_swapped_between_two_weights(solved):
    """A block long along x in an insert long along y: which wins depends on the densities.

    Both weights are made of one mould to one RG and differential; the ranges leave out the other
    choice of axes (three equations, three densities: each choice has one solution), so that the
    high-RG axis must be x in one weight and y in the other.
    """
    line, made = _swapped()
    result = solved(line)
    assert result.status == "feasible"
    for weight in result.weights:
        assert np.allclose(weight.ball.densities, made[weight.label], atol=2 * DENSITY_STEP)
        high = int(np.argmax(np.abs(weight.ball.radii.axes[:, 2])))
        assert high == {"15": 0, "14": 1}[weight.label]


def _swapped():
    """The line and its densities: one ball is chosen, the other solved for on the oracle."""
    solids = (
        Ellipsoid((RADIUS,) * 3),
        Ellipsoid((9.2,) * 3, host=0),
        Ellipsoid((5.6, 3.6, 6.4), host=1),
        Ellipsoid((2.4, 3.2, 4.2), host=2),
    )

    def squares(densities):
        mass, _, inertia = about_centre(solids, densities)
        return np.diag(inertia) / mass

    one = np.array([1.12, 1.05, 1.10, 3.2])
    high, middle, low = squares(one)
    assert low < middle < high

    def miss(pair):
        there = squares([1.12, *pair, 1.6])
        return [there[2] - low, there[1] - high]

    two = np.array([1.12, *fsolve(miss, [0.9, 1.6], xtol=1e-13), 1.6])
    there = squares(two)
    assert np.allclose(there[[2, 1]], [low, high], atol=1e-9)
    assert there[0] < high - 0.01
    line = Line(
        solids,
        {k: float(about_centre(solids, d)[0]) for k, d in (("15", one), ("14", two))},
        (low**0.5,) * 2,
        (high**0.5 - low**0.5,) * 2,
        about="centre",
        ranges=((1.12, 1.12), (1.049, 1.6), (1.09, 3.0), (1.0, 3.6)),
    )
    return line, {"15": one, "14": two}

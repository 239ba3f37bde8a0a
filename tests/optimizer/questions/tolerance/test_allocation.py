"""The tolerances that reach a wanted share of good balls at least cost."""

from __future__ import annotations

import numpy as np
import pytest
from answers import example, solved
from optimizer_texts import head
from oracles import castings
from scipy.stats import norm

from optimizer.questions.tolerance.allocation import allocated, cost_curve
from optimizer.questions.tolerance.allotted import Allocation
from shared.errors import InputError

WEIGHT = 0.06 * 453.59237
"""g: the tolerance of the weight."""
DIAMETERS = 2.54 * 8.58, 2.54 * 7.0
HALVES = 0.03, 0.02
"""g/cm³: the densities' present ±."""


def two_layers(spread: str = "") -> str:
    """Return a ball of two concentric layers of which only the weight is likely to miss."""
    text = head("Pair", {"15": 15.0}, (2.6, 0.0), tolerance=(0.06, 0.5, 0.1))
    for name, half in zip(("cover", "mantle"), HALVES, strict=True):
        text += f"[materials.{name}]\ndensity = [0.5, 3.0]\ntolerance = {half}\n"
    for name, diameter, inside in (("cover", 8.58, ""), ("mantle", 7.0, 'inside = "cover"\n')):
        text += f'[[parts]]\nname = "{name}"\nmaterial = "{name}"\n{inside}'
        text += f'shape = {{ kind = "sphere", diameter = {diameter} }}\n'
    return text + "[spread]\n" + spread


def volumes() -> np.ndarray:
    """Return the volumes of cover and mantle, cm³: the weight's slopes."""
    whole, inner = (np.pi / 6.0 * diameter**3 for diameter in DIAMETERS)
    return np.array([whole - inner, inner])


def halves(found: Allocation) -> np.ndarray:
    return np.array([allotted.law.width for allotted in found.each])


def test_normal_densities_have_the_closed_form() -> None:
    """The weight's sd is its tolerance ÷ the quantile; tᵢ ∝ (Bᵢ/Vᵢ²)^⅓, Bᵢ = price · present.

    Another price moves the answer.
    """
    wanted, price = 0.95, np.array([8.0, 1.0])
    densities = ", ".join(
        f"{name} = {{ declared = {half}, price = {own} }}"
        for name, half, own in zip(("cover", "mantle"), HALVES, price, strict=True)
    )
    text = f'declared = "2 sigma"\nleast_share = 0.05\ndensity = {{ {densities} }}\n'
    found = allocated(solved(two_layers(text)), wanted)
    sd = np.array(HALVES) / 2.0
    shape = (price * sd / volumes() ** 2) ** (1.0 / 3.0)
    variance = WEIGHT / norm.ppf((1.0 + wanted) / 2.0)
    expected = shape * variance / np.linalg.norm(volumes() * shape)
    assert np.all(expected < sd)
    np.testing.assert_allclose(halves(found), expected, rtol=0.02)
    assert found.priced
    assert found.cost == pytest.approx(float(np.sum(price * sd / expected)), rel=0.003)
    assert found.present_cost == pytest.approx(9.0)
    reached = 2.0 * norm.cdf(WEIGHT / np.linalg.norm(volumes() * halves(found))) - 1.0
    assert wanted <= found.good["15"].value <= wanted + 0.003
    assert found.good["15"].low - 5e-4 <= reached <= found.good["15"].high + 5e-4


def test_a_single_uniform_density_is_as_wide_as_it_may_be() -> None:
    """With only the cover uncertain, ±t puts tolerance ÷ (V t) of the balls within it."""
    text = two_layers().replace(f"tolerance = {HALVES[1]}\n", "")
    found = allocated(solved(text), 0.9)
    (half,) = halves(found)
    most = WEIGHT / (volumes()[0] * 0.9)
    assert most - 2e-4 <= half <= most
    assert not found.priced
    assert found.cost == pytest.approx(HALVES[0] / half)


def test_what_is_enough_stays_as_it_is() -> None:
    found = allocated(solved(two_layers()), 0.3)
    assert all(allotted.enough for allotted in found.each)
    assert halves(found) == pytest.approx(HALVES, abs=0.0)
    assert found.cost == found.present_cost == 2.0


def test_more_good_balls_cost_more() -> None:
    """The curve runs from the present tolerances to the least ones, each reaching its share."""
    curve = cost_curve(solved(two_layers("least_share = 0.3\n")))
    costs, shares = [point.cost for point in curve], [point.wanted for point in curve]
    assert len(curve) > 3
    assert all(point.reached for point in curve)
    assert costs == sorted(costs)
    assert shares == sorted(shares)
    assert halves(curve[-1]) == pytest.approx(0.3 * np.array(HALVES), rel=1e-12)
    assert all(allotted.tightest for allotted in curve[-1].each)


@pytest.mark.parametrize("share", [1.0, 1.5, 0.0, -0.2, float("nan")])
def test_a_share_lies_between_none_and_all(share: float) -> None:
    with pytest.raises(InputError, match="must lie between 0 and 1"):
        allocated(solved(two_layers()), share)


def test_a_share_that_no_simulation_can_tell_from_all_is_refused() -> None:
    with pytest.raises(InputError, match=r"0\.99999 is too near to 1 .* at most 0\.9999"):
        allocated(solved(two_layers()), 0.99999)


def test_a_share_beyond_the_least_tolerances_is_told_with_what_they_reach() -> None:
    """At 0.9 of the present ±, a convolution of two uniforms: 1 − (a + b − T)² ÷ (4ab)."""
    a, b = 0.9 * np.array(HALVES) * volumes()
    at_least = 1.0 - (a + b - WEIGHT) ** 2 / (4.0 * a * b)
    assert abs(a - b) < WEIGHT < a + b
    with pytest.raises(InputError) as caught:
        allocated(solved(two_layers("least_share = 0.9\n")), 0.97)
    (said,) = caught.value.problems
    start = "a share of 0.97 is not reached even at the least tolerances: "
    assert said.what.startswith(start)
    assert float(said.what.removeprefix(start).split()[0]) == pytest.approx(at_least, abs=2e-3)


@pytest.mark.parametrize(
    ("own", "said"),
    [
        ("least = 0.04", "has a least of 0.04, above its present 0.03"),
        ("price = -1.0", r"price: must be more than 0 \(-1.0\)"),
        ("price = 0", r"price: must be more than 0 \(0\)"),
        ("least = nan", "least: is not a finite number"),
    ],
)
def test_wrong_ends_and_prices_are_refused_where_they_stand(own: str, said: str) -> None:
    text = two_layers(f"density.cover = {{ uniform = 0.03, {own} }}\n")
    with pytest.raises(InputError, match=said) as caught:
        solved(text)
    (problem,) = caught.value.problems
    assert problem.line == len(text.splitlines())


def test_prices_of_some_only_are_refused() -> None:
    text = two_layers("density.cover = { uniform = 0.03, price = 2 }\n")
    with pytest.raises(InputError, match="others none: mantle density; give all of them a price"):
        allocated(solved(text), 0.9)


@pytest.mark.slow
def test_the_examples_tolerances_reach_the_share_and_none_near_them_cost_less() -> None:
    """Against independent balls, measured by numpy's own eigenvalues.

    Widths nearby, all scaled by one factor until as many of those balls are good, cost no less.
    """
    result, wanted = example("juniper"), 0.9
    found = allocated(result, wanted)
    assert [allotted.enough for allotted in found.each] == [False, False, False, False, True]
    target = np.array([0.0, *result.figures])
    tolerance = np.array([0.0, *(span.tolerance for span in result.scenario.target.values())])
    random, balls = np.random.default_rng(5), 40_000
    unit = castings.uniform(np.ones(5), balls, 7)
    for weight in result.weights:
        ball, its = weight.ball, (target.copy(), tolerance.copy())
        its[0][0], its[1][0] = ball.map.mass, ball.map.mass_tolerance
        cast = ball.densities + unit * halves(found)
        share = castings.good(np.array(ball.map.moments), cast, *its).mean()
        assert share == pytest.approx(found.good[weight.label].value, abs=0.006)
        if weight.label != found.worst:
            continue
        slopes = _slopes(np.array(ball.map.moments), ball.densities) / its[1]
        off = (castings.figures(np.array(ball.map.moments), ball.densities[None]) - its[0]) / its[1]
        present = np.array([allotted.input.law.width for allotted in found.each])

        def linear(widths: np.ndarray, slopes=slopes, off=off, present=present) -> float:
            return np.mean(np.all(np.abs(off + (unit * widths * present) @ slopes) <= 1.0, axis=1))

        own = np.array([allotted.width for allotted in found.each])
        least = linear(own)
        for _ in range(50):
            other = own * np.exp(random.normal(0.0, 0.15, 5))
            low, high = 0.5, 1.5
            for _ in range(12):
                factor = (low + high) / 2.0
                enough = linear(np.clip(other * factor, 0.25, 1.0)) >= least
                low, high = (factor, high) if enough else (low, factor)
            assert np.sum(1.0 / np.clip(other * low, 0.25, 1.0)) > 0.985 * found.cost


def _slopes(moments: np.ndarray, densities: np.ndarray) -> np.ndarray:
    """Return the derivatives (n, 3) of the figures in the densities, by differences."""
    step = 1e-4 * np.eye(len(densities))
    up, down = (castings.figures(moments, densities + sign * step) for sign in (1.0, -1.0))
    return (up - down) / 2e-4

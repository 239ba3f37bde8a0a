"""The share of good balls where each casting is weighed before the next is poured."""

from __future__ import annotations

import numpy as np
import pytest
from answers import example, solved
from oracles import castings
from tolerance_texts import COVER, MANTLE, two_layers

from optimizer.questions.tolerance.weighing import weighed
from optimizer.scatter.inputs import stated_inputs
from optimizer.scatter.line import Line
from optimizer.scatter.set_points import SetPoint
from optimizer.spread.sources import REPEATS

WEIGHT = 0.06 * 453.59237
"""g: the tolerance of the weight."""
DIAMETERS = 2.54 * 8.58, 2.54 * 7.0


def grams() -> tuple[float, float]:
    """Return by how much cover and mantle may make the ball too heavy, g."""
    whole, inner = (np.pi / 6.0 * diameter**3 for diameter in DIAMETERS)
    return COVER * (whole - inner), MANTLE * inner


def both_within(a: float, b: float, ends: float) -> float:
    """Return the share of sums of two uniforms, ± a and ± b, that lie within ± ends."""
    if ends <= abs(a - b):
        return ends / max(a, b)
    return 1.0 - (a + b - ends) ** 2 / (4.0 * a * b)


def test_the_second_of_two_castings_undoes_the_error_of_the_first() -> None:
    """Open, both errors add; closed, only the cover's own is left."""
    cover, mantle = grams()
    found = weighed(solved(two_layers({"15": 15.0})))
    assert found.open.good["15"].value == pytest.approx(
        both_within(cover, mantle, WEIGHT), abs=2e-3
    )
    assert found.closed.good["15"].value == pytest.approx(WEIGHT / cover, abs=2e-3)
    assert list(found.only) == ["mantle"]
    assert found.most_worth == "mantle"
    assert found.stepped is None
    assert found.closed.line == found.closed.good["15"]


def test_what_the_scale_misreads_stays() -> None:
    """A step of 40 g leaves ± 20 g of the mantle, beside the cover's own error."""
    cover, _ = grams()
    found = weighed(solved(two_layers({"15": 15.0}, "[foundry]\nscale = 40.0\n")))
    expected = both_within(cover, 20.0, WEIGHT)
    assert expected < WEIGHT / cover - 0.02
    assert found.closed.good["15"].value == pytest.approx(expected, abs=2e-3)


def test_a_batch_moves_by_the_mean_of_what_its_balls_ask_for() -> None:
    """Half the difference of the two mantles' errors is left, beside the batch's own error."""
    text = two_layers(
        {"15": 15.0, "14": 14.0},
        f'[spread]\ndensity.cover = {{ uniform = {COVER}, batch = "all" }}\n',
    )
    found = weighed(solved(text))
    cover, mantle = grams()
    random = np.random.default_rng(11)
    own, first, second = random.uniform(-1.0, 1.0, (3, 1_000_000))
    left = own * cover + (first - second) / 2.0 * mantle
    other = own * cover - (first - second) / 2.0 * mantle
    inside = np.abs(left) <= WEIGHT, np.abs(other) <= WEIGHT
    assert found.together == (("cover", ("15", "14")),)
    for label in ("15", "14"):
        assert found.closed.good[label].value == pytest.approx(inside[0].mean(), abs=3e-3)
    assert found.closed.line.value == pytest.approx(np.mean(inside[0] & inside[1]), abs=3e-3)


def test_nothing_is_weighed_where_nothing_can_be_moved() -> None:
    text = two_layers({"15": 15.0}).replace("density = [0.5, 3.0]", "density = 1.15", 1)
    result = solved(text.replace("rg = 2.6", "rg = { min = 2.4, max = 2.8 }"))
    found = weighed(result)
    assert found.only == {}
    assert found.most_worth is None
    assert found.closed.good == found.open.good


def test_open_is_the_share_of_the_line_as_scheduled() -> None:
    result = solved(two_layers({"15": 15.0}))
    good, line = Line.of(result, stated_inputs(result.scenario)).good(REPEATS)
    found = weighed(result).open
    assert found.good == good
    assert found.line == line


def test_a_set_point_stays_within_what_can_be_poured() -> None:
    point = SetPoint("cover", ("15",), (0,), base=1.153, low=1.096, high=1.204, step=0.01)
    asked = np.array([-1.0, -0.004, 0.0, 0.008, 1.0])
    exact = point.move(asked, on_steps=False)
    np.testing.assert_allclose(1.153 + exact, [1.096, 1.149, 1.153, 1.161, 1.204], atol=1e-12)
    held = point.move(asked, on_steps=True)
    np.testing.assert_allclose(1.153 + held, [1.10, 1.15, 1.15, 1.16, 1.20], atol=1e-12)


@pytest.mark.slow
def test_the_examples_shares_are_those_of_independent_balls() -> None:
    """Every ball re-measured by numpy's eigenvalues; moves by numpy's own least squares."""
    result, balls = example("juniper"), 60_000
    found = weighed(result)
    parts = ["cover", "mantle", "spindle", "keel", "girdle"]
    order = [parts.index(name) for name in ("keel", "spindle", "girdle", "mantle", "cover")]
    halves = np.array([0.010, 0.015, 0.025, 0.030, 0.025])
    every = set(order)
    assert found.stepped is not None
    ways = [(found.open, set(), False), (found.closed, every, False), (found.stepped, every, True)]
    ways += [(found.only[name], {parts.index(name)}, False) for name in parts[1:]]
    for weight in result.weights:
        ball, linear_map = weight.ball, weight.ball.map
        moments, nominal = np.array(linear_map.moments), np.array(ball.densities)
        masses = nominal * moments[:, 3, 3]
        scale = np.where(masses <= 200.0, 0.1, 1.0)
        rg, differential = (span.tolerance for span in result.scenario.target.values())
        tolerance = np.array([linear_map.mass_tolerance, rg, differential])
        errors = castings.uniform(halves, balls, 3)
        ends = tuple(
            np.array([getattr(pour, end) for pour in linear_map.pours]) for end in ("low", "high")
        )
        target = np.array([linear_map.mass, *result.figures])
        for outcome, chosen, on_steps in ways:
            cast = castings.corrected(
                moments,
                nominal,
                errors,
                tolerance=tolerance,
                sd=halves,
                order=order,
                ends=ends,
                steps=np.full(5, 0.01) if on_steps else None,
                misread=castings.uniform(scale / 2.0 / moments[:, 3, 3], balls, 4),
                weighed=chosen,
            )
            share = castings.good(moments, cast, target, tolerance).mean()
            assert outcome.good[weight.label].value == pytest.approx(share, abs=0.0065)

"""How coarse a scale may be: thrown errors never leave a tolerance, the next coarser one can."""

from __future__ import annotations

import numpy as np
import pytest
from oracles.lineups import manufactured
from oracles.steps import measured

from optimizer.lineup.pipeline import solve_lineup
from optimizer.questions.schedule.pouring.readability import (
    FINEST,
    coarsest_readability,
    greatest_readability,
    readabilities,
)
from optimizer.scenario import scenario

KINDS = ["aligned", "aligned triaxial", "tilted 15", "triaxial", "off axis"]


def _weighed(random, volumes):
    """Two components a pour, as in a mix of a resin and something light or heavy: (n, 2n).

    A gram of a component makes a pour of V cm³ heavier by up to 1/V, or lighter where it is light.
    """
    by_gram = np.zeros((len(volumes), 2 * len(volumes)))
    for i, volume in enumerate(volumes):
        by_gram[i, 2 * i : 2 * i + 2] = random.uniform(-4.0, 1.0, 2) / volume
    return by_gram


def _off(line, densities):
    return measured(line, "15", np.atleast_2d(densities))[0]


@pytest.mark.parametrize("about", ["cg", "centre"])
@pytest.mark.parametrize("kind", KINDS)
def test_errors_within_a_readability_hold_every_target_and_coarser_ones_need_not(kind, about):
    """Errors thrown at ± r/2, half of them at corners, measured by the oracle: none is out.

    Of the next coarser readability some corner is: all 2⁸ are tried.
    """
    random = np.random.default_rng([len(kind), len(about)])
    for _ in range(4):
        line, _ = manufactured(random, kind, about)
        result = solve_lineup(scenario(line.text(), file="line.toml", target_required=True))
        (weight,) = result.weights
        densities, by_gram = weight.ball.densities, _weighed(random, weight.ball.map.volumes)
        r = coarsest_readability(weight, by_gram)
        assert r is not None
        signs = random.uniform(-1.0, 1.0, (4000, by_gram.shape[1]))
        signs[::2] = np.sign(signs[::2])
        assert np.max(_off(line, densities + signs * r / 2 @ by_gram.T)) <= 1.0
        coarser = list(readabilities(5.1 * r))[list(readabilities(5.1 * r)).index(r) - 1]
        corners = np.array(np.meshgrid(*[[-1.0, 1.0]] * by_gram.shape[1])).reshape(8, -1).T
        assert np.max(_off(line, densities + corners * coarser / 2 @ by_gram.T)) > 1.0


def test_what_a_line_up_is_off_already_leaves_less_for_the_scale():
    off, by = np.zeros(2), np.array([[0.1, -0.3], [0.2, 0.0]])
    assert greatest_readability(off, by) == pytest.approx(5.0)
    assert greatest_readability(np.array([0.6, 0.0]), by) == pytest.approx(2.0)
    assert greatest_readability(np.array([0.0, -0.9]), by) == pytest.approx(1.0)
    assert greatest_readability(np.array([0.0, 1.2]), by) == 0.0


def test_what_is_out_already_no_scale_can_hold(out_by_much):
    by_gram = np.eye(len(out_by_much.ball.densities)) / 1000.0
    assert coarsest_readability(out_by_much, by_gram) is None


def test_where_nothing_is_weighed_any_scale_will_do(juniper_weight):
    by_gram = np.zeros((len(juniper_weight.ball.densities), 3))
    assert coarsest_readability(juniper_weight, by_gram) == np.inf


@pytest.mark.parametrize(
    ("most", "told"),
    [(1.0, 1.0), (0.999, 0.5), (4.9, 2.0), (5.0, 5.0), (1000.0, 1000.0), (0.00011, 1e-4)],
)
def test_a_readability_is_the_next_of_its_series_below(most, told):
    assert next(readabilities(most)) == told


def test_nothing_finer_than_an_analytical_balance_is_advised():
    assert list(readabilities(0.99 * FINEST)) == []

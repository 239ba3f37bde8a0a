"""The best line-up against independent optima: the oracle's figures and scipy's linprog."""

from __future__ import annotations

import numpy as np
import pytest
from oracles.lineups import manufactured
from oracles.programs import Program, program

from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.engine.search import best_found, search_rounds
from optimizer.lineup.margins import margins
from optimizer.lineup.rows import Lineup


def _best(lineup: Lineup):
    found = best_found(lineup, LinearSolver(), search_rounds(lineup, lineup.columns.middle))
    assert found.good
    return found.x


def _levels(lineup: Lineup, x):
    """All margins that a density moves, in tolerances, smallest first."""
    ball = next(lineup.balls(x))
    told = (m for m in margins(ball) if m.movable and not m.rule_only)
    return np.sort([m.tolerances for m in told if m.tolerances is not None])


def _pin(lineup: Lineup, x):
    axes = next(lineup.balls(x)).radii.axes
    return "low" if abs(axes[2, 0]) > 0.5 else "high"


def _aligned(about, number):
    line, _ = manufactured(np.random.default_rng([7, number]), "aligned", about)
    return line.but(top=(None, 4.0) if about == "cg" else (None, None))


@pytest.mark.parametrize("number", range(12))
def test_about_the_centre_the_smallest_margin_is_the_linear_programs(lineup, number):
    line = _aligned("centre", number)
    one = lineup(line)
    x = _best(one)
    known = program(line, "15", pin=_pin(one, x))
    every = np.ones(len(known.offset), dtype=bool)
    highest = known.highest(np.full(len(every), -np.inf), every)
    assert _levels(one, x)[0] == pytest.approx(highest, abs=1e-6)


@pytest.mark.turns(4)
@pytest.mark.parametrize("number", range(8))
def test_about_the_cg_no_height_of_the_cg_does_better(lineup, number):
    """With the CG's height given, the program is linear and exact: try 801 heights, ±4 oz."""
    line = _aligned("cg", number)
    one = lineup(line)
    x = _best(one)
    found = _levels(one, x)[0]
    reach = 4.0 * 28.3495 * 10.9 / line.weights["15"]

    def highest(c):
        known = program(line, "15", pin=_pin(one, x), c=c)
        every = np.ones(len(known.offset), dtype=bool)
        return known.highest(np.full(len(every), -np.inf), every)

    heights = np.linspace(-reach, reach, 201)
    levels = np.array([-np.inf if (t := highest(c)) is None else t for c in heights])
    near = heights[int(np.argmax(levels))]
    step = heights[1] - heights[0]
    fine = [t for c in np.linspace(near - step, near + step, 81) if (t := highest(c)) is not None]
    best = max([*fine, float(levels.max())])
    assert np.isfinite(best)
    assert found > best - 0.01


@pytest.mark.parametrize("number", range(6))
def test_margins_come_out_evenly(lineup, number):
    """Leximin by the textbook: raise the least, fix only what can't be raised alone, repeat."""
    line = _aligned("centre", 20 + number).but(spread=(0.01, 0.015, 0.025, 0.03))
    one = lineup(line)
    x = _best(one)
    known = program(line, "15", pin=_pin(one, x)).evenly_out()
    assert np.allclose(_levels(one, x), np.sort(known), atol=1e-4)


def test_a_whole_line_with_a_shared_cover_comes_out_evenly(lineup, juniper):
    """About the centre the example's rows are exact everywhere, so the textbook can read them.

    The CG is toward the pin in every weight, so that top weight is linear too.
    """
    text = juniper.replace('about        = "cg"', 'about = "centre"').replace("# same_", "same_", 1)
    one = lineup(text)
    assert one.maps[0].about == "centre"
    assert len({int(own[0]) for own in one.columns.poured}) == 1
    x = _best(one)
    rows = one.margin_rows(x)
    held = [row for row in rows if row.tolerance]
    exact = [row for row in rows if row.lower == row.upper]
    n = one.columns.figures
    known = Program(
        np.array([row.coefficients[:n] for row in exact]),
        np.array([row.lower - row.coefficients[n:] @ x[n:] for row in exact]),
        np.array([row.coefficients[:n] for row in held]),
        np.array([-row.lower for row in held]),
        np.array([row.tolerance for row in held]),
    )
    found = np.sort([(row.coefficients @ x - row.lower) / row.tolerance for row in held])
    assert np.allclose(found, np.sort(known.evenly_out()), atol=2e-4)

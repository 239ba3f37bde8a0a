"""Windows of cores off the pin axis against thrown balls, SLSQP, and what is known exactly."""

from __future__ import annotations

import re

import numpy as np
import pytest
from oracles.lineups import INCH, Line, manufactured
from oracles.tilted import Tilted
from oracles.windows import outside

from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.columns import columns
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.rows import Lineup
from optimizer.questions.window.exact.bands import Band, box
from optimizer.questions.window.exact.branch import HIGH, LOW, branches
from optimizer.questions.window.exact.disjoint_bands import laid_out
from optimizer.questions.window.off_axis.searched_band import searched_reach
from optimizer.questions.window.reach import Reach, exactly, opened
from optimizer.scenario import Scenario, linear_maps, scenario
from shared.tolerances import AXIS_GAP

ERROR = 2e-5 * INCH
KINDS = ["tilted 15", "tilted 80", "triaxial", "off axis"]


def _searched(asked: Scenario, label: str = "15", pin: int = LOW) -> tuple[Reach, LinearMap]:
    linear_map = next(
        opened(linear_map) for linear_map in linear_maps(asked) if linear_map.label == label
    )
    lineup = Lineup((linear_map,), columns((linear_map,), {}))
    reach = searched_reach(lineup, LinearSolver(), pin)
    assert reach.whole
    assert not reach.proven
    return reach, linear_map


def _of(line: Line) -> Reach:
    return _searched(scenario(line.text(), file="line.toml", target_required=True))[0]


def _outline(reach: Reach) -> np.ndarray:
    return np.vstack([band.outline for band in reach.bands])


def _far(bands: tuple[Band, ...], points: np.ndarray) -> np.ndarray:
    return np.min([outside(band.outline, points) for band in bands], axis=0)


@pytest.mark.turns(2)
@pytest.mark.parametrize("about", ["cg", "centre"])
def test_it_finds_what_slices_prove(about):
    """Cores on the pin axis, where the answer is known: both outlines lie in each other."""
    random, seen = np.random.default_rng(25), set[int]()
    for _ in range(3):
        line, _ = manufactured(random, "aligned", about)
        asked = scenario(line.text(), file="line.toml", target_required=True)
        sets = list(branches(opened(linear_maps(asked)[0])))
        for pin in (LOW, HIGH):
            exact = exactly(branch for branch in sets if branch.pin == pin)
            reach, _ = _searched(asked, pin=pin)
            assert exact is not None
            assert exact.empty == reach.empty
            if exact.empty:
                continue
            seen.add(pin)
            assert reach.error <= ERROR
            assert np.max(_far(exact.bands, _outline(reach))) <= ERROR
            assert np.max(_far(reach.bands, _outline(exact))) <= reach.error + ERROR
    assert seen == {LOW, HIGH}


@pytest.mark.turns(3)
@pytest.mark.parametrize("kind", KINDS)
def test_no_ball_is_outside_by_more_than_is_told(kind):
    """Neither one of thousands thrown, nor the farthest that SLSQP finds at three low RGs.

    And what is told is under 0.00002 in.
    """
    random = np.random.default_rng(5)
    line, densities = manufactured(random, kind, "cg")
    reach, oracle = _of(line), Tilted.of(line)
    assert reach.error <= ERROR
    (band,) = reach.bands
    balls = oracle.thrown(random, 20_000)
    assert len(balls) > 500
    points = oracle.figures(np.vstack([balls, densities]))[:, :2]
    assert np.max(_far(reach.bands, points)) <= reach.error
    for rg in np.linspace(band.rg[0], band.rg[-1], 5)[1:-1].tolist():
        for sign, side in ((-1.0, band.low), (1.0, band.high)):
            best = oracle.best(rg, sign, random.permutation(balls)[:6])
            if best is not None:
                assert sign * (best - np.interp(rg, band.rg, side.value)) <= reach.error


@pytest.mark.turns(2)
@pytest.mark.parametrize("kind", ["tilted 15", "triaxial"])
def test_what_is_inside_can_be_solved_for(kind):
    """Points just inside the outline and in the middle are given as targets."""
    line, _ = manufactured(np.random.default_rng(5), kind, "cg")
    (band,) = _of(line).bands
    for rg in np.linspace(band.rg[0], band.rg[-1], 4)[1:-1].tolist():
        low, high = (float(np.interp(rg, band.rg, line_.value)) for line_ in (band.low, band.high))
        for share in (0.02, 0.5, 0.98):
            aim = low + share * (high - low)
            text = line.but(rg=(rg, rg), differential=(aim, aim)).text()
            result = solve_lineup(scenario(text, file="line.toml", target_required=True))
            assert result.status == "feasible"


@pytest.mark.slow
def test_a_near_round_core_tells_what_it_may_be_off():
    """Where all three RGs meet the lower line has no slope: more is told than for other cores."""
    random = np.random.default_rng(5)
    for _ in range(3):
        line, _ = manufactured(random, "tilted 15", "cg")
    reach, oracle = _of(line), Tilted.of(line)
    points = oracle.figures(oracle.thrown(random, 20_000))[:, :2]
    assert np.max(_far(reach.bands, points)) <= reach.error


@pytest.mark.slow
def test_a_limit_that_speaks_of_axes_leaves_balls_without_any(yew):
    """The pin marking is asked only of a ball whose low-RG axis stands apart.

    The oracle's balls are thrown into the example itself, their marking measured by numpy.
    """
    tilted = yew.replace("at       = [0, 0, 0.25]", "at = [0, 0, 0.25]\nrotate = [20, 0, 0]")
    tilted = re.sub(r"intermediate_differential = 0.011.*|, intermediate_d.* = 0.001", "", tilted)
    asked = scenario(tilted, file="yew.toml", target_required=True)
    reach, linear_map = _searched(asked, "16")
    assert reach.error <= ERROR
    assert len(reach.bands) > 1
    random = np.random.default_rng(33)
    low, high = np.array([(p.low, p.high) for p in linear_map.pours]).T
    x = low + random.beta(0.3, 0.3, (60_000, len(low))) * (high - low)
    j, each = random.integers(0, len(low), len(x)), np.arange(len(x))
    x[each, j] = 0.0
    x[each, j] = (linear_map.mass - x @ linear_map.volumes) / linear_map.volumes[j]
    x = x[np.all((x >= low) & (x <= high), axis=1)]
    J = np.tensordot(x, linear_map.moments, axes=1)
    c = J[:, :3, 3] / linear_map.mass
    S = J[:, :3, :3] / linear_map.mass - c[:, :, None] * c[:, None, :]
    square, axes = np.linalg.eigh(np.trace(S, axis1=1, axis2=2)[:, None, None] * np.eye(3) - S)
    rg, pin = np.sqrt(square), np.abs(axes[:, 2, 0])
    marked = np.arccos(np.minimum(pin, 1.0)) * linear_map.radius
    apart = rg[:, 1] - rg[:, 0] > AXIS_GAP
    ounces = np.linalg.norm(c, axis=1) * linear_map.mass / linear_map.arm / 28.349523125
    good = (ounces >= 1.0) & (ounces <= 4.0) & (~apart | (marked <= INCH))
    good &= (rg[:, 0] >= 2.46 * INCH) & (rg[:, 2] - rg[:, 0] <= 0.06 * INCH)
    assert np.sum(good & apart) > 50
    assert np.sum(good & ~apart) > 5
    points = np.column_stack([rg[:, 0], rg[:, 2] - rg[:, 0]])[good]
    assert np.max(_far(reach.bands, points)) <= reach.error


def test_bands_over_each_other_are_counted_once():
    """Two boxes: 2 × 2 and 2 × 1, of which 1 × 1 lies in the first."""
    a, b = (
        box(rg, differential, [None] * 4)  # type: ignore[list-item] - nobody asks what makes them
        for rg, differential in (((1.0, 3.0), (1.0, 3.0)), ((2.0, 4.0), (2.5, 3.5)))
    )
    pieces = laid_out([a, b], 1e-6)
    assert sum(piece.area for piece in pieces) == pytest.approx(4.0 + 2.0 - 0.5)
    assert laid_out([a, box((1.5, 2.0), (1.5, 2.0), [None] * 4)], 1e-6) == (a,)  # type: ignore[list-item]

"""`window` and `solve` say the same of one scenario."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from oracles.balls import about_centre
from oracles.lineups import INCH, Line, manufactured
from oracles.windows import alike_in_all

from optimizer.ball.figures import DIFFERENTIAL, LOW_RG
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.result import LineupResult
from optimizer.questions.window.page import target_line
from optimizer.questions.window.window import Window, window
from optimizer.scenario import scenario

ANGLES = np.arange(64) / 32 * np.pi
DIRECTIONS = np.column_stack([np.cos(ANGLES), np.sin(ANGLES)])
ERROR = 2e-5 * INCH


def _both(text: str) -> tuple[Window, LineupResult]:
    asked = scenario(text, file="line.toml", target_required=True)
    return window(asked), solve_lineup(asked)


def _target_line(windows: Window) -> str:
    line = target_line(windows)
    assert line is not None
    return line[0]


def _pin_is_low(line: Line, densities: tuple[float, ...]) -> bool:
    mass, _, inertia = about_centre(line.solids, densities)
    return abs(float(np.sqrt(inertia[2, 2] / mass)) - line.rg[0]) < 1e-6


def _lines(kind: str, about: str, pin_low: int, others: int) -> Iterator[Line]:
    """Yield manufactured lines: of so many the pin axis is the low-RG axis, of so many it isn't."""
    random, left = np.random.default_rng(5), {True: pin_low, False: others}
    while any(left.values()):
        line, densities = manufactured(random, kind, about)
        low = _pin_is_low(line, densities)
        if left[low]:
            left[low] -= 1
            yield line


@pytest.mark.turns(4)
@pytest.mark.parametrize("about", ["cg", "centre"])
@pytest.mark.parametrize(
    ("kind", "pin_low", "others"),
    [
        ("aligned", 6, 6),
        ("aligned triaxial", 2, 3),
        pytest.param("off axis", 0, 2, marks=pytest.mark.slow),
    ],
)
def test_every_line_up_that_solve_finds_is_in_the_window(kind, pin_low, others, about):
    """Whichever axis has the low RG: line-ups of balls that the oracle measured."""
    for line in _lines(kind, about, pin_low, others):
        windows, result = _both(line.text())
        assert result.status == "feasible"
        assert windows.common.holds(line.rg[0], line.differential[0])
        assert "inside the shared window" in _target_line(windows)


@pytest.mark.parametrize("about", ["centre", pytest.param("cg", marks=pytest.mark.slow)])
def test_every_line_up_of_several_weights_is_in_the_window(about):
    """One cover for three weights of nearly the same mass, the targets those of one ball."""
    known = 0
    for line in _lines("aligned", about, 1, 3):
        m = line.weights["15"]
        three = line.but(weights={"15": m, "14": 0.995 * m, "13": 0.99 * m})
        windows, result = _both(three.but(same={"cover": '"all"'}).text())
        if result.status == "feasible":
            known += 1
            assert windows.common.holds(line.rg[0], line.differential[0])
    assert known > 1


@pytest.mark.turns(2)
@pytest.mark.parametrize(
    "kind", ["aligned", "aligned triaxial", pytest.param("tilted 15", marks=pytest.mark.slow)]
)
def test_a_line_up_with_an_intermediate_differential_is_in_its_window(kind):
    random = np.random.default_rng(5)
    for _ in range(4 if kind == "aligned" else 2):
        line, _ = manufactured(random, kind, "cg", intermediate=True)
        windows, result = _both(line.text())
        assert result.status == "feasible"
        assert windows.common.holds(line.rg[0], line.differential[0])


@pytest.mark.turns(4)
def test_what_is_inside_can_be_solved_for_at_that_intermediate_differential(yew):
    """And beyond the outline, by more than is told, there is none."""
    heaviest = re.sub(r"\n(15|14|13) += .*", "", yew)
    common = window(scenario(heaviest, file="yew.toml", target_required=True)).common
    assert not common.proven
    band = max(common.bands, key=lambda band: band.area)
    rg = float(np.mean(band.rg[[0, -1]]))
    low, high = (float(np.interp(rg, band.rg, line.value)) for line in (band.low, band.high))
    assert high - low > 0.01 * INCH
    for share, inside in ((-0.02, False), (0.02, True), (0.98, True), (1.02, False)):
        aim = (low + share * (high - low)) / INCH
        text = heaviest.replace("= 2.560\n", f"= {rg / INCH}\n").replace("= 0.033\n", f"= {aim}\n")
        asked = scenario(text, file="yew.toml", target_required=True)
        assert (asked.target[LOW_RG].low, asked.target[DIFFERENTIAL].low) == (
            pytest.approx(rg),
            pytest.approx(aim * INCH),
        )
        assert (solve_lineup(asked).status == "feasible") == inside


def test_a_symmetric_core_has_no_window_at_an_intermediate_differential(ranges):
    """With the pin axis low it has none; with the pin axis high no ball of it has as much."""
    text = ranges.replace("differential = 0.040", "differential = 0.040\n" + INNER.format(0.02))
    text = text.replace("differential = 0.001 }", "differential = 0.001, " + TOLERANCE)
    windows, result = _both(text)
    assert windows.common.none
    assert all(weight.alone.none for weight in windows.weights)
    assert "OUT OF REACH" in _target_line(windows)
    assert "intermediate differential of 0.0200 in" in _target_line(windows)
    assert result.status == "infeasible"
    same, _ = _both(text.replace(INNER.format(0.02), INNER.format(0.0)))
    assert same.common.proven
    assert same.common.area == pytest.approx(_both(ranges)[0].common.area)


INNER = "intermediate_differential = {}"
TOLERANCE = "intermediate_differential = 0.001 }"


def test_one_intermediate_differential_that_is_free_holds_for_all_weights():
    """Symmetric cores: none in all weights, or the whole differential in all; never mixed.

    Linear programs over all weights by scipy. Mixed line-ups would reach farther: the last line.
    """
    random, mixed = np.random.default_rng(21), 0
    for _ in range(12):
        line, _ = manufactured(random, "aligned", "centre")
        m = line.weights["15"]
        line = line.but(weights={"16": 1.03 * m, "15": m, "14": 0.96 * m}, top=(None, 4.0))
        held = scenario(line.but(intermediate=(0.0, 3.0)).text(), file="m", target_required=True)
        free = scenario(line.text(), file="m", target_required=True)
        common, known = window(held).common, alike_in_all(line, DIRECTIONS)
        assert common.proven
        assert common.empty == (known is None)
        if known is None:
            continue
        outline = np.vstack([band.outline for band in common.bands])
        squares = np.column_stack([outline[:, 0] ** 2, np.sum(outline, axis=1) ** 2])
        off = np.abs(np.max(squares @ DIRECTIONS.T, axis=0) - known) / (2 * outline[0, 0])
        assert np.max(off) <= 2 * ERROR
        mixed += window(free).common.area > 1.001 * common.area
    assert mixed > 0


def test_a_limit_on_the_intermediate_differential_leaves_a_pin_low_core_alone(ranges):
    """It has none: the limit is on high − intermediate RG, not on the differential."""
    limit = "[limits]\nintermediate_differential = { max = 0.0005 }"
    held, free = (_both(text)[0] for text in (ranges.replace("[limits]", limit), ranges))
    assert held.common.area == pytest.approx(free.common.area)
    assert held.common.area > 0.0


def test_what_is_not_proven_is_not_said_to_be_out_of_reach():
    line, _ = manufactured(np.random.default_rng(11), "aligned", "cg")
    far = line.but(rg=(8.0, 8.0)).text()
    windows = window(scenario(far, file="line.toml", target_required=True))
    assert "OUT OF REACH of 15" in _target_line(windows)
    (weight,) = windows.weights
    unsure = replace(weight.alone, proven=False)
    line = _target_line(replace(windows, weights=(replace(weight, alone=unsure),), common=unsure))
    assert "OUT OF REACH" not in line
    assert "not found within reach of 15" in line


def test_a_target_outside_a_rule_that_solve_only_warns_of_is_not_out_of_reach(ranges):
    """`solve` takes a given figure as it is and warns; the window keeps the rule, and says so."""
    windows, _ = _both(ranges.replace("differential = 0.040", "differential = 0.0605"))
    assert "outside a rule that the window keeps" in _target_line(windows)
    assert "OUT OF REACH" not in _target_line(windows)

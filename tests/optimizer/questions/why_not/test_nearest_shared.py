"""The nearest target that a whole line can share, and the line-up that has it."""

from __future__ import annotations

import numpy as np
import pytest
from answers import solved
from oracles.lineups import manufactured

from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.margins import outside
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.rows import Lineup
from optimizer.questions.why_not.changes.moves import moves
from optimizer.questions.why_not.changes.shared_target import shared_window, window_moves
from optimizer.questions.why_not.diagnosis import diagnose, with_nearest
from optimizer.scenario import linear_maps, scenario

INCH, POUND = 2.54, 453.59237
TOLERANCES = {"rg": 0.003, "differential": 0.001}


def _solved(text):
    return solved(text)


def _freed(text, rg, differential):
    """The scenario with both figures free within spans (in)."""
    for key, (low, high) in (("rg", rg), ("differential", differential)):
        start = text.index("\n" + key, text.index("[target]")) + 1
        end = text.index("\n", start)
        text = f"{text[:start]}{key} = {{ min = {low!r}, max = {high!r} }}{text[end:]}"
    return text


@pytest.fixture(params=["cg", "centre"])
def text(request, juniper):
    asked = juniper.replace("differential = 0.040", "differential = 0.055")
    return asked.replace('about        = "cg"', f'about        = "{request.param}"')


@pytest.mark.slow
def test_no_nearer_target_can_be_shared(text):
    """Within 98 % of both moves there is proven to be nothing, within a little more there is."""
    diagnosis = diagnose(_solved(text))
    asked, near = np.array([2.550, 0.055]), np.array(diagnosis.common.result.figures) / INCH
    move = np.abs(near - asked)
    assert max(move / list(TOLERANCES.values())) > 1.0

    def status(*shares):
        reach = move * shares
        spans = np.stack([asked - reach, asked + reach], axis=1)
        freed = _freed(text, *(tuple(map(float, span)) for span in spans))
        return solved(freed, exact=True).status

    assert status(1.001, 1.001) == "feasible"
    assert status(0.98, 0.98) == "infeasible"


def test_its_line_up_keeps_weights_and_limits_and_is_measured_against_what_was_asked(text):
    result = _solved(text)
    diagnosis = diagnose(result)
    near = with_nearest(result, diagnosis)
    shared = near.infeasible.shared
    assert near.status == "infeasible"
    assert near.figures == result.figures
    assert near.infeasible.loose == ()
    for weight in near.weights:
        radii = weight.ball.radii
        assert radii.low == pytest.approx(shared[0], abs=3e-5 * INCH)
        assert radii.differential == pytest.approx(shared[1], abs=3e-5 * INCH)
        off = {deviation.figure.key: deviation.off for deviation in weight.deviations}
        assert abs(off["weight"]) < 0.0006 * POUND
        assert off["differential"] == pytest.approx(radii.differential - 0.055 * INCH, abs=1e-12)
        assert not any(outside(margin) for margin in weight.margins)
    assert near.infeasible.stops
    assert all(m.tolerances < 0.1 for m in near.infeasible.stops)


def test_where_nothing_can_be_shared_each_weight_comes_nearest_for_itself(two_pours):
    result = _solved(two_pours)
    near = with_nearest(result, diagnose(result))
    assert near.infeasible.shared is None
    assert near.infeasible.unshared is True
    assert near.infeasible.loose == ()
    for weight in near.weights:
        off = {deviation.figure.key: deviation.off for deviation in weight.deviations}
        assert abs(off["weight"]) < 0.0006 * POUND


def test_a_target_that_one_figure_alone_makes_shared_is_told():
    """A skew block: from the nearest balls both figures, moved together, lead nowhere."""
    random = np.random.default_rng([55, 3])
    line, _ = manufactured(random, "aligned triaxial", "cg")
    mass = line.weights["15"]
    line = line.but(
        weights={"15": mass, "14": mass * random.uniform(0.88, 0.97)},
        rg=(line.rg[0] * random.uniform(0.93, 1.07),) * 2,
        differential=(max(0.005, line.differential[0] + random.uniform(-0.05, 0.3)),) * 2,
    )
    asked = scenario(line.text(), file="line.toml", target_required=True)
    diagnosis = diagnose(solve_lineup(asked, exact=True))
    alone = [r for r in diagnosis.remedies if r.changes[0].path[0] == "target"]
    assert alone
    assert diagnosis.no_common is False
    assert diagnosis.common.tolerances <= min(remedy.tolerances for remedy in alone)
    assert _solved(diagnosis.common.text).status == "feasible"


def test_a_window_of_one_weight_each_that_do_not_meet_is_proof(two_pours):
    """The class weight settles a two-pour ball: each weight has one RG, which falls with it."""
    asked = scenario(two_pours, file="line.toml", target_required=True)
    reach = shared_window(linear_maps(asked), asked, LinearSolver())
    assert reach.empty
    assert reach.proven


@pytest.mark.parametrize("about", ["cg", "centre"])
def test_a_window_leads_to_a_target_that_can_be_shared(juniper, about):
    """Juniper far off target: the point of its window that is nearest is solved, and is one."""
    text = juniper.replace("rg           = 2.550", "rg           = 2.700")
    asked = scenario(text.replace('"cg"', f'"{about}"'), file="x.toml", target_required=True)
    maps = linear_maps(asked)
    lineup = Lineup.of(maps, asked.sharing)
    figures = [m for m in moves(asked, lineup) if m.path[0] == "target"]
    window = shared_window(maps, asked, LinearSolver())
    rg, differential = (
        m.value + d for m, d in zip(figures, next(window_moves(window, figures)), strict=False)
    )
    fixed = text.replace("rg           = 2.700", f"rg = {rg / INCH!r}")
    fixed = fixed.replace("differential = 0.040", f"differential = {differential / INCH!r}")
    assert _solved(fixed.replace('"cg"', f'"{about}"')).status == "feasible"


def test_a_weight_that_can_not_be_made_is_let_go_and_said(two_pours):
    """No block in its range makes 18.90 lb."""
    result = _solved(two_pours.replace("16 = 15.90", "16 = 18.90"))
    assert result.infeasible.loose == ("16",)

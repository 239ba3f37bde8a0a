"""The nearest target that a whole line can share, and the line-up that has it."""

from __future__ import annotations

import numpy as np
import pytest

from optimizer.lineup.margins import outside
from optimizer.lineup.pipeline import solve_lineup
from optimizer.scenario import scenario
from optimizer.studies.diagnosis import diagnose, with_nearest

INCH, POUND = 2.54, 453.59237
TOLERANCES = {"rg": 0.003, "differential": 0.001}


def _solved(text):
    return solve_lineup(scenario(text, file="line.toml", target_required=True))


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
    found = diagnose(_solved(text))
    asked, near = np.array([2.550, 0.055]), np.array(found.common.result.figures) / INCH
    move = np.abs(near - asked)
    assert max(move / list(TOLERANCES.values())) > 1.0

    def status(*shares):
        reach = move * shares
        spans = np.stack([asked - reach, asked + reach], axis=1)
        return _solved(_freed(text, *(tuple(map(float, span)) for span in spans))).status

    assert status(1.001, 1.001) == "feasible"
    assert status(0.98, 0.98) == "infeasible"


def test_its_line_up_keeps_weights_and_limits_and_is_measured_against_what_was_asked(text):
    result = _solved(text)
    found = diagnose(result)
    near = with_nearest(result, found)
    shared = near.infeasible.shared
    assert near.status == "infeasible"
    assert near.figures == result.figures
    assert near.infeasible.loose == ()
    for weight in near.weights:
        radii = weight.ball.radii
        assert radii.low == pytest.approx(shared[0], abs=3e-5 * INCH)
        assert radii.differential == pytest.approx(shared[1], abs=3e-5 * INCH)
        off = {one.figure: one.off for one in weight.deviations}
        assert abs(off["weight"]) < 0.0006 * POUND
        assert off["differential"] == pytest.approx(radii.differential - 0.055 * INCH, abs=1e-12)
        assert not any(outside(margin) for margin in weight.margins)
    assert near.infeasible.stops
    assert all(m.tolerances < 0.1 for m in near.infeasible.stops)


def test_where_nothing_can_be_shared_each_weight_comes_nearest_for_itself(two_pours):
    result = _solved(two_pours)
    near = with_nearest(result, diagnose(result))
    assert near is result
    assert near.infeasible.shared is None
    assert near.infeasible.loose == ()
    for weight in near.weights:
        off = {one.figure: one.off for one in weight.deviations}
        assert abs(off["weight"]) < 0.0006 * POUND


def test_a_weight_that_can_not_be_made_is_let_go_and_said(two_pours):
    """No block in its range makes 18.90 lb."""
    result = _solved(two_pours.replace("16 = 15.90", "16 = 18.90"))
    assert result.infeasible.loose == ("16",)

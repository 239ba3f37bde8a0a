from __future__ import annotations

import json

import numpy as np
import pytest
from oracles.balls import Ellipsoid, weight_and_radii

from optimizer.questions.line_up.data import solution

KEYS = {
    "label", "weight_lb", "mass_g", "rg_low_in", "rg_intermediate_in", "rg_high_in",
    "differential_in", "intermediate_differential_in", "cg_in", "cg_offset_in",
    "top_weight_oz", "pin_distance_in", "densities_g_cm3", "volumes_cm3", "dimensions",
    "parts", "margins", "rg_low_about_centre_in",
}  # fmt: skip
IN = 2.54
BALL = (
    Ellipsoid((4.29 * IN,) * 3),
    Ellipsoid((2.2 * IN, 2.5 * IN, 3.0 * IN), (0.1 * IN, 0.0, 0.2 * IN), (20, 0, 0), host=0),
)
"""The ball of conftest, told again in the oracle's own way."""


@pytest.mark.parametrize("unit", ["tilted", "metric"])
@pytest.mark.parametrize("label", ["15", "12"])
def test_figures_are_what_an_independent_ball_measures(unit, label, lineup, request) -> None:
    """Inches and pounds whatever the scenario is written in; the oracle knows no regions."""
    data = solution(lineup(request.getfixturevalue(unit)))
    row = next(weight for weight in data["weights"] if weight["label"] == label)
    densities = list(row["densities_g_cm3"].values())
    for about, suffix in (("cg", ""), ("centre", "_about_centre")):
        mass, radii, cg = weight_and_radii(BALL, densities, about)
        told = [row[f"rg_{which}{suffix}_in"] for which in ("low", "intermediate", "high")]
        assert told == pytest.approx(radii / IN, rel=1e-8)
        assert row[f"differential{suffix}_in"] == pytest.approx(
            (radii[2] - radii[0]) / IN, rel=1e-6
        )
    assert row["mass_g"] == pytest.approx(mass, rel=1e-8)
    assert row["weight_lb"] == pytest.approx(mass / 453.59237, rel=1e-8)
    assert row["cg_in"] == pytest.approx(cg / IN, rel=1e-7)
    assert row["cg_offset_in"] == pytest.approx(np.linalg.norm(cg) / IN, rel=1e-7)
    # static imbalance at an arm of the ball's radius; one ounce is a sixteenth of a pound
    ounces = np.linalg.norm(cg) / BALL[0].axes[0] * mass / 453.59237 * 16
    assert row["top_weight_oz"] == pytest.approx(ounces, rel=1e-7)
    angle = np.arccos(cg[2] / np.linalg.norm(cg))
    assert row["pin_distance_in"] == pytest.approx(4.29 * angle, rel=1e-6)


def test_the_promised_keys_are_there(lineup) -> None:
    data = solution(lineup())
    assert data["format"] == "samespin/solution@1"
    assert {"name", "revision", "sha256", "text"} <= data["scenario"].keys()
    assert {"samespin", "solver"} <= data["made_by"].keys()
    assert data["search"]["complete"] is True
    assert data["target"]["rg_in"] == 2.55
    assert data["infeasible"] is None
    assert all(weight.keys() >= KEYS for weight in data["weights"])
    assert data["weights"][0]["parts"][1]["inside"] == "cover"
    assert json.loads(json.dumps(data, allow_nan=False)) == data


def test_densities_are_told_exactly_as_stated(lineup, tilted) -> None:
    data = solution(lineup(tilted, {"15": (1.1234, 1.4321), "12": (1.1, 0.8)}))
    assert data["weights"][0]["densities_g_cm3"] == {"cover": 1.1234, "block": 1.4321}


def test_margins_say_whose_they_are_and_in_which_unit(lineup, metric) -> None:
    margins = solution(lineup(metric))["weights"][0]["margins"]
    wall = next(m for m in margins if m["limit"] == "wall min")
    assert (wall["of"], wall["part"], wall["unit"]) == (["block", "cover"], "block", "in")
    assert wall["bound"] == pytest.approx(5 / 25.4)
    assert wall["slack"] == pytest.approx(wall["value"] - wall["bound"])
    assert wall["tolerances"] == pytest.approx(wall["slack"] / (0.5 / 25.4), rel=1e-6)
    density = next(m for m in margins if m["limit"] == "density max" and m["part"] == "cover")
    assert (density["bound"], density["unit"], density["weight"]) == (1.3, "g/cm3", "15")
    top = next(m for m in margins if m["limit"] == "top weight max")
    assert (top["bound"], top["unit"], top["of"]) == (4.0, "oz", None)


def test_an_infeasible_result_holds_its_reason_and_the_nearest_line_up(lineup) -> None:
    data = solution(lineup(status="infeasible"))
    why = data["infeasible"]
    assert why.keys() >= {"conflict", "remedies", "nearest", "proof", "broken", "stops"}
    assert why["conflict"] is None
    assert why["remedies"] is None
    near = why["nearest"]
    assert (near["shared"], near["rg_in"], near["differential_in"]) == (False, None, None)
    assert [one["label"] for one in near["weights"]] == ["15", "12"]
    assert near["weights"][0]["rg_in"] == data["weights"][0]["rg_low_in"]
    assert why["stops"][0]["limit"] == "density min"


def test_the_smallest_margin_is_the_smallest_of_all(lineup) -> None:
    data = solution(lineup())
    every = [
        m["tolerances"]
        for weight in data["weights"]
        for m in weight["margins"]
        if m["tolerances"] is not None and m["note"] is None
    ]
    assert data["smallest_margin"]["tolerances"] == min(every)


def test_named_dimensions_are_told_for_each_weight(lineup, tilted) -> None:
    text = tilted.replace("at = [0.1, 0, 0.2]", 'at = [0.1, 0, "lift"]') + (
        "[dimensions]\nlift = { each = { 15 = 0.2, 12 = 0.3 } }\n"
    )
    weights = solution(lineup(text))["weights"]
    assert [weight["dimensions"] for weight in weights] == [{"lift": 0.2}, {"lift": 0.3}]
    assert [weight["parts"][1]["at"][2] for weight in weights] == [0.2, 0.3]

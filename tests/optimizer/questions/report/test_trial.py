"""What the live panel is given: a figure for every margin, every limit, all in full precision."""

from __future__ import annotations

import json
import tomllib
from dataclasses import replace

import numpy as np
import pytest
from asked import margins_of
from oracles.lineups import manufactured

from optimizer.ball.limits import DensityRange, LimitsText
from optimizer.paper.document import Live
from optimizer.questions.report.trial.panel import trial
from optimizer.scenario import linear_maps, scenario

KINDS = ["aligned", "aligned triaxial", "tilted 15", "triaxial", "off axis", "round"]


def of(ball, margin):
    """The figure that a page measures for a margin, here by the ball itself."""
    names = [part.name for part in ball.map.parts]
    parts = (margin.part,) if isinstance(margin.part, str) else margin.part or ()
    densities = [float(ball.densities[names.index(part)]) for part in parts]
    walls = {wall.between: wall.thickness for wall in ball.map.walls}
    by_key = {
        "density": lambda: densities[0],
        "density_step": lambda: densities[0] - densities[1],
        "weight": lambda: ball.properties.mass,
        "rg": lambda: ball.radii.low,
        "differential": lambda: ball.radii.differential,
        "intermediate_differential": lambda: ball.radii.intermediate_differential,
        "top_weight": lambda: ball.top_weight,
        "pin_distance": lambda: ball.pin_distance,
        "pin_marking": lambda: ball.map.radius * ball.radii.pin_tilt,
        "diameter": lambda: 2 * ball.map.radius,
        "wall": lambda: walls[margin.part],
    }
    return by_key[margin.bound.figure.key]()


def held():
    """An example of every limit that there is."""
    fields = {name: LimitsText.model_fields[name].annotation for name in LimitsText.model_fields}
    kinds = {
        name: next(k for k in kind.__args__ if k is not type(None)) for name, kind in fields.items()
    }
    return LimitsText.model_construct(**{name: k.example() for name, k in kinds.items()}).held


@pytest.fixture(params=KINDS)
def balls(request):
    """Balls of one map at random densities."""
    random = np.random.default_rng(4)
    line, densities = manufactured(random, request.param, "cg")
    (map_,) = linear_maps(scenario(line.text(), file="line.toml", target_required=True))
    return [map_.ball(np.array(densities) * random.uniform(0.6, 1.4, 4)) for _ in range(5)]


def test_every_limit_speaks_of_a_figure_that_the_page_measures(balls):
    """A new limit without a figure fails here."""
    limits = held()
    assert len(limits) == 1 + len(LimitsText.model_fields)
    assert isinstance(limits[0], DensityRange)
    for ball in balls:
        for limit in limits:
            for margin in margins_of(limit, ball):
                assert of(ball, margin) == margin.value, margin.words


def test_all_limits_are_told_whatever_axes_a_ball_has(lineup):
    """A panel has every bound there is, also on an axis that this ball has none of."""
    result = lineup()
    for told, weight in zip(trial(result).data["weights"], result.weights, strict=True):
        one = weight.ball.map
        limits = [bound for bound in one.bounds if bound.side != "both"]
        assert [
            (row["figure"], row["side"], row["bound"], row["tolerance"], row["rule"], row["note"])
            for row in told["limits"]
        ] == [
            (
                b.figure.key, "least" if b.side == "min" else "most", b.value, b.tolerance,
                not b.binds, b.note,
            )
            for b in limits
        ]  # fmt: skip
        by_bound = {margin.bound: margin for margin in weight.margins}
        still = [(b, row) for b, row in zip(limits, told["limits"], strict=True) if "value" in row]
        assert {b.figure.key for b, _ in still} == {"diameter", "wall"}
        for bound, row in still:
            margin = by_bound[bound]
            assert (row["value"], row["slack"]) == (margin.value, margin.slack)


def test_a_panel_carries_every_moment_in_full(lineup):
    result = lineup()
    live = trial(result)
    data = json.loads(json.dumps(live.data))
    for told, weight in zip(data["weights"], result.weights, strict=True):
        J = np.zeros((len(told["moments"]), 4, 4))
        for i, (a, b) in enumerate(zip(*np.triu_indices(4), strict=True)):
            J[:, a, b] = J[:, b, a] = np.array(told["moments"])[:, i]
        assert np.array_equal(J, weight.ball.map.moments)
        assert told["densities"] == weight.ball.densities.tolist()
        assert len(told["limits"]) == len(weight.margins)


def test_a_material_of_a_trial_has_a_name_that_no_other_has(lineup, tilted):
    text = tilted.replace("[materials.filled]", '[materials."block trial"]').replace(
        'material = "filled"', 'material = "block trial"'
    )
    parts = trial(lineup(text)).data["parts"]
    assert [tomllib.loads(f"x = {part['trial']}")["x"] for part in parts] == [
        "cover trial",
        "block trial trial",
    ]


def test_names_stay_within_their_line(lineup, tilted):
    """What is told in a comment of the lines can't end it."""
    result = lineup(tilted)
    named = replace(result, scenario=replace(result.scenario, name="Alder\ndensity = 3"))
    assert trial(named).data["scenario"] == "Alder�density = 3, revision B"


def test_which_weights_pour_alike_is_said(lineup, tilted):
    text = tilted.replace('material = "shell"', 'material = "shell"\nsame_density = "all"')
    weights = trial(lineup(text)).data["weights"]
    assert [weight["alike"] for weight in weights] == [
        ["poured alike in 12 lb", ""],
        ["poured alike in 15 lb", ""],
    ]


def test_it_says_what_it_begins_with(lineup):
    begins = {
        status: trial(lineup(status=status)).data["start"] for status in ("feasible", "infeasible")
    }
    assert begins == {"feasible": "solved densities", "infeasible": "nearest densities found"}
    assert isinstance(trial(lineup()), Live)

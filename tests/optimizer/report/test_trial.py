"""What the live panel is given: a figure for every margin, every limit, all in full precision."""

from __future__ import annotations

import json
import tomllib
from dataclasses import replace

import numpy as np
import pytest
from oracles.lineups import manufactured

from optimizer.limits import DensityRange, LimitsText
from optimizer.linear.rows import Margin
from optimizer.report.document import Live
from optimizer.report.trial.figures import STILL, figure, possible
from optimizer.report.trial.panel import trial
from optimizer.scenario import linear_maps, scenario

KINDS = ["aligned", "aligned triaxial", "tilted 15", "triaxial", "off axis", "round"]


def of(ball, margin):
    """The figure that a page measures for a margin, here by the ball itself."""
    names = [part.name for part in ball.map.parts]
    parts = (margin.part,) if isinstance(margin.part, str) else margin.part or ()
    densities = [float(ball.densities[names.index(part)]) for part in parts]
    walls = {wall.between: wall.thickness for wall in ball.map.walls}
    by_name = {
        "density": lambda: densities[0],
        "density step": lambda: densities[0] - densities[1],
        "weight": lambda: ball.properties.mass,
        "rg": lambda: ball.radii.low,
        "differential": lambda: ball.radii.differential,
        "intermediate differential": lambda: ball.radii.intermediate_differential,
        "top weight": lambda: ball.top_weight,
        "pin distance": lambda: ball.pin_distance,
        "pin marking": lambda: ball.map.radius * ball.radii.pin_tilt,
        "diameter": lambda: 2 * ball.map.radius,
        "wall": lambda: walls[margin.part],
    }
    return by_name[figure(margin)]()


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
            for margin in limit.margins(ball):
                assert of(ball, margin) == margin.value, margin.limit


def test_a_limit_of_no_known_figure_is_refused():
    margin = Margin("15", "USBC sheen max", None, 1.0, 2.0, 1.0, "ratio", None)
    with pytest.raises(ValueError, match='"USBC sheen max" is of no figure'):
        figure(margin)


def test_all_limits_are_told_whatever_axes_a_ball_has(balls):
    """What is possible is what each ball is held to, and besides only what speaks of an axis."""

    def told(margin):
        return (
            margin.limit, margin.part, margin.bound, margin.quantity, margin.tolerance,
            margin.rule_only, margin.note,
        )  # fmt: skip

    for ball in balls:
        limits = held()
        every = possible(ball.map, limits)
        own = [margin for limit in limits for margin in limit.margins(ball)]
        assert {told(m) for m in own} <= {told(m) for m in every}
        more = {m.limit for m in every} - {m.limit for m in own}
        assert more <= {"USBC pin marking max"}
        assert (more != set()) == (ball.radii.pin_tilt is None)
        still = [m for m in every if figure(m) in STILL]
        assert [(m.value, m.slack) for m in still] == [
            (m.value, m.slack) for m in own if figure(m) in STILL
        ]


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

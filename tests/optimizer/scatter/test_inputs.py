"""What varies, and which weights share it; when a ball is good."""

from __future__ import annotations

from collections.abc import Callable

import answers
import numpy as np
import pytest
from optimizer_texts import head
from tolerance_texts import BALL, DENSITIES, EVERYTHING, lineup

from optimizer.questions.tolerance.usual import usual_inputs
from optimizer.scatter.inputs import stated_inputs
from optimizer.scatter.line import Line
from optimizer.scatter.worst import worst
from optimizer.spread.distribution import Normal, Uniform
from shared.errors import InputError

Lined = Callable[..., Line]
FOUR = {"16": 15.9, "15": 15.1, "14": 14.1, "13": 13.1}


def groups(line: Line) -> dict[str, tuple[tuple[str, ...], ...]]:
    return {input_.name: input_.groups for input_ in line.inputs.each}


def test_a_declared_tolerance_alone_is_assumed(lined: Lined) -> None:
    """± of the material, from batch to batch; its ends, unless it is read another way."""
    for how, law in (("uniform", Uniform(half=0.01)), ("2 sigma", Normal(deviation=0.005))):
        cover, block = lined(f'[spread]\ndeclared = "{how}"\n').inputs.each
        assert (cover.law, cover.stated, cover.law.measured) == (law, False, False)
        assert block.name == "block density"
    stated = lined("[spread]\ndensity.cover = { sd = 0.004, measured = 20 }\n").inputs.each[0]
    assert (stated.law, stated.stated) == (Normal(deviation=0.004, count=20), True)
    assert stated.law.measured


def test_who_shares_a_batch_moves_together(lined: Lined) -> None:
    """A batch for two weights: one deviation; within it, each ball its own."""
    batch = 'density.block = { uniform = 0.02, within = 0.005, batch = [["16", "15"]] }\n'
    line = lined(f"[spread]\n{batch}scale = 0.01\n", weights=FOUR)
    assert groups(line)["block density"] == (("16", "15"), ("14",), ("13",))
    alone = tuple((label,) for label in FOUR)
    assert groups(line)["block density within a batch"] == alone
    assert groups(line)["scale"] == groups(line)["cover density"] == alone
    _, deviations = next(line.inputs.sources.samples(1, 1024))
    rho = {model.label: model.densities(deviations)[:, 1] for model in line.models}
    shared = {label: values - rho["16"] for label, values in rho.items()}
    assert 0.005 < np.abs(shared["15"]).max() <= 0.01  # two balls of ± 0.005 within one batch
    assert np.abs(shared["14"]).max() > 0.03
    known = (0.02**2 + 0.005**2) / 3
    assert rho["15"].var() == pytest.approx(known, rel=0.02)
    r = np.corrcoef(rho["16"], rho["15"])[0, 1]
    assert r == pytest.approx(0.02**2 / (0.02**2 + 0.005**2), abs=0.01)


def test_one_batch_for_all(lined: Lined) -> None:
    line = lined('[spread]\ndensity.block = { uniform = 0.02, batch = "all" }\n', weights=FOUR)
    assert groups(line)["block density"] == (tuple(FOUR),)


def test_weights_of_one_dimension_share_a_mould(lined: Lined) -> None:
    ball = BALL.replace(
        "tall = 6.0", "tall = { each = { 16 = 6.0, 15 = 6.0, 14 = 5.9, 13 = 6.0 } }"
    )
    line = lined("[spread]\ndimensions.tall = 0.01\n", ball, FOUR)
    assert groups(line)["tall dimension"] == (("16", "15", "13"), ("14",))


def test_correlated_inputs_are_so_in_every_weight(lined: Lined) -> None:
    text = 'correlation = [{ between = ["cover density", "block density"], r = -0.7 }]\n'
    line = lined(f"[spread]\n{text}", weights=FOUR)
    covariance = line.inputs.sources.covariance
    for label in FOUR:
        cover, block = line.inputs.columns[label]
        sds = line.inputs.sources.sd[[cover, block]]
        assert covariance[cover, block] == pytest.approx(-0.7 * sds.prod())
    assert np.count_nonzero(covariance) == len(covariance) + 2 * len(FOUR)


WRONG = {
    "an unknown name": (
        '[{ between = ["cover density", "blok density"], r = 0.5 }]',
        (
            'spread correlation: nothing that varies has this name ("blok density"); '
            'did you mean "block density"?'
        ),
    ),
    "not a correlation matrix": (
        (
            '[{ between = ["cover density", "block density"], r = 0.9 }, '
            '{ between = ["block density", "diameter"], r = 0.9 }, '
            '{ between = ["cover density", "diameter"], r = -0.9 }]'
        ),
        "spread correlation: these correlations contradict each other; give smaller ones",
    ),
}


@pytest.mark.parametrize(("text", "told"), WRONG.values(), ids=WRONG.keys())
def test_a_correlation_that_cannot_be_is_told(lined: Lined, text: str, told: str) -> None:
    with pytest.raises(InputError) as error:
        lined(f"[spread]\ndiameter = 0.01\ncorrelation = {text}\n")
    (problem,) = error.value.problems
    before = (head("Alder", {"15": 15.1}, (2.55, 0.03), about="cg") + BALL).count("\n")
    assert (problem.line, problem.file) == (before + 3, "line.toml")
    assert str(problem).split(": ", 1)[1] == told
    assert error.value.exit_code == 3


def test_a_good_ball_is_within_every_tolerance_and_keeps_the_rulebook() -> None:
    """By hand on drawn balls: weight ± 0.06 lb, RG ± 0.003 in, differential ± 0.001 in.

    And the rules: 16 lb at the most, 2.460 to 2.800 in, 0.060 in, a pin within 1 in of the axis.
    """
    text = head("Alder", {"16": 15.96}, (2.55, 0.03)) + BALL.replace(
        "tall = 6.0", 'tall = 6.0\n[limits]\nrulebook = "usbc"\n'
    )
    text = text.replace("rotate = [20,", "rotate = [14.5,")  # the axis leans by about 13°
    asked = lineup(text + EVERYTHING, (1.28, 1.54))
    line = Line.of(asked, stated_inputs(asked.scenario))
    _, deviations = next(line.inputs.sources.samples(1, 8192))
    _, figures, good = next(line.outcomes(deviations))
    inch, pound = 2.54, 453.59237
    rg, differential = (value / inch for value in asked.figures)
    known = (
        (np.abs(figures["weight"] / pound - 15.96) <= 0.06)
        & (np.abs(figures["low RG"] / inch - rg) <= 0.003)
        & (np.abs(figures["differential"] / inch - differential) <= 0.001)
        & (figures["weight"] / pound <= 16.0)
        & (figures["low RG"] / inch >= 2.46)
        & (figures["low RG"] / inch <= 2.8)
        & (figures["differential"] / inch <= 0.06)
        & ~(figures["axis tilt"] * 8.58 / 2 > 1.0)
    )
    assert np.array_equal(good, known)
    assert good.any()
    assert not good.all()
    assert (figures["weight"] / pound > 16.0).any()
    assert (figures["axis tilt"] * 8.58 / 2 > 1.0).any()


def test_a_diameter_beyond_the_rulebook_is_not_good() -> None:
    """8.595 in at the most: of 8.590 ± 0.010 in, a quarter lies beyond."""
    ball = BALL.replace("8.58", "8.59").replace(
        "tall = 6.0", 'tall = 6.0\n[limits]\nrulebook = "usbc"\n'
    )
    text = head("Alder", {"15": 15.1}, (2.55, 0.03)) + ball + "[spread]\ndiameter = 0.010\n"
    asked = lineup(text, DENSITIES)
    line = Line.of(asked, stated_inputs(asked.scenario))
    _, deviations = next(line.inputs.sources.samples(1, 8192))
    kept = line.ruled(line.models[0], deviations)
    assert kept.mean() == pytest.approx(0.75, abs=1e-3)


def test_axes_left_out_are_not_counted(lined: Lined) -> None:
    """Whether a part's place is stated along one axis says nothing of the others."""
    stated = "[spread]\nposition.block.x = 0.02\ncentre = { y = 0.01, z = 0.01 }\n"
    line = lined(stated, densities=DENSITIES)
    usual = usual_inputs(line.models[0].scenario, line.inputs.each)
    assert [i.name for i in usual["position"]] == ["block position y", "block position z"]
    assert [i.name for i in usual["centre"]] == ["centre x"]
    assert [i.name for i in usual["tilt"]] == ["block tilt x", "block tilt y"]


def test_a_dimension_without_a_spread_is_not_counted() -> None:
    """Weights of one value have one mould, and one deviation."""
    scenario = answers.shipped_scenario("larch-metric")
    inputs = usual_inputs(scenario, ())["dimension"]
    assert [i.of for i in inputs] == list(scenario.text.dimensions)
    for input_ in inputs:
        for group in input_.groups:
            values = {scenario.named(label)[str(input_.of)] for label in group}
            assert len(values) == 1
        assert sorted(label for group in input_.groups for label in group) == sorted(
            scenario.having(str(input_.of))
        )


def test_without_any_spread_all_balls_are_the_nominal_one(lined: Lined) -> None:
    ball = BALL.replace("tolerance = 0.01\n", "").replace("tolerance = 0.02\n", "")
    line = lined("", ball=ball)
    assert line.inputs.each == ()
    (model,) = line.models
    nominal = all(band.low <= model.nominal[band.figure] <= band.high for band in line.bands[0])
    good, whole = line.good()
    assert good["15"].count == whole.count == nominal * whole.of
    ends = worst(model)
    assert ends is not None
    for name, value in model.nominal.items():
        assert ends[name] == pytest.approx((value, value), rel=1e-9)

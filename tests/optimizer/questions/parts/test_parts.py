"""What each part does: its shares add up to the ball, and are what goes when it is taken out."""

from __future__ import annotations

import numpy as np
import pytest
import reported
from answers import example, solved
from lines import line_text
from optimizer_texts import head
from oracles import printed, removal

from optimizer.ball.figures import DIFFERENTIAL, INTERMEDIATE_DIFFERENTIAL, LOW_RG, WEIGHT
from optimizer.questions.line_up.data import ball_data, solution
from optimizer.questions.parts.data import parts_data
from optimizer.questions.parts.finding import MORE, Made, ends, made
from optimizer.questions.parts.line import line_sentences
from optimizer.questions.parts.page import parts_blocks
from optimizer.scenario import linear_maps, scenario
from shared.units import INCH

LINES = ("juniper", "yew", "tilted", "larch-metric", reported.CORES)
"""Round and solved; triaxial; off the pin axis, about the centre; metric; parts in some weights."""


@pytest.fixture(scope="module", params=LINES)
def result(request):
    return reported.line(request.param)


def test_shares_add_up_to_the_ball(result):
    """To 1e-12: masses and RG² by themselves, differentials in cm."""
    for each in made(result).values():
        radii = each.ball.radii
        assert abs(each.mass_shares.sum() - 1.0) < 1e-12
        assert np.max(np.abs(each.square_shares.sum(axis=1) - 1.0)) < 1e-12
        assert np.max(np.abs(each.squares.sum(axis=1) - radii.radii**2)) < 1e-12 * radii.high**2
        assert abs(each.differential().sum() - radii.differential) < 1e-12
        assert abs(each.differential(1).sum() - radii.intermediate_differential) < 1e-12


def test_shares_add_up_at_any_densities():
    """Tilted and triaxial cores, about the CG and about the centre; light parts, dense parts."""
    random = np.random.default_rng(7)
    for name in ("tilted", "yew"):
        for linear_map in linear_maps(reported.line(name).scenario):
            for _ in range(20):
                each = Made(linear_map.ball(random.uniform(0.05, 4.0, len(linear_map.pours))))
                assert np.max(np.abs(each.square_shares.sum(axis=1) - 1.0)) < 1e-12
                assert abs(each.differential().sum() - each.ball.radii.differential) < 1e-12
                assert np.all(each.square_shares > 0.0)


def test_a_share_is_what_goes_when_the_part_is_taken_out(result):
    """An oracle integrates the ball with and without it, with mass, CG and axes held."""
    unit, about = result.scenario.reading.length, result.scenario.about
    for row, each in zip(solution(result)["weights"], made(result).values(), strict=True):
        lost = removal.losses(row["parts"], row["densities_g_cm3"], about, unit)
        assert list(lost) == [part.name for part in each.ball.map.parts]
        for i, one in enumerate(lost.values()):
            assert each.mass_shares[i] == pytest.approx(one.mass, abs=1e-8)
            assert each.square_shares[:, i] == pytest.approx(one.squares, abs=1e-8)
            assert each.differential()[i] == pytest.approx(one.differential, abs=1e-7)
            assert each.differential(1)[i] == pytest.approx(one.intermediate, abs=1e-7)


def test_what_more_of_a_part_moves_is_the_difference_of_two_balls(result):
    """The oracle measures both, each about its own CG and axes."""
    unit, about = result.scenario.reading.length, result.scenario.about
    row, each = solution(result)["weights"][0], next(iter(made(result).values()))
    figures = (WEIGHT, LOW_RG, DIFFERENTIAL, INTERMEDIATE_DIFFERENTIAL)
    moved = np.array([each.moves(figure) for figure in figures])
    mass, radii = printed.figures(row["parts"], row["densities_g_cm3"], about, unit)
    for i, (part, density) in enumerate(row["densities_g_cm3"].items()):
        denser = row["densities_g_cm3"] | {part: density + MORE}
        other_mass, other = printed.figures(row["parts"], denser, about, unit)
        by = (other[0] - radii[0], np.ptp(other) - np.ptp(radii), -np.diff(radii - other)[1])
        assert moved[0, i] == pytest.approx(other_mass - mass, abs=1e-5)
        assert moved[1:, i] == pytest.approx(by, abs=1e-7)


def test_more_of_a_part_raises_rg_where_it_has_more_of_rg_than_of_weight(result):
    for each in made(result).values():
        tells = each.square_shares[0] - each.mass_shares
        clear = np.abs(tells) > 1e-3
        assert np.all(np.sign(each.moves(LOW_RG)[clear]) == np.sign(tells[clear]))


def test_two_spheres_by_hand():
    """A shell has 2/5 (R⁵ − r⁵) ÷ (R³ − r³) of its mass as its RG², about every axis."""
    text = head("Two", {"15": 15.0}, (2.7, 0.0), about="centre")
    for name, diameter, density in (("cover", 8.0, 1.5), ("core", 5.0, 0.9)):
        text += f'[materials.{name}]\ndensity = {density}\n[[parts]]\nname = "{name}"\n'
        text += f'shape = {{ kind = "sphere", diameter = {diameter} }}\nmaterial = "{name}"\n'
        text += 'inside = "cover"\n' if name == "core" else ""
    (linear_map,) = linear_maps(scenario(text, file="two.toml", target_required=True))
    each = Made(linear_map.ball(np.array([1.5, 0.9])))
    outer, inner = 4.0 * INCH, 2.5 * INCH
    masses = np.array([1.5 * (outer**3 - inner**3), 0.9 * inner**3])
    moments = 0.4 * np.array([1.5 * (outer**5 - inner**5), 0.9 * inner**5])
    assert each.mass_shares == pytest.approx(masses / masses.sum(), rel=1e-12)
    for shares in each.square_shares:
        assert shares == pytest.approx(moments / moments.sum(), rel=1e-12)
    assert each.differential() == pytest.approx(0.0, abs=1e-12)
    assert not each.axes_stand


def test_the_line_is_told_from_its_heaviest_weight_to_its_lightest():
    result = example("juniper")
    sentences = line_sentences(result, made(result))
    balls = {row["label"]: row for row in map(_grams, result.weights)}
    change = {part: balls["13"][part] - balls["16"][part] for part in ("mantle", "girdle")}
    assert f"From 16 lb to 13 lb, the mantle gives up {-change['mantle']:.3f} lb" in sentences[0]
    assert f"the girdle takes on {change['girdle']:.3f} lb" in sentences[0]
    assert sentences[0].endswith(": 2.780 lb less.")
    assert [sentence.split(":")[0] for sentence in sentences[1:]] == ["Low RG²", "Differential"]


def _grams(weight) -> dict:
    """Return what each part weighs in lb: volume times density, as a solution tells them."""
    data = ball_data(weight.ball)
    pounds = {
        part: volume * data["densities_g_cm3"][part] / 453.59237
        for part, volume in data["volumes_cm3"].items()
    }
    return {"label": weight.label, **pounds}


def test_a_part_that_stands_in_one_of_both_weights_comes_or_goes():
    result = reported.line(reported.CORES)
    (first, *_) = line_sentences(result, made(result))
    by_label = {row["label"]: row for row in map(_grams, result.weights)}
    assert f"the light spindle comes in with {by_label['12']['light spindle']:.3f} lb" in first
    assert f"the spindle is left out with its {by_label['16']['spindle']:.3f} lb" in first
    heavy, light = ends(made(result))
    change = {one["name"]: one for one in parts_data(result)["line"]["parts"]}
    assert change.keys() == {p.part for p in (*heavy.ball.map.pours, *light.ball.map.pours)}
    less = (light.ball.properties.mass - heavy.ball.properties.mass) / 453.59237
    assert sum(one["weight_lb"] for one in change.values()) == pytest.approx(less, abs=1e-12)
    gone = -by_label["16"]["spindle"]
    assert change["spindle"]["weight_lb"] == pytest.approx(gone, abs=1e-6)


def test_one_weight_is_no_line():
    result = solved(line_text(5, 1))
    assert line_sentences(result, made(result)) == ()
    assert parts_data(result)["line"] is None


def test_a_round_core_whose_pin_axis_turns_over_is_warned_of():
    """Two pours cross zero differential: at 14 lb all RGs are alike, at 13 lb the pin is high."""
    result = example("two-pours")
    stand = {label: each.axes_stand for label, each in made(result).items()}
    assert stand == {"16": True, "15": True, "14": False, "13": True, "12": True}
    shown = repr(parts_blocks(result))
    assert "Warning: 14 lb: RGs are so much alike" in shown
    assert "13 lb, 12 lb: there is no low-RG axis to speak of" in shown
    assert "not a solution" in shown

"""Parts of several solids in a scenario: read, refused, written, solved."""

from __future__ import annotations

import tomllib

import numpy as np
import pytest
from jsonschema import Draft202012Validator
from optimizer_texts import head

from geometry.solids import stretches
from optimizer.lineup.pipeline import solve_lineup
from optimizer.questions.report.proof import by_surfaces
from optimizer.scenario import Scenario, linear_maps
from optimizer.scenario import scenario as read
from optimizer.scenario.checks import fit
from optimizer.scenario.source.writing import part_text
from optimizer.scenario.text.schema import scenario_schema
from shared.errors import InputError

CORE = """
shapes = [
  { kind = "capsule", diameter = 2.8, height = 6.0 },
  { kind = "cylinder", diameter = 4.2, height = 1.2, at = [0, 0, 0.3] },
]
minus = [{ kind = "cylinder", diameter = 1.0, height = 1.5, at = [0, 0, 2.9] }]
"""
BALL = '{ kind = "sphere", diameter = '
TEXT = head("Osier", {"15": 15.12, "14": 14.12}, ("RG", "DIFFERENTIAL"))
TEXT += """
[materials.shell]
density = [1.10, 1.30]
tolerance = 0.010
[materials.light]
density = [0.60, 1.60]
tolerance = 0.015
[materials.dense]
density = [1.20, 3.80]
tolerance = 0.030
[[parts]]
name = "cover"
shape = { kind = "sphere", diameter = 8.580 }
material = "shell"
[[parts]]
name = "mantle"
inside = "cover"
shape = { kind = "sphere", diameter = 7.480 }
material = "light"
[[parts]]
name = "core"
inside = "mantle"
material = "dense"
"""


def scenario(core: str = CORE, rg: float = 2.54, differential: float = 0.038) -> Scenario:
    text = TEXT.replace("RG", f"{rg:.9f}").replace("DIFFERENTIAL", f"{differential:.9f}")
    return read(text + core, file="osier.toml", target_required=True)


def refused(core: str) -> str:
    with pytest.raises(InputError) as found:
        scenario(core)
    return "\n".join(map(str, found.value.problems))


def test_a_joined_and_cut_core_is_solved_and_measured_again_by_its_surfaces() -> None:
    result = solve_lineup(scenario())
    assert result.status == "feasible"
    for weight in result.weights:
        again = by_surfaces(weight.ball).about("cg").radii / 2.54
        assert again[0] == pytest.approx(2.54, abs=1e-4)
        assert again[2] - again[0] == pytest.approx(0.038, abs=1e-4)


def test_solids_that_are_rotated_one_by_one_are_the_part_rotated() -> None:
    turn = "rotate = [0, 25, 40]"
    whole = scenario(CORE + turn)
    tilted = (
        CORE.replace("height = 6.0 }", f"height = 6.0, {turn} }}")
        .replace("at = [0, 0, 0.3]", f"at = {_turned(0.3)}, {turn}")
        .replace("at = [0, 0, 2.9]", f"at = {_turned(2.9)}, {turn}")
    )
    ours, others = (linear_maps(one)[0].moments for one in (whole, scenario(tilted)))
    assert np.allclose(ours, others, rtol=0, atol=1e-8)


def _turned(z: float) -> list[float]:
    tilt, round_ = np.radians([25.0, 40.0])
    return [
        float(z * np.sin(tilt) * np.cos(round_)),
        float(z * np.sin(tilt) * np.sin(round_)),
        float(z * np.cos(tilt)),
    ]


def test_a_tilted_core_of_solids_comes_back_to_what_its_densities_make() -> None:
    core = CORE + "rotate = [0, 8, 0]"
    ball = linear_maps(scenario(core))[0].ball(np.array([1.16, 0.93, 2.6]))
    weight = ball.properties.mass / 453.59237
    radii = ball.radii.radii / 2.54
    text = (TEXT + core).replace("RG", f"{radii[0]:.9f}").replace("15.12", f"{weight:.9f}")
    text = text.replace("DIFFERENTIAL", f"{radii[2] - radii[0]:.9f}").replace("14 = 14.12\n", "")
    result = solve_lineup(read(text, file="osier.toml", target_required=True))
    assert result.status == "feasible"
    assert result.weights[0].ball.radii.low / 2.54 == pytest.approx(radii[0], abs=1e-5)


def test_a_part_is_written_in_its_own_grammar() -> None:
    one = scenario()
    written = part_text(one.classes[0].parts[2], one)
    told = tomllib.loads(CORE)
    assert written["shapes"] == told["shapes"]
    assert written["minus"] == told["minus"]
    assert "shape" not in written


def test_what_is_cut_away_is_the_hosts() -> None:
    uncut = CORE.partition("minus")[0]
    plain, cut = (linear_maps(scenario(core))[0].volumes for core in (uncut, CORE))
    assert cut.sum() == pytest.approx(plain.sum(), rel=1e-13)
    assert cut[1] - plain[1] == pytest.approx(plain[2] - cut[2], rel=1e-9)
    assert plain[2] - cut[2] > 1.0


@pytest.mark.parametrize(
    ("core", "said"),
    [
        ("", 'part "core" shape: is missing'),
        ('shape = { kind = "sphere", diameter = 2 }' + CORE, "is given as well as shape"),
        (
            f"shape = {BALL}2 }}\nminus = [{BALL}1 }}]",
            "write shapes = [ { … } ]",
        ),
        ("shapes = []", "shapes: is empty"),
        ('shapes = [{ kind = "blob" }]', "shapes [1] kind: is not a kind of shape"),
        ('shapes = [{ kind = "sphere", diamter = 2 }]', 'did you mean "diameter"'),
        ('shapes = [{ kind = "sphere", diameter = -2 }]', "shapes [1] diameter: must be more than"),
        ('shapes = [{ kind = "sphere", diameter = 2, at = [0, 0] }]', "shapes [1] at"),
        (
            f"shapes = [{BALL}2 }}]\nminus = [{BALL}3 }}]",
            "cuts everything away",
        ),
        ('shapes = [{ kind = "sphere", diameter = 8 }]', 'sticks out of "mantle"'),
        (
            f'shapes = [{BALL}3 }}, {{ kind = "cylinder", diameter = 4, height = 1e-200 }}]',
            "shapes [2]: has next to no volume",
        ),
    ],
)
def test_what_can_not_be_is_refused_with_its_place(core: str, said: str) -> None:
    told = refused(core)
    assert said in told
    assert "osier.toml:" in told


def test_what_takes_too_long_to_tell_is_refused_with_its_place(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(stretches, "MOST", 100)
    core = """shapes = [{ kind = "sphere", diameter = 3 }, { kind = "box", size = [3, 1, 1] }]"""
    line = TEXT.count("\n") - 3  # where [[parts]] stands
    message = refused(core)
    assert f':{line}:1: part "core" has solids that cross in so many places' in message
    assert "; draw them as one revolved or extruded outline" in message


def test_a_part_far_out_of_the_ball_is_refused_before_walls_are_looked_for(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def never(*_: object) -> None:
        raise AssertionError("walls of shapes that are far too wide")

    monkeypatch.setattr(fit, "mould_walls", never)
    monkeypatch.setattr(stretches, "MOST", 0)
    ring = """shapes = [
      { kind = "ring", diameter = 4, thickness = 1, stretch = [100, 1, 1] },
      { kind = "sphere", diameter = 2, at = [2, 2, 0] },
    ]"""
    assert 'part "core" sticks out of "cover" by 246 in at the side' in refused(ring)


def test_what_is_odd_is_warned_of() -> None:
    core = """
shapes = [{ kind = "sphere", diameter = 2 }, { kind = "sphere", diameter = 2, at = [0, 0, 2.3] }]
minus = [{ kind = "sphere", diameter = 1, at = [3, 0, 0] }]
"""
    told = "\n".join(scenario(core).warnings)
    assert "2 pieces that don't touch" in told
    assert "minus [1]" in told
    assert "cuts nothing" in told


def test_the_schema_knows_solids() -> None:
    check = Draft202012Validator(scenario_schema())
    text = TEXT.replace("RG", "2.5").replace("DIFFERENTIAL", "0.03")
    assert list(check.iter_errors(tomllib.loads(text + CORE))) == []
    for wrong in ('shapes = [{ kind = "sphere", height = 2 }]', ""):
        assert list(check.iter_errors(tomllib.loads(text + wrong)))


def test_a_named_dimension_may_be_free_in_a_solid() -> None:
    core = CORE.replace("height = 6.0", 'height = "tall"')
    free = "[dimensions]\ntall = { min = 5.9, max = 6.1 }\n"
    result = solve_lineup(scenario(core + free))
    assert result.status == "feasible"
    ours, plain = result.smallest, solve_lineup(scenario()).smallest
    assert ours is not None
    assert plain is not None
    assert ours.tolerances is not None
    assert plain.tolerances is not None
    assert ours.tolerances >= plain.tolerances

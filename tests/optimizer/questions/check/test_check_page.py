from __future__ import annotations

import json
import re

import pytest

from optimizer.lineup.margins import outside, rounding_reach
from optimizer.lineup.stating import measured
from optimizer.paper.writers.console import plain
from optimizer.questions.check.checking import checked
from optimizer.questions.check.data import check_data
from optimizer.questions.check.page import check_blocks
from optimizer.scenario import scenario
from shared.arrays import frozen
from shared.units import OUNCE

BOTH = {"cover": 1.2, "block": 1.4}


def looked_at(text: str, densities: dict[str, float] | None = None):
    return checked(
        scenario(text, file="alder.toml", target_required=False, densities=densities or {})
    )


def screen(check) -> str:
    return plain(check_blocks(check))


def test_parts_walls_and_what_is_free_are_shown(tilted) -> None:
    text = screen(looked_at(tilted))
    assert text.startswith("Alder, revision B: the file is in order, every wall is kept.")
    for words in (
        "  block  ellipsoid, diameters (4.4, 5, 6), rotate (20, 0, 0)  (0.1, 0, 0.2)  filled",
        "0.6 to 2.9 ±0.02",
        "2 free densities in each weight (cover and block); 4 in the line of 2 weights.",
        "Count: 3 targets",
    ):
        assert words in text


def test_a_ball_with_every_density_fixed_is_measured(tilted) -> None:
    check = looked_at(tilted, BOTH)
    text = screen(check)
    assert "The balls as measured" in text
    for words in (
        "low-RG axis", "high-RG axis (PSA)", "Top weight along the pin, oz", "pin distance, in",
        "About the centre of gravity, in", "About the ball's geometric centre, in",
        "at a balance arm of 4.290 in",
    ):  # fmt: skip
        assert words in text
    data = check_data(check)
    assert data["measured"][0]["weight_lb"] == pytest.approx(
        (1.2 * data["weights"][0]["volumes_cm3"]["cover"]
         + 1.4 * data["weights"][0]["volumes_cm3"]["block"]) / 453.59237
    )  # fmt: skip


@pytest.mark.parametrize(
    ("was", "to", "told"),
    [
        ("rg = 2.55", "rg = 2.82", "15 lb: USBC rg 2.820 in, 0.020 over its maximum (2.800)"),
        ("rg = 2.55", "rg = 2.44", "15 lb: USBC rg 2.440 in, 0.020 under its minimum (2.460)"),
        ("= 0.03\n", "= 0.07\n", "15 lb: USBC differential 0.070 in, 0.010 over its maximum"),
        ("15 = 15.1", "15 = 16.2", "15 lb: USBC weight 16.200 lb, 0.200 over its maximum (16.000)"),
        ("diameter = 8.58", "diameter = 8.6", "USBC diameter 8.600 in, 0.005 over its maximum"),
    ],
)
def test_what_is_asked_outside_the_rulebook_is_told_before_anything_is_solved(
    tilted, was, to, told
) -> None:
    """The rules of the table: RG 2.460 to 2.800 in, differential 0.060 in, 16 lb, 8.595 in."""
    check = looked_at(tilted.replace(was, to))
    assert told in screen(check)
    assert any(told in warning for warning in check_data(check)["warnings"])
    assert not any("USBC" in warning for warning in check_data(looked_at(tilted))["warnings"])


def test_a_uniform_ball_measures_the_handbook_sphere(tilted) -> None:
    """RG of a solid sphere: sqrt(2/5) R (Beer & Johnston, inside cover; from memory)."""
    check = looked_at(tilted, {"cover": 1.2, "block": 1.2})
    row = check_data(check)["measured"][0]
    assert row["rg_low_in"] == pytest.approx(0.4**0.5 * 4.29, rel=1e-8)
    assert row["differential_in"] == pytest.approx(0.0, abs=1e-8)
    assert row["top_weight_oz"] == pytest.approx(0.0, abs=1e-9)
    text = screen(check)
    assert "there is no low-RG axis to speak of" in text


def test_the_target_may_be_left_out(tilted) -> None:
    text = re.sub(r"\[target\].*?\[weights\]", "[weights]", tilted, flags=re.DOTALL)
    told = screen(looked_at(text, BOTH))
    assert "off target" not in told
    assert "low RG, in" in told
    assert "off target by" in screen(looked_at(tilted, BOTH))


def test_a_wall_under_its_least_is_told_with_its_amount(tilted) -> None:
    check = looked_at(tilted.replace("min = 0.2, tol", "min = 1.5, tol"))
    assert len(check.broken) == 2  # one wall, in each of two weights
    text = screen(check)
    assert text.startswith("Alder, revision B: OUTSIDE 1 LIMIT.")
    assert "UNDER ITS MINIMUM, outside by" in text
    assert re.search(
        r"- every weight: wall between block and cover \d\.\d+ in, \d\.\d+ under", text
    )


def test_ranges_that_cannot_make_the_weight_are_told(tilted) -> None:
    check = looked_at(tilted.replace("12 = 12.1", "12 = 6.0"))
    assert [one.label for one in check.out_of_reach] == ["12"]
    assert "The density ranges can't make the class weight of 12." in screen(check)


def test_each_mould_is_shown_once(tilted) -> None:
    text = tilted.replace("at = [0.1, 0, 0.2]", 'at = [0.1, 0, "lift"]') + (
        "[dimensions]\nlift = { each = { 15 = 0.2, 12 = 0.3 } }\n"
    )
    told = screen(looked_at(text))
    assert told.count("Parts as drawn") == 2
    assert screen(looked_at(tilted)).count("Parts as drawn") == 1


def test_the_data_are_json_and_say_the_same(tilted) -> None:
    data = check_data(looked_at(tilted))
    assert json.loads(json.dumps(data, allow_nan=False)) == data
    assert (data["format"], data["status"]) == ("samespin/check@1", "in order")
    assert data["free"] == {"parts": ["cover", "block"], "densities": 4}
    assert data["weights"][0]["walls"][0]["between"] == ["block", "cover"]
    assert data["measured"] == []
    broken = check_data(looked_at(tilted.replace("min = 0.2, tol", "min = 1.5, tol")))
    assert broken["status"] == "infeasible"
    assert broken["broken"][0]["limit"] == "wall min"


@pytest.mark.parametrize(("reaches", "kept"), [(0.5, True), (2.0, False)])
def test_a_limit_is_kept_by_as_much_as_for_a_line_up_that_is_solved(tilted, reaches, kept) -> None:
    """What stating the densities can move is no breach, whichever command measures the ball."""
    looked = looked_at(tilted, BOTH)
    one = looked.measured[0]
    (row,) = (m for m in one.margins if m.words == "top weight min")
    least = (one.ball.top_weight + reaches * rounding_reach(row.gradient)) / OUNCE
    again = looked_at(
        tilted.replace("top_weight = { min = 1.0", f"top_weight = {{ min = {least!r}"), BOTH
    )
    broken = {(m.words, m.weight) for m in again.broken}
    assert (("top weight min", one.label) not in broken) == kept
    asked = frozen([aim.asked for aim in one.deviations[1:]])
    solved = measured(again.measured[0].ball, asked).margins
    assert {(m.words, m.weight) for m in solved if outside(m)} == {
        b for b in broken if b[1] == one.label
    }

"""`--cast PART=AMOUNT`: densities from masses, by hand, and what is wrong in one line."""

from __future__ import annotations

import numpy as np
import pytest
from answers import solved
from optimizer_texts import shipped
from tolerance_texts import two_layers

from optimizer.questions.reconcile.half_cast.casts import Cast, read_casts, weight_of
from shared.errors import InputError

INCH, OUNCE, POUND = 2.54, 28.349523125, 453.59237
KEEL = np.pi * (1.1**2 * 2.8 + 4.0 / 3.0 * 1.1**3) * INCH**3
"""cm³: a capsule 2.2 in across, 5 in long."""
SPINDLE = np.pi / 6.0 * 3.3**2 * 6.1 * INCH**3
"""cm³: a spheroid, the keel in it included."""


def casts(text: str, *given: str, label: str = "15") -> dict[str, Cast]:
    """Return what is cast of a weight of a line-up, by part."""
    result = solved(text)
    ball = weight_of(result, label).ball
    return {cast.part: cast for cast in read_casts(given, result.scenario, ball)}


def problems(text: str, *given: str, label: str = "15") -> list[str]:
    """Return what is wrong."""
    with pytest.raises(InputError) as caught:
        casts(text, *given, label=label)
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("amount", "grams"),
    [
        ("846.2g", 846.2),
        (" 846.2 g", 846.2),
        ("0.8462kg", 846.2),
        ("1.87 lb", 1.87 * POUND),
        ("30.oz", 30.0 * OUNCE),
        ("8.5e2g", 850.0),
    ],
)
def test_a_mass_over_the_volume_as_drawn_is_the_density(
    ranges: str, amount: str, grams: float
) -> None:
    (keel,) = casts(ranges, f"keel={amount}").values()
    assert keel.mass == pytest.approx(grams)
    assert keel.density == pytest.approx(grams / KEEL, abs=5.1e-5)


def test_a_bare_number_is_a_density_in_the_scenarios_unit(ranges: str) -> None:
    (keel,) = casts(ranges, "keel=3.1").values()
    assert (keel.density, keel.mass) == (3.1, None)


def test_a_piece_is_weighed_with_all_that_lies_in_it(ranges: str) -> None:
    both = casts(ranges, "spindle=1700g", "keel=846.2g")
    assert list(both) == ["keel", "spindle"]
    spindle = (1700.0 - both["keel"].density * KEEL) / (SPINDLE - KEEL)
    assert both["spindle"].density == pytest.approx(spindle, abs=5.1e-5)


def test_what_lies_in_a_cast_part_is_cast_as_scheduled(ranges: str) -> None:
    both = casts(ranges, "spindle=1700g")
    keel = both["keel"]
    assert (keel.given, keel.mass, keel.density) == (False, None, keel.aimed)
    spindle = (1700.0 - keel.aimed * KEEL) / (SPINDLE - KEEL)
    assert both["spindle"].density == pytest.approx(spindle, abs=5.1e-5)


def test_a_part_that_is_cast_larger_is_weighed_before_turning(ranges: str) -> None:
    text = ranges.replace("cast       = {", "cast       = { mantle = 7.6,")
    assert text != ranges
    parts = casts(text, "mantle=5000g", "girdle=1.2", "spindle=2.6", "keel=3.1")
    ring = np.pi**2 / 4.0 * 4.6 * 0.8**2 * INCH**3
    inner = ring * 1.2 + KEEL * 3.1 + (SPINDLE - KEEL) * 2.6
    own = np.pi / 6.0 * (7.6 * INCH) ** 3 - ring - SPINDLE
    assert parts["mantle"].density == pytest.approx((5000.0 - inner) / own, abs=5.1e-5)


def test_a_metric_scenario_takes_its_own_unit() -> None:
    text = shipped("larch-metric")
    plug = np.pi / 4.0 * 4.4**2 * 11.0
    assert casts(text, "plug=3400")["plug"].density == pytest.approx(3.4)
    assert casts(text, "plug=560g")["plug"].density == pytest.approx(560.0 / plug, abs=5.1e-5)
    (problem,) = problems(text, "plug=3.4")
    assert problem.startswith("--cast plug=3.4: no casting of plug has this density (3.4 kg/m³)")


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ("kel=846.2g", 'there is no part "kel"; did you mean "keel"?'),
        ("keel", "has no amount; PART=AMOUNT"),
        ("keel=846,2g", "has a comma; write a decimal point"),
        ("keel=heavy", '"heavy" is not a number'),
        ("keel=", '"" is not a number'),
        ("keel=nan", '"nan" is not a number'),
        ("keel=13st", '"st" is not a unit of mass; known: "g", "kg", "oz", "lb"'),
        ("keel=846.2kg", "no casting of keel has this density (3184 g/cm³)"),
        ("keel=1e999g", "no casting of keel has this density (inf g/cm³)"),
        ("keel=-3", "no casting of keel has this density (-3 g/cm³)"),
        ("keel=25.1", "no casting of keel has this density (25.1 g/cm³)"),
        ("spindle=500g", "is it the mass of the whole piece"),
        ("cover=1.15", "is the last pour of weight 15; nothing is left to pour"),
    ],
)
def test_what_is_wrong_is_said_once(ranges: str, given: str, words: str) -> None:
    (problem,) = problems(ranges, given)
    assert problem.startswith(f"--cast {given.split('=', maxsplit=1)[0]}")
    assert words in problem


def test_all_mistakes_are_told_at_once(ranges: str) -> None:
    found = problems(ranges, "kel=3", "keel=3.1", "keel=3.2", "girdle=x")
    assert len(found) == 3
    assert '"keel" is given twice' in found[1]


def test_nothing_cast_is_an_error(ranges: str) -> None:
    (problem,) = problems(ranges)
    assert problem.startswith("--cast: nothing is cast")


def test_an_unknown_weight_is_named(ranges: str) -> None:
    (problem,) = problems(ranges, "keel=3.1", label="17")
    assert problem == '--weight 17: there is no weight "17"; known: "16", "15", "14", "13"'


def test_a_part_of_other_weights_is_said_to_be_theirs(ranges: str) -> None:
    text = ranges.replace('name     = "girdle"\n', 'name     = "girdle"\nonly_in  = ["16", "15"]\n')
    assert text != ranges
    (problem,) = problems(text, "girdle=1.2", label="14")
    assert 'the part "girdle" is not in weight 14; it is in 16 and 15' in problem


def test_a_finished_ball_is_told_as_it_measures() -> None:
    """Two concentric spheres: m = 4/3 π Σ ρ (R³ − r³), I = 8/15 π Σ ρ (R⁵ − r⁵)."""
    inner, outer = 3.5 * INCH, 4.29 * INCH
    (problem,) = problems(two_layers({"15": 15.0}), "cover=1.2", "mantle=1.0")
    mass = 4.0 / 3.0 * np.pi * (1.2 * (outer**3 - inner**3) + 1.0 * inner**3)
    inertia = 8.0 / 15.0 * np.pi * (1.2 * (outer**5 - inner**5) + 1.0 * inner**5)
    assert f"weight {mass / POUND:.4f} lb" in problem
    assert f"low RG {np.sqrt(inertia / mass) / INCH:.4f} in" in problem

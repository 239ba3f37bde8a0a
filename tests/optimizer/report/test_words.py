from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.mass_properties import principal
from optimizer.linear.rows import Margin
from optimizer.report.quantities import UNITS, Units
from optimizer.report.words import axis_lines, low_axis, margin_lines, psa_lines, sentence
from shared.units import INCH, OUNCE

INCHES = Units(*(UNITS[q][0] for q in ("density", "length", "rg", "mass", "imbalance")))
METRIC = Units(*(UNITS[q][-1] for q in ("density", "length", "rg", "mass", "imbalance")))


def margin(**changes) -> Margin:
    given = {
        "weight": "16",
        "limit": "density max",
        "part": "keel",
        "value": 2.31,
        "bound": 2.35,
        "slack": 0.04,
        "quantity": "density",
        "tolerance": 0.03,
    }
    return Margin(**(given | changes))


def test_a_margin_is_told_twice() -> None:
    assert (
        sentence(margin(), INCHES)
        == "keel 2.3100 g/cm³, 0.0400 under its most (2.3500): 1.3 tolerances"
    )
    assert (
        sentence(margin(), METRIC)
        == "keel 2310.0 kg/m³, 40.0 under its most (2350.0): 1.3 tolerances"
    )


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        (
            {"limit": "density min", "bound": 2.30, "slack": 0.01},
            "keel 2.3100 g/cm³, 0.0100 over its least (2.3000): 0.3 tolerances",
        ),
        (
            {"bound": 2.30, "slack": -0.01},
            "keel 2.3100 g/cm³, 0.0100 over its most (2.3000): outside by 0.3 tolerances",
        ),
        (
            {"bound": 2.31, "slack": 0.0},
            "keel 2.3100 g/cm³, at its most (2.3100): 0.0 tolerances",
        ),
        (
            {"tolerance": None},
            "keel 2.3100 g/cm³, 0.0400 under its most (2.3500): no tolerance declared",
        ),
        (
            {"tolerance": None, "bound": 2.30, "slack": -0.01},
            "keel 2.3100 g/cm³, 0.0100 over its most (2.3000): outside its limit",
        ),
        (
            {
                "limit": "wall min",
                "part": ("a", "b"),
                "value": 0.09 * INCH,
                "bound": 0.1 * INCH,
                "slack": -0.01 * INCH,
                "quantity": "length",
                "tolerance": None,
            },
            "wall between a and b 0.090 in, 0.010 under its least (0.100): outside its limit",
        ),
        (
            {
                "limit": "top weight max",
                "part": None,
                "value": 3.5 * OUNCE,
                "bound": 4 * OUNCE,
                "slack": 0.5 * OUNCE,
                "quantity": "imbalance",
                "tolerance": 0.25 * OUNCE,
            },
            "top weight 3.50 oz, 0.50 under its most (4.00): 2.0 tolerances",
        ),
        (
            {"limit": "USBC density max", "bound": 3.8, "slack": 1.49},
            "keel, USBC density 2.3100 g/cm³, 1.4900 under its most (3.8000): 49.7 tolerances",
        ),
    ],
)
def test_every_side_of_a_limit_has_its_words(changes: dict, told: str) -> None:
    assert sentence(margin(**changes), INCHES) == told


def test_what_weights_share_is_told_once() -> None:
    names = {"16": "16 lb", "15": "15 lb", "14": "14 lb"}
    same = [margin(weight=label) for label in names]
    assert [line.split(":")[0] for line in margin_lines(same, names, INCHES)] == ["every weight"]
    assert [line.split(":")[0] for line in margin_lines(same[:2], names, INCHES)] == [
        "16 lb, 15 lb"
    ]


def radii(*inertia: float):
    """Principal radii of a body of 1000 g whose inertia about x, y, z is given, in 1000 g cm²."""
    a, b, c = (1000.0 * value for value in inertia)
    half = (a + b + c) / 2
    return principal(np.diag([half - a, half - b, half - c, 1000.0]), np.zeros(3))


def test_an_ordinary_ball_has_nothing_to_tell_of_its_axes() -> None:
    """Tall core: least inertia about the pin axis z."""
    assert low_axis(radii(42.5, 42.5, 41.5)) is None


def test_a_low_axis_away_from_the_pin_is_told_with_its_angle() -> None:
    assert low_axis(radii(41.0, 42.0, 42.5)) == (
        "the low-RG axis is not the pin axis but 90.0° from it"
    )


def test_a_flat_core_has_no_low_axis_and_the_pin_has_the_high_rg() -> None:
    assert low_axis(radii(41.5, 41.5, 42.5)) == (
        "there is no low-RG axis to speak of (the two lower RGs are alike); "
        "the pin axis has the high RG"
    )


def test_axes_of_a_line_are_told_by_weight() -> None:
    names = {"16": "16 lb", "12": "12 lb"}
    balls = [("16", radii(42.5, 42.5, 41.5)), ("12", radii(41.5, 41.5, 42.5))]
    assert len(axis_lines(balls, names)) == 1
    assert axis_lines(balls, names)[0].startswith("12 lb: there is no low-RG axis")


def test_a_psa_that_turns_between_weights_is_told() -> None:
    names = {"16": "16 lb", "12": "12 lb"}
    along_x, along_y = radii(43.0, 42.0, 41.0), radii(42.0, 43.0, 41.0)
    assert psa_lines([("16", along_x), ("12", along_x)], names) == ()
    (line,) = psa_lines([("16", along_x), ("12", along_y)], names)
    assert "16 lb: equator, 0.0° from x; 12 lb: equator, 90.0° from x" in line


def test_negative_zero_is_never_printed() -> None:
    assert INCHES.rg.number(-1e-9) == "0.000"
    assert INCHES.rg.signed(-1e-9) == "+0.0000"
    assert math.isclose(float(INCHES.mass.number(453.59237)), 1.0)

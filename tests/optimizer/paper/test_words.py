from __future__ import annotations

import math

import numpy as np
import pytest

from optimizer.ball.bounds import Bound, Margin
from optimizer.ball.figures import FIGURES
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import margin_lines, sentence
from optimizer.scenario.text.scenario_text import UnitsText
from shared.units import INCH, OUNCE

QUANTITIES = ("density", "length", "rg", "mass", "imbalance")


def units(*names: str) -> Units:
    text = UnitsText(**dict(zip(("density", "length", "rg", "weight"), names, strict=True)))
    return Units(*(Unit.on_paper(text.by(quantity)) for quantity in QUANTITIES))


INCHES, METRIC = units("g/cm3", "in", "in", "lb"), units("kg/m3", "mm", "mm", "kg")


def margin(weight="16", limit="density max", bound=2.35, **changes) -> Margin:
    asked = {"of": changes.pop("part", "keel"), "tolerance": changes.pop("tolerance", 0.03)}
    rule = limit.startswith("USBC ")
    words, _, side = limit.removeprefix("USBC ").rpartition(" ")
    (figure,) = (one for one in FIGURES.values() if one.words == words)
    asked |= {"low" if side == "min" else "high": bound, "rule": "USBC" if rule else None}
    return Margin(Bound(figure, **asked), weight, **{"value": 2.31, "slack": 0.04} | changes)


def test_a_margin_is_told_twice() -> None:
    assert (
        sentence(margin(), INCHES)
        == "keel 2.3100 g/cm³, 0.0400 under its maximum (2.3500): 1.3 tolerances"
    )
    assert (
        sentence(margin(), METRIC)
        == "keel 2310.0 kg/m³, 40.0 under its maximum (2350.0): 1.3 tolerances"
    )


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        (
            {"limit": "density min", "bound": 2.30, "slack": 0.01},
            "keel 2.3100 g/cm³, 0.0100 over its minimum (2.3000): 0.3 tolerances",
        ),
        (
            {"bound": 2.30, "slack": -0.01},
            "keel 2.3100 g/cm³, 0.0100 over its maximum (2.3000): outside by 0.3 tolerances",
        ),
        (
            {"bound": 2.31, "slack": 0.0},
            "keel 2.3100 g/cm³, at its maximum (2.3100): no room",
        ),
        (
            {"bound": 2.31, "slack": 1e-15, "tolerance": None},
            "keel 2.3100 g/cm³, at its maximum (2.3100): no room",
        ),
        (  # stating the density to 0.0001 moves it by as much: not outside
            {"value": 2.31, "bound": 2.30997, "slack": -3e-5, "gradient": -np.ones(1)},
            "keel 2.3100 g/cm³, at its maximum (2.3100): no room",
        ),
        (  # a wall that is broken by less than is usually printed: with the digits to see it
            {
                "limit": "wall min",
                "part": ("a", "b"),
                "value": 0.19998 * INCH,
                "bound": 0.2 * INCH,
                "slack": -0.00002 * INCH,
                "tolerance": 0.02 * INCH,
            },
            (
                "wall between a and b 0.19998 in, 0.00002 under its minimum (0.20000): outside by "
                "less than 0.1 tolerances"
            ),
        ),
        (
            {"value": 2.349, "slack": 0.001},
            "keel 2.3490 g/cm³, 0.0010 under its maximum (2.3500): less than 0.1 tolerances",
        ),
        (
            {"tolerance": None},
            "keel 2.3100 g/cm³, 0.0400 under its maximum (2.3500): no tolerance declared",
        ),
        (
            {"tolerance": None, "bound": 2.30, "slack": -0.01},
            "keel 2.3100 g/cm³, 0.0100 over its maximum (2.3000): outside its limit",
        ),
        (
            {
                "limit": "wall min",
                "part": ("a", "b"),
                "value": 0.09 * INCH,
                "bound": 0.1 * INCH,
                "slack": -0.01 * INCH,
                "tolerance": None,
            },
            "wall between a and b 0.090 in, 0.010 under its minimum (0.100): outside its limit",
        ),
        (
            {
                "limit": "top weight max",
                "part": None,
                "value": 3.5 * OUNCE,
                "bound": 4 * OUNCE,
                "slack": 0.5 * OUNCE,
                "tolerance": 0.25 * OUNCE,
            },
            "top weight 3.50 oz, 0.50 under its maximum (4.00): 2.0 tolerances",
        ),
        (
            {
                "limit": "intermediate differential max",
                "part": None,
                "value": 0.0003 * INCH,
                "bound": 0.0005 * INCH,
                "slack": 0.0002 * INCH,
                "tolerance": None,
            },
            (
                "intermediate differential 0.0003 in, 0.0002 under its maximum (0.0005): "
                "no tolerance declared"
            ),
        ),
        (
            {"limit": "USBC density max", "bound": 3.8, "slack": 1.49},
            "keel, USBC density 2.3100 g/cm³, 1.4900 under its maximum (3.8000): 49.7 tolerances",
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


def test_negative_zero_is_never_printed() -> None:
    assert INCHES.rg.number(-1e-9) == "0.000"
    assert INCHES.rg.signed(-1e-9) == "+0.0000"
    assert math.isclose(float(INCHES.mass.number(453.59237)), 1.0)

"""The strict base, and quantities on their way in and out."""

from __future__ import annotations

import math
from typing import Annotated

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from shared.models import (
    AsTuple,
    Coordinate,
    Density,
    Length,
    LengthOrZero,
    Mass,
    PourDensity,
    RadiusDifference,
    RadiusOfGyration,
    Reading,
    StrictModel,
    suggestion,
)
from shared.units import INCH, POUND


class Everything(StrictModel):
    """One field of each quantity."""

    length: Length = 1.0
    gap: LengthOrZero = 0.0
    place: Coordinate = 0.0
    rg: RadiusOfGyration = 6.0
    difference: RadiusDifference = 0.0
    mass: Mass = 1.0
    density: Density = 1.0
    pour: PourDensity = 1.0
    pair: Annotated[tuple[Length, Length], AsTuple] = (1.0, 1.0)


READING = Reading(
    length=INCH, weight=POUND, density=0.001, rg=0.1, named={"tall": 2.0, "lift": -0.5}
)


def _read(**fields):
    return Everything.model_validate(fields, context=READING)


def test_a_quantity_is_written_in_the_texts_unit_and_held_in_ours():
    """2 in, 15 lb, 1150 kg/m³, 65 mm: each by its own factor of the reading."""
    found = _read(length=2, place=-1.5, mass=15.0, density=1150, rg=65.0, difference=1, pair=[1, 2])
    assert found.length == pytest.approx(5.08)
    assert found.place == pytest.approx(-3.81)
    assert found.mass == pytest.approx(6803.88555)
    assert found.density == pytest.approx(1.15)
    assert found.rg == pytest.approx(6.5)
    assert found.difference == pytest.approx(0.1)
    assert found.pair == pytest.approx((2.54, 5.08))


@given(st.floats(0.001, 30), st.floats(0.1, 2000), st.floats(60, 20000))
def test_what_is_read_is_written_back_as_it_was(length, mass, density):
    """To the 12 digits that are written: nobody's 8.58 becomes 8.579999999999998."""
    length, mass, density = (float(f"{value:.10g}") for value in (length, mass, density))
    found = _read(length=length, mass=mass, density=density)
    back = found.model_dump(context=READING)
    assert (back["length"], back["mass"], back["density"]) == (length, mass, density)


def test_without_a_reading_the_text_is_in_our_units():
    found = Everything.model_validate({"length": 3.5, "mass": 100})
    assert found.length == 3.5
    assert found.model_dump()["mass"] == 100.0


def test_a_length_may_be_the_name_of_a_dimension():
    found = _read(length="tall", place="lift", pair=["tall", 1.0])
    assert found.length == pytest.approx(5.08)
    assert found.place == pytest.approx(-1.27)
    assert found.pair == pytest.approx((5.08, 2.54))


def test_an_unknown_name_is_answered_with_the_closest():
    with pytest.raises(ValidationError, match=r'did you mean "tall"\?'):
        _read(length="tal")


def test_only_lengths_have_names():
    for field in ("mass", "density", "rg"):
        with pytest.raises(ValidationError):
            _read(**{field: "tall"})


@pytest.mark.parametrize(
    "wrong",
    [
        {"length": 0},
        {"length": -1.0},
        {"length": True},
        {"length": math.inf},
        {"length": math.nan},
        {"length": 41.0},  # beyond 100 cm: a slip of the unit
        {"length": 10**400},
        {"length": None},
        {"gap": -0.1},
        {"place": 41.0},
        {"rg": 0},
        {"difference": -1},
        {"mass": 0},
        {"mass": "15"},
        {"density": 0},
        {"density": 26000},  # no solid is: osmium has 22.6 g/cm³
        {"pour": 40},  # 0.04 g/cm³ is no casting
        {"pair": [1.0]},
        {"pair": 1.0},
        {"widht": 1.0},
    ],
)
def test_what_is_wrong_is_refused(wrong):
    with pytest.raises(ValidationError):
        _read(**wrong)


def test_nothing_at_all_and_level_are_lengths_where_they_may_be():
    found = _read(gap=0, place=0, difference=0)
    assert (found.gap, found.place, found.difference) == (0.0, 0.0, 0.0)


def test_a_model_does_not_change():
    with pytest.raises(ValidationError):
        _read().length = 2.0


@pytest.mark.parametrize(
    ("wrong", "known", "said"),
    [
        ("hieght", ["height", "diameter"], 'did you mean "height"?'),
        ("xyz", ["height", "size"], 'known: "height", "size"'),
        ("xyz", [], "none is defined"),
    ],
)
def test_a_suggestion_is_the_closest_word_or_what_is_known(wrong, known, said):
    assert suggestion(wrong, known) == said

"""Levers: what they say is the difference of two balls, measured by an oracle."""

from __future__ import annotations

import re

import numpy as np
import pytest
import reported
from answers import solved
from drawn import collisions, words
from lines import line_text
from oracles import printed

from optimizer.paper.pictures.placing import spread
from optimizer.questions.line_up.data import solution
from optimizer.questions.parts.finding import MORE
from optimizer.questions.report.levers_picture import (
    lever_pictures,
    lever_table,
    levers_by_weight,
)
from shared.units import INCH


@pytest.fixture(scope="module", params=[(3, 1, False), (5, 3, False), (8, 5, True), (12, 8, False)])
def result(request):
    parts, weights, metric = request.param
    text = line_text(parts, weights, metric=metric)
    return solved(text)


def test_a_lever_is_the_difference_of_two_balls(result):
    """The oracle slices both balls; mass is kept to rounding."""
    unit = result.scenario.reading.length
    for row in solution(result)["weights"][:2]:
        base, radii = printed.figures(row["parts"], row["densities_g_cm3"], "cg", unit)
        for one in levers_by_weight(result)[row["label"]]:
            changed = dict(row["densities_g_cm3"])
            changed[one.part] += MORE
            changed[one.partner] += one.partner_change
            mass, other = printed.figures(row["parts"], changed, "cg", unit)
            assert mass == pytest.approx(base, rel=1e-8)
            assert one.rg == pytest.approx(other[0] - radii[0], abs=1e-6 * INCH)
            assert one.differential == pytest.approx(np.ptp(other) - np.ptp(radii), abs=1e-6 * INCH)


def test_the_partner_is_the_same_in_every_weight_and_never_the_part_itself(result):
    pairs = [
        {(one.part, one.partner) for one in some} for some in levers_by_weight(result).values()
    ]
    assert all(some == pairs[0] for some in pairs)
    assert all(part != partner for part, partner in pairs[0])


TIP = r"class='lever' (?:d='M [\d.]+,[\d.]+ L ([\d.]+),([\d.]+)'|cx='([\d.]+)' cy='([\d.]+)')"


def test_arrows_point_where_the_numbers_say(result):
    """One scale for all weights: the arrows' ends, seen from the middle, go with the levers."""
    found, tips = levers_by_weight(result), []
    for picture in lever_pictures(result).each:
        x, y = re.search(r"<circle cx='([\d.]+)' cy='([\d.]+)' r='3.5'/>", picture.file()).groups()
        for one in re.findall(TIP, picture.file()):
            tx, ty = filter(None, one)
            tips.append((float(tx) - float(x), float(y) - float(ty)))
    told = [(one.rg, one.differential) for some in found.values() for one in some]
    assert len(tips) == len(told)
    for drawn, meant in zip(np.array(tips).T, np.array(told).T, strict=True):
        scale = np.max(np.abs(drawn)) / np.max(np.abs(meant))
        assert np.allclose(drawn, scale * meant, atol=0.12)


def other(*changes: tuple[str, str], parts: int = 5):
    """A line of three weights with some of its text changed, as it is measured at the nearest."""
    text = line_text(parts, 3)
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return solved(text)


def test_a_fixed_part_is_dashed_and_said_to_be_fixed():
    result = other(("density = [1.1, 1.24]", "density = 1.17"))
    for picture in lever_pictures(result).each:
        assert "cover (fixed)" in words(picture)
        assert "cover (fixed): low RG" in picture.about
        assert len(re.findall(r"class='lever'[^/]*stroke-dasharray", picture.file())) == 1
        assert collisions(picture) == []
    assert sum(row[0] == "  cover (fixed)" for row in lever_table(result).rows) == 3


def test_a_partner_never_falls_below_nothing():
    """Where only a thin girdle's density is sought, it can't make up the cover's mass.

    The largest of the fixed parts does, and is told to be fixed.
    """
    ranges = {"[1.1, 1.24]": "1.17", "[0.3, 1.8]": "0.9", "[0.5, 3.75]": "2.5"}
    changes = [(f"density = {old}", f"density = {new}") for old, new in ranges.items()]
    block = ('name = "block"\nmaterial = "filled"', 'name = "block"\nmaterial = "dense"')
    thin = ("thickness = 0.42", "thickness = 0.1")
    result = other(*changes, block, thin)
    for weight in result.weights:
        rho = dict(zip((p.part for p in weight.ball.map.pours), weight.ball.densities, strict=True))
        found = {one.part: one for one in levers_by_weight(result)[weight.label]}
        assert all(rho[one.partner] + one.partner_change >= 0.0 for one in found.values())
        assert found["cover"].partner == "mantle"
        assert found["cover"].given == ("cover", "mantle")
        assert found["girdle"].partner == "mantle"


def test_a_ball_of_one_part_has_no_levers_and_says_why():
    result = other(parts=1)
    pictures = lever_pictures(result)
    assert "No other part could make up the mass of cover." in pictures.caption
    assert all("class='lever'" not in picture.file() for picture in pictures.each)
    assert [len(row) for row in lever_table(result).rows] == [1, 1, 1]


def test_long_names_are_cut_beside_the_plot_and_whole_in_the_table():
    long = "the girdle that goes all the way round"
    result = other(('name = "girdle"', f'name = "{long}"'))
    for picture in lever_pictures(result).each:
        assert collisions(picture) == []
        assert long in picture.about
    assert any(long in row[0] for row in lever_table(result).rows)


def test_axes_are_marked_by_round_figures_and_zero(result):
    for picture in lever_pictures(result).each:
        marks = [one for one in words(picture) if re.fullmatch(r"0|[+-][\d.]+", one)]
        assert marks.count("0") == 2
        assert not [one for one in marks if "." in one and one.endswith("0")]


def test_the_same_bytes_twice(result):
    assert lever_pictures(result) == lever_pictures(result)


def test_names_do_not_collide(result):
    for picture in lever_pictures(result).each:
        assert collisions(picture) == []


def test_the_table_has_a_row_a_part_and_weight(result):
    parts, weights = len(result.scenario.pours), len(result.weights)
    assert len(lever_table(result).rows) == weights * (parts + 1)


def test_places_are_spread_in_order():
    assert spread([10.0, 11.0, 12.0], 15.0, 0.0, 100.0) == [10.0, 25.0, 40.0]
    assert spread([95.0, 99.0], 15.0, 0.0, 100.0) == [85.0, 100.0]
    assert spread([5.0, 5.0, 5.0], 15.0, 0.0, 20.0) == [0.0, 15.0, 30.0]


def test_a_partner_stands_wherever_its_part_does():
    """Whose mass a weight without it could make up? And every part of a weight has its lever."""
    result = reported.line(reported.CORES)
    found = levers_by_weight(result)
    names = {w.label: {p.part for p in w.ball.map.pours} for w in result.weights}
    pairs = {}
    for label, some in found.items():
        assert {one.part for one in some} == names[label]
        for one in some:
            assert one.partner in names[label]
            assert pairs.setdefault(one.part, one.partner) == one.partner
    assert pairs["cover"] == pairs["keel"] == pairs["light spindle"] == "mantle"
    assert pairs["mantle"] == "cover"
    for weight in result.weights:
        ball = weight.ball
        by_part = {one.part: one for one in found[weight.label]}
        mass, middle = ball.properties.mass, by_part["girdle"]
        changed = np.array(
            [
                density
                + (MORE if pour.part == "girdle" else 0.0)
                + (middle.partner_change if pour.part == middle.partner else 0.0)
                for pour, density in zip(ball.map.pours, ball.densities, strict=True)
            ]
        )
        other = ball.map.ball(changed)
        assert other.properties.mass == pytest.approx(mass, rel=1e-12)
        assert middle.rg == pytest.approx(other.radii.low - ball.radii.low, abs=1e-12)
    assert "No other part" not in lever_pictures(result).caption

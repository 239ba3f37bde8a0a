"""Levers: what they say is the difference of two balls, measured by an oracle."""

from __future__ import annotations

import re

import numpy as np
import pytest
from lines import line_text
from oracles import printed
from pictured import assert_apart

from optimizer.lineup.pipeline import solve_lineup
from optimizer.report.pictures.levers import (
    lever_pictures,
    lever_table,
    levers_by_weight,
    spread,
)
from optimizer.report.solution.data import solution
from optimizer.scenario import scenario
from optimizer.studies.levers import MORE
from shared.units import INCH


@pytest.fixture(scope="module", params=[(3, 1, False), (5, 3, False), (8, 5, True), (12, 8, False)])
def result(request):
    parts, weights, metric = request.param
    text = line_text(parts, weights, metric=metric)
    return solve_lineup(scenario(text, file="hazel.toml", target_required=True))


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


def test_names_do_not_collide(result):
    for picture in lever_pictures(result).each:
        assert_apart(picture)


def test_the_table_has_a_row_a_part_and_weight(result):
    parts, weights = len(result.scenario.pours), len(result.weights)
    assert len(lever_table(result).rows) == weights * (parts + 1)


def test_places_are_spread_in_order():
    assert spread([10.0, 11.0, 12.0], 15.0, 0.0, 100.0) == [10.0, 25.0, 40.0]
    assert spread([95.0, 99.0], 15.0, 0.0, 100.0) == [85.0, 100.0]
    assert spread([5.0, 5.0, 5.0], 15.0, 0.0, 20.0) == [0.0, 15.0, 30.0]

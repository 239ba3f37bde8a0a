"""Margins as bars: what stands on them is where the figures are."""

from __future__ import annotations

import re

import pytest
from lines import line_text
from pictured import assert_apart

from optimizer.lineup.pipeline import solve_lineup
from optimizer.report.pictures.bars import MOST, margin_bars, rows
from optimizer.report.quantities import Units
from optimizer.scenario import scenario

SIZES = [(3, 1, False), (5, 3, True), (8, 5, False), (12, 8, True)]


def line(parts: int, weights: int, metric: bool):
    text = line_text(parts, weights, metric=metric)
    return solve_lineup(scenario(text, file="hazel.toml", target_required=True))


@pytest.fixture(scope="module")
def results():
    return [line(*size) for size in SIZES]


def test_no_words_collide_or_leave_their_picture(results):
    for result in results:
        for picture in margin_bars(result).each:
            assert_apart(picture)


def test_every_margin_stands_in_one_row_and_the_tightest_come_first(results):
    for result in results:
        for weight in result.weights:
            found = rows(weight)
            assert sorted(map(id, weight.margins)) == sorted(
                id(margin) for row in found for margin in row.margins
            )
            rooms = [r.tightest.tolerances for r in found if not r.tightest.rule_only]
            known = [room for room in rooms if room is not None]
            assert rooms[: len(known)] == sorted(known)


def test_marks_and_ends_are_where_the_figures_are(results):
    """From the numbers at both ends of a band, a mark's place gives its figure."""
    result = results[2]
    units = Units.of(result.scenario)
    for weight, picture in zip(result.weights, margin_bars(result).each, strict=True):
        marks = [
            (float(x), float(y))
            for kind, x, y in re.findall(
                r"class='(inside|outside)' d='M ([\d.]+),([\d.]+)", picture.file()
            )
        ]
        ends = re.findall(r"class='end' d='M ([\d.]+),([\d.]+) v 14'", picture.file())
        at: dict[float, list[float]] = {}
        for x, y in ends:
            at.setdefault(float(y) + 7, []).append(float(x))
        both = 0
        for (x, y), row in zip(marks, rows(weight), strict=False):
            bounds = [row.bound("min"), row.bound("max")]
            if None in bounds:
                continue
            both += 1
            ((a, b),) = [xs for k, xs in at.items() if abs(k - y) < 7]
            value = bounds[0] + (x - a) / (b - a) * (bounds[1] - bounds[0])
            unit = units.by(row.tightest.quantity)
            assert value == pytest.approx(row.tightest.value, abs=0.002 * (bounds[1] - bounds[0]))
            assert unit.told(row.tightest.value) in picture.file()
            assert unit.number(bounds[0]) in picture.file()
        assert both >= 8


def test_what_is_outside_is_a_cross_and_says_so():
    """Three parts over eight weights can't be: the nearest balls stand at limits, some outside."""
    result = line(3, 8, False)
    for weight, picture in zip(result.weights, margin_bars(result).each, strict=True):
        bad = [row for row in rows(weight)[:MOST] if row.tightest.slack < -2e-4]
        assert picture.file().count("class='outside'") == len(bad)
        assert picture.file().count(">outside") + picture.file().count("(a rule)") >= len(bad)


def test_the_same_bytes_twice(results):
    for result in results:
        assert margin_bars(result) == margin_bars(result)

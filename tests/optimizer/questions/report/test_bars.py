"""Margins as bars: what stands on them is where the figures are."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from answers import solved
from drawn import collisions, words
from lines import line_text

from optimizer.paper.quantities import Units
from optimizer.questions.report.bars import LEFT, RIGHT, Scale, margin_bars
from optimizer.questions.report.margin_rows import MOST, MarginRow, drawn, rows

SIZES = [(3, 1, False), (5, 3, True), (8, 5, False), (12, 8, True)]


def line(parts: int, weights: int, metric: bool):
    text = line_text(parts, weights, metric=metric)
    return solved(text)


@pytest.fixture(scope="module")
def results():
    return [line(*size) for size in SIZES]


def test_no_words_collide_or_leave_their_picture(results):
    for result in results:
        for picture in margin_bars(result).each:
            assert collisions(picture) == []


def test_every_margin_stands_in_one_row_and_the_tightest_come_first(results):
    for result in results:
        for weight in result.weights:
            found = rows(weight)
            assert sorted(map(id, weight.margins)) == sorted(
                id(margin) for row in found for margin in row.margins
            )
            sections = [row.section for row in found]
            assert sections == sorted(sections)
            for section in set(sections):
                rooms = [row.tightest.tolerances for row in found if row.section == section]
                known = [room for room in rooms if room is not None]
                assert rooms[: len(known)] == sorted(known)


def test_what_no_density_moves_stands_under_words_that_say_so(results):
    """In a line of shapes as drawn these are the walls, and none but them."""
    for result in results:
        for weight, picture in zip(result.weights, margin_bars(result).each, strict=True):
            shown, _ = drawn(rows(weight))
            walls = [row for row in shown if row.tightest.words == "wall min"]
            assert [row for row in shown if row.section == 1] == walls
            assert ("No density moves these" in words(picture)) == bool(walls)


def test_what_is_left_out_is_counted_and_its_least_room_told(results):
    """Of 12 parts there are more than 40 limits."""
    for weight, picture in zip(results[3].weights, margin_bars(results[3]).each, strict=True):
        shown, left_out = drawn(rows(weight))
        assert len(shown) == MOST
        assert {*shown, *left_out} == {*rows(weight)}
        least = min(r.tightest.tolerances for r in left_out if r.tightest.tolerances is not None)
        told = words(picture)
        assert sum(f"and {len(left_out)} limits more, all kept" in one for one in told) == 1
        assert sum(one.startswith("tightest: ") for one in told) == 1
        assert any(one.endswith(f", {least:.1f} tolerances") for one in told if "tightest" in one)


def test_nothing_outside_is_left_out(results):
    """A limit of the last rows is broken by hand: it moves to the front of its section, drawn."""
    weight = results[3].weights[0]
    *_, last = (m for m in weight.margins if m.words == "wall min")
    broken = replace(last, value=0.5 * last.edge, slack=-0.5 * last.edge)
    changed = replace(weight, margins=tuple(broken if m is last else m for m in weight.margins))
    shown, left_out = drawn(rows(changed))
    (walls, *_) = [row for row in rows(changed) if row.section == 1]
    assert walls.tightest is broken
    assert walls in shown
    assert len(shown) == MOST
    assert walls not in left_out


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
        shown, _ = drawn(rows(weight))
        for (x, y), row in zip(marks, shown, strict=True):
            bounds = [*row.ends]
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
        bad = [row for row in rows(weight) if row.tightest.slack < -2e-4]
        assert picture.file().count("class='outside'") == len(bad)
        assert sum(one.startswith("outside") for one in words(picture)) == len(bad)


def test_the_same_bytes_twice(results):
    for result in results:
        assert margin_bars(result) == margin_bars(result)


def test_a_least_of_nothing_is_an_end_like_any_other(results):
    """A wall of at least 0: the bound's mark stands at the left end of the scale."""
    weight = results[0].weights[0]
    wall = next(m for m in weight.margins if m.words == "wall min")
    row = MarginRow((replace(wall, bound=replace(wall.bound, low=0.0), slack=wall.value),))
    (end,) = Scale(row, 50.0).ends()
    assert f"M {Scale(row, 50.0).x(0.0):.1f},43.0" in end
    assert Scale(row, 50.0).x(0.0) < Scale(row, 50.0).x(wall.value)


def test_a_whisker_is_one_tolerance_to_either_side(results):
    for row in rows(results[1].weights[0]):
        least, scale = row.tightest, Scale(row, 50.0)
        whisker = [re.search(r"whisker' d='M ([\d.]+),50.0 H ([\d.]+)", x) for x in scale.lines()]
        found = [tuple(map(float, one.groups())) for one in whisker if one]
        a, b = scale.shown
        per = (RIGHT - LEFT) / (b - a)
        for left, right in found:
            if left > LEFT and right < RIGHT:
                assert right - left == pytest.approx(2 * least.tolerance * per, abs=0.11)
        assert bool(found) == (least.tolerance is not None)


def test_what_is_left_of_a_tolerance_stands_between_both_its_ends(results):
    weight = results[0].weights[0].roomed()
    found = {row.tightest.words: row for row in rows(weight) if row.tightest.middle is not None}
    assert len(found) == len(weight.deviations)
    for off in weight.deviations:
        row = found[f"{off.bound.words} within tolerance"]
        ends = (off.asked - off.tolerance, off.asked + off.tolerance)
        assert row.ends == pytest.approx(ends, rel=1e-12)

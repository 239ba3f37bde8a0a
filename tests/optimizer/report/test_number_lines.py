"""What is short, as number lines: the gap that is told is the gap that is drawn and measured."""

from __future__ import annotations

import re

import pytest
from optimizer_texts import plain_juniper
from pictured import assert_apart, boxes

from optimizer.lineup.pipeline import solve_lineup
from optimizer.report.pictures.number_lines import number_lines
from optimizer.scenario import scenario
from optimizer.studies.diagnosis import explained


def asked(text: str):
    return explained(solve_lineup(scenario(text, file="juniper.toml", target_required=True)))


def changed(old: str, new: str) -> str:
    text, count = re.subn(old, new, plain_juniper(), count=1)
    assert count
    return text


TARGET = changed(r"differential = 0\.04\d*", "differential = 0.058")
HEAVY = changed(r"16 = 15\.90", "16 = 18.90")
WALL = changed(r"wall *= \{ min = [\d.]+", "wall = { min = 0.30")


@pytest.mark.parametrize("text", [TARGET, HEAVY, WALL], ids=["target", "weight", "wall"])
def test_words_do_not_collide_and_all_is_said(text):
    result, found = asked(text)
    lines = number_lines(result, found)
    for picture in lines.each:
        assert_apart(picture)
    assert "short by" in " ".join(picture.about for picture in lines.each)


def test_a_missed_differential_is_short_by_what_is_measured():
    result, found = asked(TARGET)
    picture = next(one for one in number_lines(result, found).each if "misses" in one.name)
    off = {
        f"{abs(one.off) / 2.54:.4f} in"
        for weight in result.weights
        for one in weight.deviations
        if one.figure == "differential"
    }
    told = set(re.findall(r"short by ([\d.]+ in)", picture.about))
    assert told & off


def test_a_class_weight_is_short_by_so_many_grams():
    """From the pound's definition: 453.59237 g."""
    result, found = asked(HEAVY)
    told = " ".join(one.about for one in number_lines(result, found).each)
    pairs = re.findall(r"by ([\d.]+) lb \((\d+) g\)", told)
    assert pairs
    for pounds, grams in pairs:
        assert float(pounds) * 453.59237 == pytest.approx(float(grams), abs=0.6)


def test_a_thin_wall_is_short_by_what_is_drawn():
    result, found = asked(WALL)
    (broken,) = [one for one in number_lines(result, found).each if "broken" in one.name]
    least = min(result.infeasible.broken, key=lambda m: m.slack)
    words = [word for word, *_ in boxes(broken)]
    assert f"short by {-least.slack / 2.54:.3f} in" in words


def test_a_line_that_can_be_has_no_such_picture():
    result, found = asked(plain_juniper())
    assert number_lines(result, found) is None

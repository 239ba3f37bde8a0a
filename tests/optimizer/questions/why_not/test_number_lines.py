"""What is short, as number lines: the gap that is told is the gap that is drawn and measured."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

import pytest
from answers import diagnosed
from drawn import collisions
from drawn import words as written
from lines import line_text
from optimizer_texts import JUNIPER, plain_juniper

from optimizer.paper.quantities import Units
from optimizer.questions.why_not.gaps import MET, MOST
from optimizer.questions.why_not.number_lines import MIDDLE, REACH, number_lines

TWO_POURS = JUNIPER.with_name("two-pours.toml")


def changed(old: str, new: str) -> str:
    text, count = re.subn(old, new, plain_juniper(), count=1)
    assert count
    return text


LOW = changed(r"(?m)^rg( *)= 2\.55\d*", r"rg\1= 2.40")
NARROW = changed(r"\[0\.62, 1\.45\]", "[0.80, 0.90]")
POURS = TWO_POURS.read_text(encoding="utf-8")
MANY = line_text(3, 8, metric=True)
TARGET = changed(r"differential = 0\.04\d*", "differential = 0.058")
HEAVY = changed(r"16 = 15\.90", "16 = 18.90")
WALL = changed(r"wall *= \{ min = [\d.]+", "wall = { min = 0.30")


TEXTS = {
    "target": TARGET,
    "weight": HEAVY,
    "wall": WALL,
    "low": LOW,
    "narrow": NARROW,
    "pours": POURS,
    "many": MANY,
}


@cache
def lines(name: str):
    result, diagnosis = diagnosed(TEXTS[name])
    return (
        result,
        diagnosis,
        {picture.name: picture for picture in number_lines(result, diagnosis).each},
    )


@pytest.mark.turns(3, "number lines")
@pytest.mark.parametrize("name", TEXTS)
def test_words_do_not_collide_and_all_is_said(name):
    result, diagnosis, pictures = lines(name)
    for picture in pictures.values():
        assert collisions(picture) == []
        for gap in drawn(picture):
            assert gap in f"{picture.title} {picture.about}"
    assert number_lines(result, diagnosis) == number_lines(result, diagnosis)


def drawn(picture):
    return [word.removesuffix("…") for word in written(picture)]


@pytest.mark.turns(3, "number lines")
@pytest.mark.parametrize("name", TEXTS)
def test_every_miss_is_drawn_or_counted(name):
    """A miss of more than a tenth of a tolerance; what is the same in several weights, once."""
    result, _, pictures = lines(name)
    units = Units.of(result.scenario)
    misses = {
        (
            deviation.figure.key,
            unit.number(deviation.asked, 1),
            unit.number(deviation.measured, 1),
        )
        for weight in result.weights
        for deviation in weight.deviations
        for unit in [units.mass if deviation.figure.key == "weight" else units.rg]
        if abs(deviation.tolerances) > MET
    }
    picture = pictures.get("short-by-misses")
    words = drawn(picture) if picture else []
    more = [int(n) for word in words for n in re.findall(r"^and (\d+) more", word)]
    shown = [m for m in misses if f"nearest {m[2]}" in words and f"asked {m[1]}" in words]
    assert len(misses) == len([word for word in words if word.startswith("nearest")]) + sum(more)
    assert len(shown) >= min(len(misses), MOST)


@pytest.mark.turns(3, "number lines")
@pytest.mark.parametrize("name", TEXTS)
def test_gaps_are_as_long_as_they_are_in_tolerances(name):
    _, _, pictures = lines(name)
    for picture in pictures.values():
        sizes = [float(x) for gap in drawn(picture) for x in re.findall(r": ([\d.]+) tol", gap)]
        wide = re.findall(r"class='gap' x='[\d.]+' y='[\d.]+' width='([\d.]+)'", picture.file())
        assert len(wide) == len(sizes)
        for w, size in zip(wide, sizes, strict=True):
            scale = REACH / max(sizes)
            assert float(w) == pytest.approx(scale * size, abs=0.1 + 0.06 * scale)


@pytest.mark.turns(3, "number lines")
@pytest.mark.parametrize("name", TEXTS)
def test_every_change_that_would_do_is_drawn_as_the_diagnosis_has_it(name):
    _, diagnosis, pictures = lines(name)
    changes = [change for remedy in diagnosis.remedies for change in remedy.changes]
    words = drawn(pictures["short-by-changes"]) if changes else []
    assert bool(changes) == ("short-by-changes" in pictures)
    for change in changes:
        assert f"now {change.value:g}" in words
        assert f"would do {change.to:g}" in words
        amount = f"{abs(change.to - change.value):.6g} "
        side = "higher" if change.to > change.value else "lower"
        assert any(word.startswith(amount) and side in word for word in words)


def test_two_that_do_together_are_joined():
    _, diagnosis, pictures = lines("narrow")
    (remedy,) = diagnosis.remedies
    assert len(remedy.changes) == 2
    picture = pictures["short-by-changes"]
    assert picture.title == "These two together would do"
    assert picture.file().count("class='joined'") == 1
    assert "together with" in picture.about


@pytest.mark.parametrize("name", ["target", "weight", "low", "narrow", "many"])
def test_a_limit_of_the_conflict_that_alone_is_not_enough_has_no_end(name):
    """Each claim of the conflict that has a number of its own stands in one of two pictures."""
    result, diagnosis, pictures = lines(name)
    stuck, changes = pictures["short-by-stuck"], pictures["short-by-changes"]
    assert "class='to'" not in stuck.file()
    ways = {move.about: move.way for move in diagnosis.not_enough if move.name == "density max"}
    assert all(way == 1 for way in ways.values())
    for claim in {claim for clash in diagnosis.conflicts for claim in clash.claims}:
        if claim.words == "class weight":
            label = next(w for w in result.weights if w.label == claim.weight)
            name_ = f"class weight of {label.ball.map.name}"
            listed = drawn(stuck) + drawn(changes)
            assert name_ in listed or any("more" in row for row in listed)
        elif claim.words in ("low RG", "differential"):
            assert claim.words in drawn(stuck) + drawn(changes)


def test_arrows_lead_the_way_a_limit_may_move():
    _, _, pictures = lines("low")
    file = pictures["short-by-stuck"].file()
    ways = [
        1 if float(tip) > MIDDLE else -1
        for tip in re.findall(rf"class='endless' d='M {MIDDLE},[\d.]+ H ([\d.]+)", file)
    ]
    both = [gap for gap in drawn(pictures["short-by-stuck"]) if gap.startswith("class weight")]
    least = [gap for gap in drawn(pictures["short-by-stuck"]) if gap.startswith("maximum")]
    assert len(both) == 3
    assert len(least) == 2
    assert ways == [1, -1] * (1 + len(both)) + [1] * len(least)


def test_undecided_is_said():
    result, diagnosis, _ = lines("low")
    unknown = replace(result, status="undecided")
    assert number_lines(unknown, diagnosis).caption.startswith("No line-up was found, and none was")
    assert not number_lines(result, diagnosis).caption.startswith("No line-up")


def test_a_limit_without_a_tolerance_is_outlined_and_still_told():
    text, count = re.subn(r"(wall *= \{.*?), tolerance = [\d.]+", r"\1", WALL)
    assert count
    result, diagnosis = diagnosed(text)
    picture = next(p for p in number_lines(result, diagnosis).each if "broken" in p.name)
    (gap,) = re.findall(r"<rect class='gap'[^>]*>", picture.file())
    assert "fill='none'" in gap
    assert "tolerances" not in picture.about


def test_a_missed_differential_is_short_by_what_is_measured():
    result, diagnosis, _ = lines("target")
    picture = next(
        picture for picture in number_lines(result, diagnosis).each if "misses" in picture.name
    )
    off = {
        f"{abs(deviation.off) / 2.54:.4f} in"
        for weight in result.weights
        for deviation in weight.deviations
        if deviation.figure.key == "differential"
    }
    shown = set(re.findall(r"short by ([\d.]+ in)", picture.about))
    assert shown & off


def test_a_class_weight_is_off_by_so_many_grams():
    """From the pound's definition: 453.59237 g."""
    result, diagnosis, _ = lines("weight")
    words = " ".join(picture.about for picture in number_lines(result, diagnosis).each)
    pairs = re.findall(r"([\d.]+) lb \((\d+) g\)", words)
    assert pairs
    for pounds, grams in pairs:
        assert float(pounds) * 453.59237 == pytest.approx(float(grams), abs=0.6)


def test_a_thin_wall_is_short_by_what_is_drawn():
    result, diagnosis, _ = lines("wall")
    (broken,) = [
        picture for picture in number_lines(result, diagnosis).each if "broken" in picture.name
    ]
    least = min(result.infeasible.broken, key=lambda m: m.slack)
    words = written(broken)
    assert f"short by {-least.slack / 2.54:.3f} in: {-least.tolerances:.1f} tolerances" in words


def test_a_line_that_can_be_has_no_such_picture():
    result, diagnosis = diagnosed(plain_juniper())
    assert number_lines(result, diagnosis) is None

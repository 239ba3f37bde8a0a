"""The page of a comparison: what it says, and pictures in which nothing collides."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

import pytest
from answers import example, solved
from drawn import collisions, read
from hypothesis import given
from hypothesis import strategies as st
from lines import line_text

from optimizer.paper.document import Notes, Pictures, Table
from optimizer.paper.writers import html_
from optimizer.questions.compare.better import better_lines, caution_lines, class_names
from optimizer.questions.compare.compare import Candidate, Comparison, comparison
from optimizer.questions.compare.page import comparison_blocks, comparison_report
from optimizer.questions.compare.scatter import scatter
from optimizer.questions.compare.slopes import slopes
from optimizer.questions.line_up.balls.strip import strip


@pytest.fixture(scope="module")
def pair():
    return comparison(["juniper.toml", "b.json"], [example("juniper"), example("juniper-b")])


def line(parts: int, weights: int, *, metric: bool = False):
    text = line_text(parts, weights, metric=metric)
    return solved(text)


@pytest.fixture(scope="module")
def lines():
    """One line of each size, some of them metric; those of eight weights can't be."""
    return {n: line(6, n, metric=n in (3, 8)) for n in (1, 3, 5, 8)}


def many(result, count: int) -> Comparison:
    """As many candidates with names of 16 letters."""
    names = [f"{letter}: 16 letters m." for letter in "ABCDEFGH"[:count]]
    assert {len(name) for name in names} == {16}
    return Comparison(tuple(Candidate(name, "x", result) for name in names))


def test_who_is_better_at_what(pair):
    assert better_lines(pair) == (
        "Most room: all alike, 1.9 tolerances.",
        "Most room in what densities move: Juniper, 4.8 tolerances (Juniper B 3.7).",
        "Fewest pours: Juniper B, 17 (Juniper 20).",
        "Fewest moulds: all alike, 1.",
        "Least filler in one ball of each weight: Juniper, 5604 g (Juniper B 5742).",
    )
    assert list(caution_lines(pair)) == []


def test_ties_are_told_as_alike(pair):
    first, second = pair.candidates
    three = Comparison((first, second, Candidate("Third", "x", first.result)))
    told = better_lines(three)
    assert "Most room in what densities move: Juniper and Third alike, 4.8 tolerances" in told[1]
    assert "(Juniper B 3.7)" in told[1]


def test_a_candidate_that_another_dominates_is_told_with_its_figures(pair):
    """With the second's margins and one more pour than the first, it is no better in anything."""
    first, second = pair.candidates

    class Worse(Candidate):
        @property
        def pours(self) -> int:
            return 21

    worse = Worse("Worse", "x", second.result)
    found = Comparison((first, worse))
    assert found.above(worse) == (first,)
    (said,) = caution_lines(found)
    assert said == (
        "Worse is dominated by Juniper, which needs fewer pours (20, not 21) and has more margin "
        "in what densities move (4.8 tolerances, not 3.7)."
    )
    picture = scatter(found)
    assert picture is not None
    assert "dominated by Juniper" in picture.whole.about
    assert "dominated by Juniper" in "".join(picture.whole.body)


def test_no_word_crowns_a_candidate(pair):
    said = html_.encoded(comparison_report(pair)).decode().lower()
    for word in ("winner", "score", "recommend", "rank", "best candidate", "overall"):
        assert word not in said


def test_the_same_candidates_give_the_same_bytes(pair):
    assert html_.encoded(comparison_report(pair)) == html_.encoded(comparison_report(pair))


def test_ids_of_the_page_are_found_once_and_nothing_is_styled(pair):
    content = html_.encoded(comparison_report(pair)).decode()
    ids = re.findall(r"\bid=['\"]([^'\"]+)['\"]", content)
    assert len(ids) == len(set(ids))
    assert " style=" not in content
    assert len(content) < 500_000


def test_a_page_tells_every_difference_and_a_screen_some(pair):
    found = comparison(["a", "b"], [pair.first.result, example("larch-metric")])
    short, full = comparison_blocks(found), comparison_report(found).blocks
    (few,) = [b for b in short if isinstance(b, Notes) and "more: all are" in b.lines[-1]]
    (all_,) = [b for b in full if isinstance(b, Notes) and b.lines[0] == few.lines[0]]
    assert few.lines[:12] == all_.lines[:12]
    assert few.lines[-1].startswith(f"and {len(all_.lines) - 12} more")


def test_a_weight_that_one_has_not_is_a_gap(pair):
    found = comparison(["a", "b"], [pair.first.result, example("larch-metric")])
    table = [b for b in comparison_blocks(found) if isinstance(b, Table)][-1]
    gaps = [row for row in table.rows if len(row) == 3 and "-" in row[1:]]
    assert {row[0].strip() for row in gaps} >= {"13.5 lb", "13 lb"}
    told = " ".join(caution_lines(found))
    assert "Juniper has no 13.5 lb." in told
    assert "Larch differ from those of Juniper: target, low RG: 2.55 in → 2.55906 in; " in told


@pytest.mark.parametrize("weights", [1, 3, 5, 8])
@pytest.mark.parametrize("count", [2, 4, 8])
def test_labels_do_not_collide(lines, weights, count):
    found = many(lines[weights], count)
    pictures = slopes(found, class_names(found))
    for one in pictures.each:
        assert collisions(one) == []
        assert sum("class='name'" in line for line in one.body) == count
        assert sum(line.count("class='sign'") for line in one.body) == count * (weights + 1)
    shown = scatter(found)
    if shown is None:
        assert lines[weights].status != "feasible"
    else:
        assert collisions(shown.whole) == []


class Made(Candidate):
    """A candidate with figures as its name says: room in tenths, and pours."""

    @property
    def rooms(self):
        """Room in tenths of a tolerance, twice."""
        room = Decimal(self.name.split()[1]) / 10
        return room, room

    @property
    def pours(self):
        """Different pours."""
        return int(self.name.split()[2])


@given(st.lists(st.tuples(st.integers(0, 60), st.integers(10, 30)), min_size=2, max_size=8))
def test_names_in_the_scatter_do_not_collide_whatever_the_figures(pair, figures):
    names = [
        f"{'ABCDEFGH'[k]}....... {room:03d} {pours}" for k, (room, pours) in enumerate(figures)
    ]
    assert all(len(name) <= 16 for name in names)
    found = Comparison(tuple(Made(name, "x", pair.first.result) for name in names))
    shown = scatter(found)
    assert shown is not None
    assert collisions(shown.whole) == []
    told = "".join(shown.whole.body)
    assert ("dominated by" in told) == any(found.above(one) for one in found.candidates)


def test_long_labels_of_weights_do_not_collide(lines):
    text = line_text(5, 5).replace("\n13 =", '\n"a class by itself" =')
    text = text.replace("\n15 =", '\n"fifteen and a half" =')
    result = solved(text)
    found = many(result, 2)
    for one in slopes(found, class_names(found)).each:
        assert collisions(one) == []


def test_signs_stand_where_their_figures_are(pair):
    """Low RG against the axis' own figures: read back from the picture to 0.0001 in."""
    (rg, *_) = slopes(pair, class_names(pair)).each
    ticks = {}
    for one in read(rg):
        if one.tag.endswith("text") and one.get("text-anchor") == "end":
            ticks[float(one.text)] = float(one.get("y")) - 4
    (a, y_a), *_, (b, y_b) = sorted(ticks.items())
    places = [
        float(one.get("transform").partition("(")[2].rstrip(")").split()[1])
        for one in read(rg)
        if one.get("class") == "sign"
    ]
    values = [a + (y - y_a) * (b - a) / (y_b - y_a) for y in places]
    expected = [w.ball.radii.low / 2.54 for one in pair.candidates for w in one.result.weights]
    on_lines = values[: len(expected)]
    assert on_lines == pytest.approx(expected, abs=1e-4)


def test_bands_are_the_target_and_its_tolerance(pair):
    """One band, since both aim alike; ± 0.003 in is 0.006 in high, of the axis' own length."""
    (rg, *_) = slopes(pair, class_names(pair)).each
    bands = [one for one in read(rg) if one.get("class") == "band"]
    assert len(bands) == 4
    ticks = {
        float(one.text): float(one.get("y"))
        for one in read(rg)
        if one.tag.endswith("text") and one.get("text-anchor") == "end"
    }
    (a, y_a), *_, (b, y_b) = sorted(ticks.items())
    high = 0.006 * (y_a - y_b) / (b - a)
    assert [float(one.get("height")) for one in bands] == pytest.approx([high] * 4, abs=0.3)


def test_equal_points_stand_side_by_side(pair):
    first = pair.first
    found = Comparison((first, replace(first, name="Twin"), replace(first, name="Triplet")))
    shown = scatter(found)
    assert shown is not None
    places = [
        tuple(map(float, one.get("transform").partition("(")[2].rstrip(")").split()))
        for one in read(shown.whole)
        if one.get("class") == "sign"
    ][:3]
    assert len({y for _, y in places}) == 1
    assert [round(b[0] - a[0]) for a, b in pairwise(places)] == [13, 13]


def test_fewer_than_two_margins_have_no_picture(pair):
    assert scatter(comparison(["a", "b"], [pair.first.result, example("two-pours")])) is None


def test_pictures_tell_in_words_what_they_show(pair):
    for block in (slopes(pair, class_names(pair)), scatter(pair)):
        for one in block.shown:
            assert "Juniper" in one.about
            assert "Juniper B" in one.about


def test_sections_of_all_candidates_have_one_scale_of_densities(pair):
    """The legends say the same ends, which hold every density of both."""
    report = comparison_report(pair)
    strips = [b for b in report.blocks if isinstance(b, Pictures) and "line-up" in b.whole.name]
    assert [one.whole.name for one in strips] == ["line-up-1", "line-up-2"]
    legends = [[e.text for e in read(one.each[0]) if e.tag.endswith("text")] for one in strips]
    assert legends[0] == legends[1]
    alone = [
        [e.text for e in read(strip(one.result).each[0]) if e.tag.endswith("text")]
        for one in comparison(["a", "b"], [example("rowan"), example("two-pours")]).candidates
    ]
    assert alone[0] != alone[1]

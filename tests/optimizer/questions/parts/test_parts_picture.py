"""The picture of what each part does: pieces as tall as what they add, and words that are clear."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest
import reported
from answers import solved
from drawn import SVG, boxes, collisions, read, words
from lines import line_text

from optimizer.questions.parts.finding import made
from optimizer.questions.parts.picture import parts_pictures
from optimizer.questions.parts.sums import sums


@pytest.fixture(scope="module", params=["juniper", "yew", reported.CORES, (12, 8)], ids=str)
def result(request):
    if isinstance(request.param, str):
        return reported.line(request.param)
    parts, weights = request.param
    return solved(line_text(parts, weights, metric=True))


def pieces(picture) -> list[ET.Element]:
    return [one for one in read(picture).iter(f"{SVG}rect") if one.get("class") == "part"]


def test_pieces_are_as_tall_as_what_they_add(result):
    """One scale for a panel: heights go with the figures, what takes away hangs below zero."""
    for figure, picture in zip(
        sums(result), parts_pictures(result, made(result)).each, strict=True
    ):
        added = [v for each in made(result).values() for v in figure.by_part(each).values()]
        drawn = pieces(picture)
        assert len(drawn) == len(added)
        heights = [float(one.get("height")) for one in drawn]
        scale = sum(heights) / sum(map(abs, added))
        assert heights == pytest.approx([scale * abs(v) for v in added], abs=0.02)
        zero = float(
            re.findall(r"M [\d.]+,([\d.]+) H [\d.]+' stroke='currentColor'/>", picture.file())[-1]
        )
        for one, value in zip(drawn, added, strict=True):
            top = float(one.get("y"))
            assert (
                (top + float(one.get("height")) <= zero + 0.1)
                if value >= 0.0
                else top >= zero - 0.1
            )


def test_a_thick_line_where_something_is_taken_away(result):
    for figure, picture in zip(
        sums(result), parts_pictures(result, made(result)).each, strict=True
    ):
        taken = any(
            v < 0.0 for each in made(result).values() for v in figure.by_part(each).values()
        )
        lines = picture.file().count("class='total'")
        assert lines == (len(result.weights) if taken else 0)


def test_no_figure_stands_on_a_thick_line(result):
    for picture in parts_pictures(result, made(result)).each:
        lines = re.findall(r"class='total' d='M ([\d.]+),([\d.]+) H ([\d.]+)'", picture.file())
        for left, y, right in (map(float, line) for line in lines):
            for word, start, top, end, bottom in boxes(read(picture)):
                assert not (left < start and end < right and top < y < bottom), word


def test_words_stand_apart_and_every_part_is_named(result):
    for picture in parts_pictures(result, made(result)).each:
        assert collisions(picture) == []
        for pour in result.scenario.pours:
            assert pour.part in words(picture)


def test_the_same_bytes_twice(result):
    assert parts_pictures(result, made(result)) == parts_pictures(result, made(result))

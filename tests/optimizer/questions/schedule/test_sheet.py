"""The frame of a drawing: what is written on it stays on it."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

from optimizer.paper.pictures.sheet import LEFT, TOP, WIDTH, drawing

LETTER = 7.8
"""px, the mean width of a letter of a sans-serif of 14 px at the most: from memory."""


def test_a_long_line_under_the_title_is_broken_where_it_would_leave_the_sheet():
    under = "about the centre of gravity, at an intermediate differential; " * 3
    for words in (under.strip(), "about the centre of gravity"):
        svg = ET.fromstring(drawing("x", "Title", "About it.", words, ()).file())  # noqa: S314 - ours
        lines = [one for one in svg.iter() if one.tag.endswith("text") and one.text != "Title"]
        assert " ".join(one.text or "" for one in lines) == words
        places = [float(one.get("y", "nan")) for one in lines]
        assert places == sorted(places)
        assert 34 + 12 < places[0] <= places[-1] < TOP
        assert all(LEFT + LETTER * len(one.text or "") < WIDTH for one in lines)
    assert len(re.findall("<text", drawing("x", "Title", "About.", under, ()).file())) > 2

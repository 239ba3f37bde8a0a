"""Pictures as a file and as an element of a page."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace

from optimizer.paper.pictures.picture import Picture, cut, side_by_side, text

ONE = Picture("one", "A <b> & 'c'", "about \x07 it", 120.0, 80.0, (text(1, 2, "<i>"),))
SPACE = "{http://www.w3.org/2000/svg}"


def test_a_file_is_whole_and_says_what_it_shows():
    root = ET.fromstring(ONE.file())  # noqa: S314 - our own
    assert root.find(f"{SPACE}title").text == "A <b> & 'c'"
    assert root.find(f"{SPACE}desc").text == "about � it"
    assert root.find(f"{SPACE}text").text == "<i>"
    assert root.get("viewBox") == "0 0 120 80"


def test_in_a_page_it_is_named_by_its_own_title_and_description():
    root = ET.fromstring(ONE.inline())  # noqa: S314 - our own
    ids = {one.get("id") for one in root.iter()}
    assert set(root.get("aria-labelledby").split()) <= ids
    assert root.get("role") == "img"


def test_pictures_side_by_side_keep_their_places():
    """Five of 120 × 80, three in a row: the fourth begins the second row."""
    five = [replace(ONE, name=f"n{k}") for k in range(5)]
    whole = side_by_side("all", "t", "a", five, across=3)
    root = ET.fromstring(whole.file())  # noqa: S314 - our own
    places = [g.get("transform") for g in root.iter(f"{SPACE}g")]
    assert places[3] == "translate(0.0 80.0)"
    assert (whole.width, whole.height) == (360.0, 160.0)


def test_names_that_are_cut_can_be_told_apart():
    """Of names that part at the end, in the middle or at the beginning; by brute force."""
    long = "the outer part of the two part weight block assembly"
    names = [f"{long}, upper", f"{long}, lower", f"{long} (lot 11)", f"{long} (lot 12)"]
    names += [f"{long[:25]}{k}{long[25:]}" for k in "ab"] + [f"{k} {long}" for k in "xy"]
    for letters in (8, 13, 20, 40):
        short = [cut(name, letters, names) for name in names]
        assert len(set(short)) == len(names)
        assert max(map(len, short)) <= letters
        assert all(piece in name for name, one in zip(names, short, strict=True)
                   for piece in one.split("…"))  # fmt: skip
    assert cut(names[0], 20) == "the outer part of t…", "alone it is the end that is cut"

"""Bands laid over each other: areas and outlines that are known from school."""

from __future__ import annotations

import numpy as np
import pytest

from optimizer.lineup.claims import Kind, Other
from optimizer.questions.window.exact.bands import Band, Line, box, joined, shared

SIDES = [Other(Kind.NOWHERE, name) for name in ("left", "right", "bottom", "top")]


def _box(rg: tuple[float, float], differential: tuple[float, float]) -> Band:
    return box(rg, differential, SIDES)


def _band(rg: list[float], low: list[float], high: list[float]) -> Band:
    made = (
        ((Other(Kind.NOWHERE, "low"),),) * (len(rg) - 1),
        ((Other(Kind.NOWHERE, "high"),),) * (len(rg) - 1),
    )
    lines = (Line(np.array(v), by) for v, by in zip((low, high), made, strict=True))
    return Band(np.array(rg), *lines)


def test_two_boxes_share_a_box():
    (piece,) = shared(_box((0, 2), (0, 2)), _box((1, 3), (1, 3)))
    assert piece.outline.tolist() == [[1, 1], [2, 1], [2, 2], [1, 2]]
    assert piece.area == 1.0


def test_a_triangle_over_a_box_has_the_corner_where_they_cross():
    """The triangle (0, 0) (2, 0) (2, 2) under the line at 1: a trapezium of area 3/2."""
    triangle = _band([0, 2], [0, 0], [0, 2])
    (piece,) = shared(triangle, _box((0, 2), (0, 1)))
    assert [1.0, 1.0] in piece.outline.tolist()
    assert piece.area == pytest.approx(1.5)
    tops = {by[0].of for points, by in piece.edges if by and points[0, 1] == points[1, 1] == 1.0}
    assert tops == {"top"}


def test_bands_apart_share_nothing():
    assert shared(_box((0, 1), (0, 1)), _box((2, 3), (0, 1))) == ()
    assert shared(_box((0, 1), (0, 1)), _box((0, 1), (2, 3))) == ()


def test_bands_that_touch_share_the_point():
    (piece,) = shared(_box((0, 1), (0, 1)), _box((1, 2), (1, 2)))
    assert piece.outline.tolist() == [[1, 1]]


def test_a_band_with_a_waist_is_cut_in_two():
    """Its high line dips to 0 in the middle: over 1/2 there are two pieces."""
    waist = _band([0, 1, 2], [0, 0, 0], [1, 0, 1])
    pieces = shared(waist, _box((0, 2), (0.5, 1)))
    assert [piece.rg.tolist() for piece in pieces] == [[0, 0.5], [1.5, 2]]
    assert sum(piece.area for piece in pieces) == pytest.approx(0.25)


def test_a_line_inside_a_band_stays_a_line():
    line = _band([0, 4], [0, 4], [0, 4])
    (piece,) = shared(line, _box((1, 3), (0, 9)))
    assert piece.outline.tolist() == [[1, 1], [3, 3]]
    assert piece.area == 0.0


def test_bands_that_meet_all_along_are_one():
    """An L of two boxes; its leap is kept, within 1e-8."""
    (union,) = joined([_box((0, 2), (0, 1)), _box((1, 3), (0, 2))], 1e-9)
    assert union.area == pytest.approx(2.0 + 4.0 - 1.0, abs=1e-7)
    assert union.holds(0.5, 0.9)
    assert not union.holds(0.5, 1.1)
    assert union.holds(1.5, 1.9)


def test_bands_that_do_not_meet_stay_apart():
    assert len(joined([_box((0, 2), (0, 1)), _box((1, 3), (1.5, 2))], 1e-9)) == 2

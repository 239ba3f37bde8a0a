"""Edges in any order and direction, put together again."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.outlines.outline import Outline
from geometry.outlines.strokes import JOIN, Run, outline
from shared.errors import FileError


def same(one: np.ndarray, other: np.ndarray, within: float = 1e-12) -> bool:
    """Whether two lists of vertices are one outline, wherever they start and whichever way."""
    a, b = (Outline(np.array(v, dtype=float)).vertices for v in (one, other))
    return len(a) == len(b) and any(
        np.max(np.abs(np.roll(a, k, axis=0) - b)) <= within for k in range(len(a))
    )


def edges(vertices: np.ndarray) -> list[Run]:
    """Each edge of a closed outline as a run of its own."""
    ends = np.roll(vertices, -1, axis=0) * [1, 1, 0]
    return [Run(np.array([a, b]), closed=False) for a, b in zip(vertices, ends, strict=True)]


def reversed_(run: Run) -> Run:
    (x, y, bulge), (u, v, _) = run.vertices
    return Run(np.array([[u, v, -bulge], [x, y, 0.0]]), closed=False)


@st.composite
def shuffled(draw: Any) -> tuple[np.ndarray, list[Run]]:
    """A star-shaped outline with arcs, and its edges in any order and direction, a little off."""
    count = draw(st.integers(3, 9))
    angle = 2 * np.pi * np.arange(count) / count
    r = np.array(draw(st.lists(st.floats(1, 5), min_size=count, max_size=count)))
    bulge = np.array(draw(st.lists(st.floats(-0.3, 0.3), min_size=count, max_size=count)))
    vertices = np.column_stack([r * np.cos(angle), r * np.sin(angle), bulge])
    off = draw(st.floats(0, 0.4 * JOIN))
    runs = [
        reversed_(run) if draw(st.booleans()) else run
        for run in (
            Run(one.vertices + np.array([off, -off, 0]), one.closed) for one in edges(vertices)
        )
    ]
    runs[0] = Run(runs[0].vertices - [2 * off, 0, 0], closed=False)
    return vertices, draw(st.permutations(runs))


@given(shuffled())
@settings(max_examples=60)
def test_an_outline_comes_back_from_its_edges_in_any_order(case) -> None:
    vertices, runs = case
    assert same(outline(runs, axis=False), vertices, within=3 * JOIN)


def test_a_polyline_comes_back_to_the_digit() -> None:
    vertices = np.array([[0.1, 0.2, 0.3], [4.7, 0.3, -0.123456789], [4.1, 5.3, 0], [0.2, 3.3, 0.7]])
    assert np.array_equal(outline([Run(vertices, closed=True)], axis=False), vertices)


HALF = np.array([[0, -6, 0], [4, -6, 0.2], [5, -5, 0], [5, 2, 0], [0, 4, 0]], dtype=float)


def test_a_half_outline_is_closed_by_the_axis() -> None:
    given_ = Run(HALF, closed=False)
    assert same(outline([given_], axis=True), HALF)
    beside = Run(HALF + np.array([3e-6, 0, 0]), closed=False)
    assert same(outline([beside], axis=True), HALF, within=1e-5)
    assert outline([beside], axis=True)[[0, -1], 0].tolist() == [0.0, 0.0]
    with pytest.raises(FileError, match=r"open at \(0, -6\)"):
        outline([given_], axis=False)


def test_a_whole_section_is_halved() -> None:
    """As the sections of moulds are drawn: both halves, with vertices on the axis or without."""
    back = HALF[-2:0:-1] * [-1, 1, 1]
    back[:, 2] = [0, 0.2, 0]
    assert same(outline([Run(np.vstack([HALF, back]), closed=True)], axis=True), HALF)
    box = np.array([[-2, -3, 0], [2, -3, 0], [2, 3, 0], [-2, 3, 0]], dtype=float)
    assert same(
        outline([Run(box, closed=True)], axis=True),
        [[0, -3, 0], [2, -3, 0], [2, 3, 0], [0, 3, 0]],
    )
    circle = Run(np.array([[-2.0, 0, 1], [2, 0, 1]]), closed=True)
    quarter = np.tan(np.pi / 8)
    assert same(
        outline([circle], axis=True), [[0, -2, quarter], [2, 0, quarter], [0, 2, 0]], within=1e-12
    )


def test_both_halves_of_a_bored_section_are_one_outline() -> None:
    ring = np.array([[2, -1, 0], [3, -1, 0.5], [3, 1, 0], [2, 1, 0]], dtype=float)
    other = Run(ring * [-1, 1, -1], closed=True)
    assert same(outline([other, Run(ring, closed=True)], axis=True), ring)


def test_what_is_not_symmetric_is_not_halved() -> None:
    """It comes back as drawn, across the axis, and the check of outlines names the place."""
    leaning = np.array([[-2, -3, 0], [2, -3, 0], [2.01, 3, 0], [-2, 3, 0]], dtype=float)
    assert np.array_equal(outline([Run(leaning, closed=True)], axis=True), leaning)
    ring = np.array([[2, -1, 0], [3, -1, 0], [3, 1, 0], [2, 1, 0]], dtype=float)
    two = [Run(ring, closed=True), Run(ring * [-1, 1.01, 1], closed=True)]
    with pytest.raises(FileError, match="2 closed lines"):
        outline(two, axis=True)


def square(*changes: tuple[int, tuple[float, float, float]]) -> list[Run]:
    lines = np.array(
        [
            [[0, 0, 0], [4, 0, 0]],
            [[4, 0, 0], [4, 4, 0]],
            [[4, 4, 0], [0, 4, 0]],
            [[0, 4, 0], [0, 0, 0]],
        ],
        dtype=float,
    )
    for number, end in changes:
        lines[number, 1] = end
    return [Run(line, closed=False) for line in lines]


@pytest.mark.parametrize(
    ("runs", "told"),
    [
        ([], "has no lines or arcs; draw the outline"),
        ([Run(np.zeros((1, 3)), closed=False)], "has no lines or arcs"),
        (
            square((1, (4, 3.9, 0))),
            "is open at (4, 4); the nearest end is 0.1 away, at (4, 3.9); join the ends",
        ),
        (square()[:3], "is open at (0, 0); the nearest end is 4 away, at (0, 4)"),
        ([*square(), *square()[:1]], "more than two ends that meet at (0, 0)"),
        (
            [*square(), Run(np.array([[0, 0, 0], [2.0, 2, 0]]), closed=False)],
            "more than two ends that meet at (0, 0); leave out branches and lines",
        ),
        (
            [*square(), Run(np.array([[1, 1, 1], [2.0, 1, 1]]), closed=True)],
            "has 2 closed lines, but an outline is one; keep one of them",
        ),
        (square() * 251, "has 1004 lines and arcs; an outline has up to 1000"),
    ],
)
def test_what_is_no_outline_is_told_with_its_place(runs, told) -> None:
    with pytest.raises(FileError) as caught:
        outline(runs, axis=False)
    assert told in str(caught.value)


def test_a_half_outline_that_misses_the_axis_is_told_where() -> None:
    short = HALF.copy()
    short[-1] = [0.1, 4, 0]
    with pytest.raises(FileError, match=r"open at \(0.1, 4\).*or end on the axis, x = 0"):
        outline([Run(short, closed=False)], axis=True)

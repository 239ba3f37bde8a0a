"""Regions between two lines that turn back, against ray casting and the shoelace formula."""

from __future__ import annotations

import numpy as np
import pytest
from oracles.windows import outside

from optimizer.lineup.claims import Kind, Other
from optimizer.questions.window.exact.bands_between import bands_between

BOTTOM, TOP, LEFT, RIGHT = (
    Other(Kind.NOWHERE, name) for name in ("bottom", "top", "left", "right")
)


def _region(random: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Two lines over a rising key that is drawn upward: what they bound turns back and forth."""
    key = np.sort(random.uniform(0.0, 1.0, 9))
    first = random.uniform(5.0, 7.0, 9)
    second = first + random.uniform(0.1, 1.0, 9)
    return np.column_stack([first, key]), np.column_stack([second, key])


def _bands(low: np.ndarray, high: np.ndarray):
    makers = [(BOTTOM,)] * (len(low) - 1), [(TOP,)] * (len(low) - 1)
    return bands_between((low, high), makers, ((LEFT,), (RIGHT,)))


def _shoelace(outline: np.ndarray) -> float:
    (x, y), (a, b) = outline.T, np.roll(outline, -1, axis=0).T
    return abs(float(np.sum(x * b - a * y))) / 2


def test_bands_hold_what_the_outline_holds():
    random, several = np.random.default_rng(41), 0
    for _ in range(40):
        low, high = _region(random)
        bands, outline = _bands(low, high), np.vstack([low, high[::-1]])
        several += len(bands) > 1
        assert sum(band.area for band in bands) == pytest.approx(_shoelace(outline), abs=1e-9)
        points = np.column_stack([random.uniform(4.8, 8.2, 300), random.uniform(0.0, 1.0, 300)])
        held = [any(band.holds(*point, 0.0) for band in bands) for point in points.tolist()]
        assert held == (outside(outline, points) == 0.0).tolist()
    assert several > 10


def test_what_makes_a_line_makes_its_edges():
    """A square on its side: the key runs upward, so its lines are upright and its ends level."""
    low, high = np.array([[1.0, 0.0], [1.0, 2.0]]), np.array([[3.0, 0.0], [3.0, 2.0]])
    (band,) = _bands(low, high)
    made = {tuple(np.mean(points, axis=0).tolist()): by for points, by in band.edges}
    assert made == {
        (2.0, 0.0): (LEFT,),
        (3.0, 1.0): (TOP,),
        (2.0, 2.0): (RIGHT,),
        (1.0, 1.0): (BOTTOM,),
    }


def test_a_line_without_width_and_a_point_are_bands():
    line = np.array([[1.0, 0.0], [2.0, 1.0], [1.5, 2.0]])
    bands = _bands(line, line)
    assert all(any(band.holds(*point) for band in bands) for point in line.tolist())
    assert sum(band.area for band in bands) == 0.0
    (point,) = _bands(line[:1], line[:1])
    assert point.outline.tolist() == [[1.0, 0.0]]

"""The distance of triangles: beside every pair of their corners, sides and faces, one by one."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from geometry.surfaces.triangles import closest, nearest_triangles


def faces(corners: np.ndarray) -> list[np.ndarray]:
    """A triangle's corners, sides and itself, each by its own corners."""
    return [corners[list(of)] for size in (1, 2, 3) for of in combinations(range(3), size)]


def least(a: np.ndarray, b: np.ndarray) -> float:
    """The least distance: of two of these, their planes' nearest points if they lie on both.

    By least squares, which knows no cases: one of the pairs holds the nearest points.
    """
    found = np.inf
    for p in faces(a):
        for q in faces(b):
            ways = np.vstack([p[1:] - p[0], q[0] - q[1:]]).T
            shares = np.linalg.lstsq(ways, q[0] - p[0], rcond=None)[0]
            s, t = shares[: len(p) - 1], shares[len(p) - 1 :]
            if min([1 - s.sum(), 1 - t.sum(), *shares]) >= -1e-12:
                found = min(found, float(np.linalg.norm(ways @ shares - (q[0] - p[0]))))
    return found


def pairs(count: int) -> tuple[np.ndarray, np.ndarray]:
    """Triangles near each other: any, with a side along one of the other's, in one plane."""
    random = np.random.default_rng(5)
    a = random.normal(size=(count, 3, 3))
    b = random.normal(size=(count, 3, 3)) + random.normal(size=(count, 1, 3))
    along = slice(count // 3, 2 * count // 3)
    b[along, 1] = (
        b[along, 0] + random.uniform(-2, 2, (count, 1))[along] * (a[:, 1] - a[:, 0])[along]
    )
    for flat in (a[2 * count // 3 :], b[2 * count // 3 :]):
        flat[:, :, 2] = 0.0
    return a, b


def test_of_two_triangles():
    """Some cross: their distance is 0."""
    a, b = pairs(150)
    p, q = closest(a, b)
    known = np.array([least(*both) for both in zip(a, b, strict=True)])
    assert 10 < np.sum(known < 1e-9) < 100
    np.testing.assert_allclose(np.linalg.norm(q - p, axis=1), known, atol=1e-9)


@pytest.mark.parametrize("aside", [0.0, 3.0, 10.0])
def test_of_many_triangles(aside):
    """Every pair is tried here, by the same measure, in no order and with no bound."""
    random = np.random.default_rng(6)
    first, second = (
        random.normal(size=(n, 1, 3)) + random.normal(size=(n, 3, 3)) / 5 for n in (90, 70)
    )
    second[:, :, 0] += aside
    p, q = closest(np.repeat(first, 70, axis=0), np.tile(second, (90, 1, 1)))
    near, far = nearest_triangles(first, second)
    assert np.linalg.norm(far - near) == pytest.approx(
        np.linalg.norm(q - p, axis=1).min(), abs=1e-12
    )


def test_a_triangle_without_an_area_is_a_line():
    line = np.array([[[0.0, 0, 0], [1, 0, 0], [2, 0, 0]]])
    other = np.array([[[0.5, 1, -1], [0.5, 1, 1], [0.5, 3, 0]]])
    for pair in ((line, other), (other, line)):
        p, q = closest(*pair)
        assert np.linalg.norm(q - p) == pytest.approx(1.0)

"""What labels are arranged by, against scipy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import distance_transform_edt
from scipy.optimize import isotonic_regression, linear_sum_assignment

from optimizer.paper.pictures.arranging import in_order, shortest_pairs, to_edge


@pytest.mark.parametrize("share", [0.0, 0.5, 0.97, 0.9999, 1.0])
@pytest.mark.parametrize("shape", [(1, 1), (1, 9), (40, 23), (96, 96)])
def test_distances_are_those_of_the_euclidean_transform(shape, share):
    """To the last digit: squared, they are whole numbers."""
    mask = np.random.default_rng(11).random(shape) < share
    assert np.array_equal(to_edge(mask), distance_transform_edt(np.pad(mask, 1))[1:-1, 1:-1])


@pytest.mark.parametrize("n", [1, 2, 12, 60])
def test_heights_in_order_are_the_isotonic_regression(n):
    random = np.random.default_rng(n)
    for values in (random.normal(size=n), np.sort(random.normal(size=n))[::-1], np.zeros(n)):
        assert in_order(values) == pytest.approx(isotonic_regression(values).x, abs=1e-12)


@pytest.mark.parametrize("n", [1, 2, 3, 12, 40])
def test_the_shortest_pairs_are_the_assignment_of_least_total(n):
    """Random lengths have one least assignment; those in whole numbers have several as good."""
    random = np.random.default_rng(n)
    for _ in range(20):
        lengths = random.random((n, n))
        assert np.array_equal(shortest_pairs(lengths), linear_sum_assignment(lengths)[1])
        equal = np.floor(lengths * 4)
        pairs = shortest_pairs(equal)
        assert sorted(pairs) == list(range(n))
        rows, columns = linear_sum_assignment(equal)
        assert equal[rows, pairs].sum() == equal[rows, columns].sum()

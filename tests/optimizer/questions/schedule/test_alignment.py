"""Rows side by side, against every way to lay them so."""

from __future__ import annotations

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from optimizer.questions.schedule.alignment import side_by_side

ROWS = st.lists(st.sampled_from("aabbc"), max_size=5)


def like(a: str, b: str) -> float:
    """The same letter, or one of the first two for the other."""
    return 10.0 if a == b else 1.0 if {a, b} == {"a", "b"} else 0.0


def most(a: list[str], b: list[str]) -> float:
    """The most that any choice of as many rows here as there comes to."""
    return max(
        sum(like(a[i], b[j]) for i, j in zip(left, right, strict=True))
        for k in range(min(len(a), len(b)) + 1)
        for left in combinations(range(len(a)), k)
        for right in combinations(range(len(b)), k)
    )


@given(ROWS, ROWS)
def test_no_other_way_comes_to_more(a, b):
    pairs = side_by_side(len(a), len(b), lambda i, j: like(a[i], b[j]), same=10.0)
    assert sum(like(a[i], b[j]) for i, j in pairs) == most(a, b)
    assert all(like(a[i], b[j]) > 0 for i, j in pairs)
    for one in zip(*pairs, strict=True):
        assert list(one) == sorted(set(one))


def test_a_row_that_is_gone_moves_no_other():
    a = ["keel", "mantle", "cover"] * 3
    b = a[:3] + a[4:]
    pairs = side_by_side(9, 8, lambda i, j: 10.0 * (a[i] == b[j]), same=10.0)
    assert pairs == [(0, 0), (1, 1), (2, 2), *((k + 1, k) for k in range(3, 8))]

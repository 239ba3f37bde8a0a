"""Alignment of the rows of two lists, both in their order."""

from __future__ import annotations

from collections.abc import Callable


def side_by_side(
    n: int, m: int, likeness: Callable[[int, int], float], *, same: float
) -> list[tuple[int, int]]:
    """Return the pairs (i, j), both rising, i < n and j < m, with the largest sum of likenesses.

    `likeness` is at most `same`, and 0 for rows that must not be paired. A weighted longest common
    subsequence, by dynamic programming; rows that are the same at both ends are paired first.
    """
    head = 0
    while head < min(n, m) and likeness(head, head) == same:
        head += 1
    tail = 0
    while tail < min(n, m) - head and likeness(n - 1 - tail, m - 1 - tail) == same:
        tail += 1
    middle = _best(range(head, n - tail), range(head, m - tail), likeness)
    ends = [(n - k, m - k) for k in range(tail, 0, -1)]
    return [*((k, k) for k in range(head)), *middle, *ends]


def _best(a: range, b: range, likeness: Callable[[int, int], float]) -> list[tuple[int, int]]:
    """Return the pairs among the rows `a` and `b`."""
    likes = [[likeness(i, j) for j in b] for i in a]
    most = [[0.0] * (len(b) + 1) for _ in range(len(a) + 1)]  # the sum for the rows from (i, j) on
    for i in reversed(range(len(a))):
        for j in reversed(range(len(b))):
            paired = likes[i][j] + most[i + 1][j + 1]
            most[i][j] = max(paired, most[i + 1][j], most[i][j + 1])
    pairs, i, j = list[tuple[int, int]](), 0, 0
    while i < len(a) and j < len(b):
        if likes[i][j] > 0.0 and most[i][j] == likes[i][j] + most[i + 1][j + 1]:
            pairs.append((a[i], b[j]))
            i, j = i + 1, j + 1
        elif most[i][j] == most[i + 1][j]:
            i += 1
        else:
            j += 1
    return pairs

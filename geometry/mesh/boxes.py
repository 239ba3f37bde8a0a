"""A tree of boxes around triangles: which of them can meet, without looking at every two."""

from __future__ import annotations

import numpy as np

from shared.arrays import Array, Index


def meeting(corners: Array) -> Index:
    """Return the pairs (k, 2) of triangles (m, 3, 3) whose boxes meet, each pair once.

    The triangles are halved along the longest side of the box around their middles, and again;
    then whole levels of pairs of boxes are looked at, and only pairs that meet are taken apart.
    """
    low, high = corners.min(axis=1), corners.max(axis=1)
    order, levels = _halved(corners.mean(axis=1))
    low, high = low[order], high[order]
    i = j = np.zeros(1, dtype=np.intp)
    for level in range(1, levels + 1):
        starts = _starts(len(order), level)[:-1]
        lows, highs = np.minimum.reduceat(low, starts), np.maximum.reduceat(high, starts)
        i, j = (
            np.concatenate([2 * i, 2 * i, 2 * i + 1, 2 * i + 1]),
            np.concatenate([2 * j, 2 * j + 1, 2 * j, 2 * j + 1]),
        )
        i, j = _met(i, j, lows, highs)
    starts = _starts(len(order), levels)
    first, count = starts[:-1], np.diff(starts)
    width = int(count.max())
    a, b = (np.repeat(of, width * width) for of in (i, j))
    s, t = np.divmod(np.tile(np.arange(width * width), len(i)), width)
    there = (s < count[a]) & (t < count[b])
    i, j = _met(first[a[there]] + s[there], first[b[there]] + t[there], low, high, same=False)
    return np.stack([order[i], order[j]], axis=1)


def _met(i: Index, j: Index, low: Array, high: Array, *, same: bool = True) -> tuple[Index, Index]:
    """Return of pairs of boxes those that meet, i no more than j (with `same`, or the same)."""
    ordered = i <= j if same else i < j
    i, j = i[ordered], j[ordered]
    meet = np.all((low[i] <= high[j]) & (low[j] <= high[i]), axis=1)
    return i[meet], j[meet]


def _starts(count: int, level: int) -> Index:
    """Return where each of 2^level even runs of so many begins, and where the last one ends."""
    return np.asarray(np.arange(2**level + 1) * count // 2**level, dtype=np.intp)


def _halved(middles: Array) -> tuple[Index, int]:
    """Return an order of `middles` (m, 3) whose halves, quarters … lie together, and its levels."""
    count = len(middles)
    levels = max(0, count.bit_length() - 1)
    order = np.arange(count)
    for level in range(levels):
        starts = _starts(count, level)
        p = middles[order]
        wide = np.maximum.reduceat(p, starts[:-1]) - np.minimum.reduceat(p, starts[:-1])
        node = np.repeat(np.arange(len(wide)), np.diff(starts))
        key = p[np.arange(count), np.argmax(wide, axis=1)[node]]
        order = order[np.lexsort((key, node))]
    return order, levels

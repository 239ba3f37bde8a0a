"""Triangles that cross or overlap, found by a tree of boxes."""

from __future__ import annotations

from typing import Final

import numpy as np

from geometry.mesh.edges import normal, unit
from shared.arrays import Array, Index, Mask

LEVEL: Final = 1e-6
"""Of the solid's size: smaller crossings are rounding in the file."""


def crossing(corners: Array) -> Array:
    """Return a point (k, 3) for each pair of triangles (m, 3, 3) that cross or share an area."""
    level = LEVEL * float(np.ptp(corners.reshape(-1, 3), axis=0).max())
    pairs = meeting(corners)
    n = normal(corners)
    for _ in range(2):  # both ways: neither may lie on one side of the other
        i, j = pairs.T
        d = np.einsum("kij,kj->ki", corners[j] - corners[i, :1], n[i])
        parted = (d.min(axis=1) >= -level) | (d.max(axis=1) <= level)
        together = np.abs(d).max(axis=1) <= level
        pairs = pairs[~parted | together][:, ::-1]
    i, j = pairs.T
    d = np.abs(np.einsum("kij,kj->ki", corners[j] - corners[i, :1], n[i])).max(axis=1)
    on = d <= level
    places = [_lying(corners[i[on]], corners[j[on]], level)]
    a, b = corners[i[~on]], corners[j[~on]]
    for first, second in ((a, b), (b, a)):
        places += [_pierced(first[:, k], first[:, (k + 1) % 3], second, level) for k in range(3)]
    return np.concatenate(places)


def _pierced(start: Array, end: Array, through: Array, level: float) -> Array:
    """Return where lines (k, 3) pierce triangles (k, 3, 3), more than `level` from their sides."""
    a, n = through[:, 0], normal(through)
    s, t = np.einsum("ij,ij->i", start - a, n), np.einsum("ij,ij->i", end - a, n)
    crosses = (np.minimum(s, t) < -level) & (np.maximum(s, t) > level)
    start, end, through, n, s, t = (of[crosses] for of in (start, end, through, n, s, t))
    p = start + (s / (s - t))[:, None] * (end - start)
    within = np.ones(len(p), dtype=bool)
    for k in range(3):
        within &= _out(through[:, k], through[:, (k + 1) % 3], n, p) < -level
    return np.asarray(p[within])


def _out(a: Array, b: Array, n: Array, p: Array) -> Array:
    """Return how far (k,) points lie outside the side from a to b of triangles with normal n."""
    return np.asarray(np.einsum("ij,ij->i", p - a, unit(np.cross(b - a, n))))


def _lying(a: Array, b: Array, level: float) -> Array:
    """Return where coplanar triangles (k, 3, 3) overlap: no side separates them."""
    apart: Mask = np.zeros(len(a), dtype=bool)
    for first, second in ((a, b), (b, a)):
        n = normal(first)
        for k in range(3):
            off = [_out(first[:, k], first[:, (k + 1) % 3], n, second[:, c]) for c in range(3)]
            apart |= np.min(off, axis=0) >= -level
    return np.asarray((a.mean(axis=1) + b.mean(axis=1))[~apart] / 2)


def meeting(corners: Array) -> Index:
    """Return the pairs (k, 2) of triangles (m, 3, 3) whose boxes meet, each pair once.

    The triangles are halved along the longest side of the box around their middles, repeatedly;
    then pairs of boxes are tested level by level, and only those that meet are subdivided.
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
    """Return the pairs of boxes that meet with i ≤ j, or i < j without `same`."""
    ordered = i <= j if same else i < j
    i, j = i[ordered], j[ordered]
    meet = np.all((low[i] <= high[j]) & (low[j] <= high[i]), axis=1)
    return i[meet], j[meet]


def _starts(count: int, level: int) -> Index:
    """Return the start of each of 2^level equal runs of `count` items, and the end of the last."""
    return np.asarray(np.arange(2**level + 1) * count // 2**level, dtype=np.intp)


def _halved(middles: Array) -> tuple[Index, int]:
    """Return an order of `middles` (m, 3) with close halves, quarters …, and its levels."""
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

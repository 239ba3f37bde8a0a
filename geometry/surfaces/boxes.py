"""Pairs of items that may be near each other, by trees of the boxes around them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from shared.arrays import Array, Index
from shared.errors import InputError, Problem

MOST: Final = 20_000_000
"""The most pairs that are kept; they take some seconds and 1 GB."""
BATCH: Final = 500_000
"""Pairs that are tested at a time."""
TOO_FINE: Final = Problem(
    f"two meshes run along each other so closely that more than {MOST} pairs of their triangles "
    "may be where they are nearest",
    instead="export one of them coarser, or draw one of them as another kind of shape",
)


@dataclass(frozen=True, eq=False)
class Boxes:
    """Items in boxes from `low` to `high` (n, 3), each around a point of it, its `middle` (n, 3).

    They are halved across the longest side of the box around their middles, repeatedly.
    """

    middle: Array
    low: Array
    high: Array

    @classmethod
    def around(cls, corners: Array) -> Boxes:
        """Return the boxes around triangles (n, 3, 3)."""
        return cls(corners.mean(axis=1), corners.min(axis=1), corners.max(axis=1))

    @cached_property
    def levels(self) -> int:
        """How often the items are halved, until no box holds more than two."""
        return max(0, len(self.middle).bit_length() - 1)

    @cached_property
    def order(self) -> Index:
        """The items (n,) in an order in which close halves, quarters … stand together."""
        count = len(self.middle)
        order = np.arange(count)
        for level in range(self.levels):
            starts = self.starts(level)
            p = self.middle[order]
            wide = np.maximum.reduceat(p, starts[:-1]) - np.minimum.reduceat(p, starts[:-1])
            node = np.repeat(np.arange(len(wide)), np.diff(starts))
            key = p[np.arange(count), np.argmax(wide, axis=1)[node]]
            order = order[np.lexsort((key, node))]
        return order

    def starts(self, level: int) -> Index:
        """Return the start of each of the 2^level runs of `order`, and the end of the last."""
        return np.asarray(np.arange(2**level + 1) * len(self.middle) // 2**level, dtype=np.intp)

    @cached_property
    def _ordered(self) -> Boxes:
        return Boxes(*(of[self.order] for of in (self.middle, self.low, self.high)))

    def at(self, level: int) -> Boxes:
        """Return the boxes around the runs of a level, each with a middle of one of its items."""
        each = self._ordered
        if level > self.levels:
            return each
        first = self.starts(level)[:-1]
        low, high = np.minimum.reduceat(each.low, first), np.maximum.reduceat(each.high, first)
        return Boxes(each.middle[first], low, high)

    def inner(self, level: int) -> tuple[Index, Index]:
        """Return where the runs of a level (k,) begin among those of the next, and their number."""
        if level < self.levels:
            return 2 * np.arange(2**level), np.full(2**level, 2)
        starts = self.starts(self.levels)
        if level == self.levels:
            return starts[:-1], np.diff(starts)
        return np.arange(len(self.middle)), np.ones(len(self.middle), dtype=np.intp)


def near(
    first: Boxes, second: Boxes, within: float = np.inf, reach: float = 0.0
) -> tuple[Index, Index]:
    """Return the pairs (k,), (k,) of items whose boxes are as near as the nearest items may be.

    That is as near as the two nearest middles, or up to `reach` (cm) farther, and at most `within`.
    A tree beside itself gives each pair of two items once. Raises InputError for too many.
    """
    i = j = np.zeros(1, dtype=np.intp)
    for level in range(max(first.levels, second.levels) + 1):
        boxes, others = first.at(level + 1), second.at(level + 1)
        last = level == max(first.levels, second.levels)
        kept, total = [], 0
        for a, b in _subdivided(i, j, first.inner(level), second.inner(level)):
            if first is second:
                ordered = a < b if last else a <= b
                a, b = a[ordered], b[ordered]  # noqa: PLW2901 - fewer of the same
            if within > 0.0 and len(a):
                across = boxes.middle[a] - others.middle[b]
                within = min(within, float(np.sqrt(_square(across).min())) + reach)
            gap = np.maximum(boxes.low[a] - others.high[b], others.low[b] - boxes.high[a])
            close = _square(np.maximum(gap, 0.0)) <= within * within
            kept.append((a[close], b[close]))
            total += len(kept[-1][0])
            if total > MOST:
                raise InputError([TOO_FINE])
        i, j = (np.concatenate(of) for of in zip(*kept, strict=True))
    return first.order[i], second.order[j]


def _square(vectors: Array) -> Array:
    return np.asarray(np.einsum("ij,ij->i", vectors, vectors))


def _subdivided(
    i: Index, j: Index, inner: tuple[Index, Index], others: tuple[Index, Index]
) -> Iterator[tuple[Index, Index]]:
    """Yield the pairs of what the boxes of each pair hold, a batch at a time."""
    for k in range(0, max(len(i), 1), BATCH):
        a, b = i[k : k + BATCH], j[k : k + BATCH]
        wide = others[1][b]
        count = inner[1][a] * wide
        pair = np.repeat(np.arange(len(a)), count)
        step = np.arange(len(pair)) - np.repeat(np.cumsum(count) - count, count)
        s, t = np.divmod(step, wide[pair])
        yield inner[0][a][pair] + s, others[0][b][pair] + t

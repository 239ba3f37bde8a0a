"""Distances to an edge, heights in order, shortest pairs.

Small, since importing scipy for them takes a third of the time of a solve.
"""

from __future__ import annotations

from itertools import count

import numpy as np

from shared.arrays import Array, Index, Mask


def to_edge(mask: Mask) -> Array:
    """Return the distance (r, c), in cells, of each cell from the nearest one outside the mask.

    Beyond the grid all is outside. The square is the least over columns, d away, of d² and the
    square of the distance within that column.
    """
    inside = np.pad(mask, 1)
    rows = np.arange(len(inside))[:, None]
    above = np.maximum.accumulate(np.where(inside, 0, rows))
    below = np.minimum.accumulate(np.where(inside, len(inside), rows)[::-1])[::-1]
    within = np.minimum(rows - above, below - rows) ** 2
    least = within.copy()
    for d in count(1):
        if d * d >= np.max(least):
            break
        np.minimum(least[:, d:], within[:, :-d] + d * d, out=least[:, d:])
        np.minimum(least[:, :-d], within[:, d:] + d * d, out=least[:, :-d])
    return np.asarray(np.sqrt(least[1:-1, 1:-1]))


def in_order(values: Array) -> Array:
    """Return the nearest values (n,), by least squares, of which none is below the one before.

    Neighbours out of order share their mean, until none are (pool adjacent violators).
    """
    pools: list[tuple[float, int]] = []
    for value in values.tolist():
        pools.append((value, 1))
        while len(pools) > 1 and pools[-2][0] >= pools[-1][0]:
            (last, m), (mean, n) = pools.pop(), pools.pop()
            pools.append(((mean * n + last * m) / (n + m), n + m))
    return np.repeat([mean for mean, _ in pools], [n for _, n in pools])


def shortest_pairs(lengths: Array) -> Index:
    """Return the column (n,) of each row, each taken once, that make the total (n, n) least.

    By shortest augmenting paths: each row in turn gets a column, others give theirs up along the
    cheapest path, and the prices of rows and columns keep every pair's cost at or above their sum.
    """
    n = len(lengths)
    row_price, column_price = np.zeros(n), np.zeros(n + 1)
    holder = np.full(n + 1, -1)  # the row of each column; the last is where a path starts
    for row in range(n):
        column, holder[n] = n, row
        cost, before = np.full(n + 1, np.inf), np.full(n + 1, n)
        reached = np.zeros(n + 1, dtype=bool)
        while holder[column] >= 0:
            reached[column] = True
            at = holder[column]
            here = np.append(lengths[at] - row_price[at] - column_price[:n], np.inf)
            nearer = ~reached & (here < cost)
            cost[nearer], before[nearer] = here[nearer], column
            column = int(np.argmin(np.where(reached, np.inf, cost)))
            step = cost[column]
            row_price[holder[reached]] += step
            column_price[reached] -= step
            cost[~reached] -= step
        while column != n:
            holder[column], column = holder[before[column]], before[column]
    return np.argsort(holder[:n])

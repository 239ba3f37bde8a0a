"""The rows of a ball's targets: equations at its present axes, and the order of the axes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np

from optimizer.ball.figures import WEIGHT
from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.ball.targets import Equation, Span, equations, facets
from optimizer.ball.weight_class import Ball
from optimizer.lineup.columns import Columns
from shared.arrays import Array

PRICE = 1.5e4
"""Tolerances per cm² of RG² (1e5 per in²), and per unit of a class weight: violating a row costs
far more than any margin can gain (3e3 per in² is too little, as measured)."""

Order = tuple[int, int, int]
"""Which of the axes, sorted by RG, count as low, intermediate and high."""
SORTED: Order = (0, 1, 2)
ORDERS: tuple[Order, ...] = (SORTED, (0, 2, 1), (1, 0, 2), (1, 2, 0), (2, 0, 1), (2, 1, 0))


def target_rows(
    columns: Columns, k: int, ball: Ball, x: Array, order: Order
) -> Iterator[LinearRow]:
    """Yield the rows of the targets of class `k`, of which `ball` is the one at columns `x`."""
    radii, linear_map, figures = ball.radii, ball.map, columns.target(x)

    def rows(targets: Iterable[Equation], above: float = 0.0) -> Iterator[LinearRow]:
        for row in targets:
            by_figure = row.by_figure * (ball.properties.mass / linear_map.mass)
            gradient = columns.scatter(k, ball.pull(row.slope), by_figure)
            here = float(gradient @ x) - row.error(ball.properties.moments.J)
            name, eased = Name(row.name, weight=linear_map.label), 0.0
            if row is weight:
                name, eased = Name(linear_map.target_of(WEIGHT)), -1.0 / linear_map.mass
            yield LinearRow(name, gradient, here, here + above, price=PRICE, eased=eased)

    asked = None if linear_map.target is None else linear_map.target.intermediate
    pin_low = abs(float(radii.axes[2, order[0]])) > 0.5
    given = asked == Span(0.0, 0.0) and linear_map.symmetric and pin_low
    weight, *others = equations(radii, linear_map.mass, figures, order)
    if given:  # the same number of rows at every point: this one is empty
        others[-1] = replace(others[-1], slope=0.0 * others[-1].slope, by_figure=0.0 * figures)
    yield from rows([weight, *others] if linear_map.weighed else others)
    if asked is not None and not linear_map.aligned:
        yield from rows(facets(radii, linear_map.mass, figures, order), np.inf)
    for name, lower, upper in (("low ≤ intermediate", 0, 1), ("intermediate ≤ high", 1, 2)):
        between = (radii.slopes[order[upper]] - radii.slopes[order[lower]]) / linear_map.mass
        gradient = columns.scatter(k, ball.pull(between))
        yield LinearRow(Name(name, weight=linear_map.label), gradient, 0.0, np.inf, price=PRICE)

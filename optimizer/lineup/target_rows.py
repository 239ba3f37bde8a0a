"""The rows of a ball's targets: equations at its present axes, and the order of the axes."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from optimizer.ball.equations import Order, equations, facets
from optimizer.ball.figures import WEIGHT
from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.ball.weight_class import Ball
from optimizer.lineup.columns import Columns
from shared.arrays import Array

PRICE = 1.5e4
"""Tolerances per cm² of RG² (1e5 per in²) and unit of a class weight: breaking a row costs far more
than any margin can gain (3e3 per in² is too little, as measured)."""

SORTED: Order = (0, 1, 2)
ORDERS: tuple[Order, ...] = (SORTED, (0, 2, 1), (1, 0, 2), (1, 2, 0), (2, 0, 1), (2, 1, 0))

IN_ORDER = ("low ≤ intermediate", "intermediate ≤ high")
"""What is asked of the RGs, beside the targets."""


def target_rows(
    columns: Columns, k: int, ball: Ball, x: Array, order: Order
) -> Iterator[LinearRow]:
    """Yield the rows of the targets of class `k`, of which `ball` is the one at columns `x`."""
    radii, linear_map = ball.radii, ball.map
    figures = dict(zip(linear_map.target, columns.target(x).tolist(), strict=True))
    weight, *targets = equations(ball, figures, order)
    if linear_map.weighed:
        targets.insert(0, weight)
    count = len(targets)
    if not linear_map.aligned:
        targets += facets(ball, figures, order)
    between = [(radii.slopes[b] - radii.slopes[a]) / linear_map.mass for a, b in pairwise(order)]
    slopes = np.array([*(target.slope for target in targets), *between])
    gradients = columns.scatter(k, ball.pull(slopes))
    share = ball.properties.mass / linear_map.mass
    for number, (target, gradient) in enumerate(zip(targets, gradients, strict=False)):
        gradient[columns.figures :] = target.by_figure * share
        here = float(gradient @ x) - target.error(ball.properties.moments.J)
        name, eased = Name(target.name, weight=linear_map.label), 0.0
        if target is weight:
            name, eased = Name(linear_map.target_of(WEIGHT)), -1.0 / linear_map.mass
        above = here if number < count else np.inf
        yield LinearRow(name, gradient, here, above, price=PRICE, eased=eased)
    for words, gradient in zip(IN_ORDER, gradients[len(targets) :], strict=True):
        name = Name(words, weight=linear_map.label)
        yield LinearRow(name, gradient, 0.0, np.inf, price=PRICE)

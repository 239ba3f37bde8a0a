"""When a ball is good: its target's figures within their tolerances, and the rulebook kept."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from optimizer.ball.bounds import Bound
from optimizer.ball.weight_class import LinearMap
from shared.arrays import Array

RULED: Final = {
    "weight": "weight",
    "rg": "low RG",
    "differential": "differential",
    "intermediate_differential": "intermediate differential",
    "top_weight": "top weight",
    "pin_marking": "axis tilt",
}
"""The figure of a ball that a rule on a figure limits."""


@dataclass(frozen=True)
class Band:
    """What a figure of a good ball must lie in; `rule` is the rule's bound, None for the target."""

    figure: str
    low: float
    high: float
    rule: Bound | None = None

    def holds(self, values: Array) -> np.ndarray:
        """Whether each value (k,) lies within; one that isn't defined does."""
        return np.asarray(~((values < self.low) | (values > self.high)))


def bands(linear_map: LinearMap, asked: tuple[float, ...]) -> tuple[Band, ...]:
    """Return the bands of a weight for a target's figures as `asked`, cm."""
    return tuple(_bands(linear_map, asked))


def _bands(linear_map: LinearMap, asked: tuple[float, ...]) -> Iterator[Band]:
    mass, tolerance = linear_map.mass, linear_map.mass_tolerance
    if tolerance is not None:
        yield Band("weight", mass - tolerance, mass + tolerance)
    for (figure, span), value in zip(linear_map.target.items(), asked, strict=True):
        if span.tolerance is not None:
            yield Band(figure.words, value - span.tolerance, value + span.tolerance)
    for bound in linear_map.bounds:
        if bound.rule is not None and bound.note is None and bound.figure.key in RULED:
            size = linear_map.radius if bound.figure.key == "pin_marking" else 1.0
            yield Band(RULED[bound.figure.key], bound.low / size, bound.high / size, bound)


def density_rules(linear_map: LinearMap) -> list[tuple[int, Bound]]:
    """Return the rules on a part's density, with the part's number."""
    return [
        (linear_map.places[bound.of], bound)
        for bound in linear_map.bounds
        if bound.rule is not None and bound.note is None and bound.figure.key == "density"
    ]


def diameter_rules(linear_map: LinearMap) -> list[Bound]:
    """Return the rules on the ball's diameter."""
    return [
        bound
        for bound in linear_map.bounds
        if bound.rule is not None and bound.note is None and bound.figure.key == "diameter"
    ]

"""The step in density between two pours that touch: the first part's less the second's."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from optimizer.ball.figures.base import Figure, Measured, Subject
from optimizer.ball.weight_class import Ball, LinearMap


class _DensityStep(Figure):
    key, words, quantity = "density_step", "density step", "density"
    linear = True

    def measured(self, ball: Ball, of: Subject) -> Iterator[Measured]:
        first, second = (ball.map.places[part] for part in of or ())
        step = float(ball.densities[first] - ball.densities[second])
        yield Measured(step, ball.unit(first) - ball.unit(second))

    def subjects(self, linear_map: LinearMap) -> Iterable[Subject]:
        """Return each part and each of its hosts, in both orders."""
        for part in linear_map.parts:
            for host in part.hosts:
                yield from ((part.name, host), (host, part.name))


DENSITY_STEP = _DensityStep()

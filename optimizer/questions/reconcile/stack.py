"""Balls that were measured, as a function of what may have been off in each of them.

Each ball has its own deviations of a line's inputs, but for those that balls have in common: a
mould's dimensions, and the densities of one batch, which the file names.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from optimizer.questions.reconcile.measured.measurements import AXES, Measurement
from optimizer.questions.schedule.pouring.casting import piece_volumes
from optimizer.scatter.inputs import Input
from optimizer.scatter.model import Model
from optimizer.spread.adjustment import Gaussian
from optimizer.spread.estimation import Estimate, estimated
from optimizer.spread.pendulum import TorsionPendulum
from optimizer.spread.sources import Sources
from shared.arrays import Array

NEAR = 0.01
"""Standard deviations, as prior: half of a central difference."""


@dataclass(frozen=True, eq=False)
class MeasuredBall:
    """One ball: its weight's `model`, its readings, and the batches that it was poured from.

    `batches` are names, by part, where the file says so.
    """

    name: str
    model: Model
    readings: tuple[Measurement, ...]
    batches: Mapping[str, str]
    pendulum: TorsionPendulum | None

    @property
    def label(self) -> str:
        """The label of its weight."""
        return self.model.label

    @cached_property
    def pieces(self) -> Mapping[str, Array]:
        """The volumes (n,) of all regions in each part's piece as it leaves its mould."""
        shop = self.model.scenario.text.foundry
        return piece_volumes(self.model.ball.map, {} if shop is None else shop.cast)

    def common(self) -> Iterator[tuple[str, ...]]:
        """Yield what tells each of its own deviations from those of other balls."""
        for input_ in self.model.inputs:
            if input_.kind == "dimension":
                mould = next(group for group in input_.groups if self.label in group)
                yield (input_.name, *mould)
            elif input_.kind == "density" and input_.of in self.batches:
                yield input_.name, "batch", self.batches[str(input_.of)]
            else:
                yield input_.name, "ball", self.name

    def values(self, own: Array, readings: Sequence[Measurement]) -> Array:
        """Return what these readings would be (k, m) at its own deviations (k, d)."""
        deviations = np.zeros((len(own), max(self.model.columns, default=-1) + 1))
        deviations[:, list(self.model.columns)] = own
        balls = self.model.balls(deviations)
        low, between, high = radii = balls.exact_radii
        figures = self.model.figures(deviations, balls) | {
            "low rg": low,
            "intermediate rg": between,
            "high rg": high,
            "differential": high - low,
            "intermediate differential": high - between,
        }
        columns = []
        for reading in readings:
            name = reading.kind.name
            if name == "casting":
                values = self.model.piece(deviations, self.pieces[str(reading.of)])
            elif name == "diameter":
                values = np.full(len(own), 2.0 * self.model.ball.map.radius)
                for input_, by in zip(self.model.inputs, own.T, strict=True):
                    values = values + (by if input_.kind == "diameter" else 0.0)
            elif name.startswith("period") and self.pendulum is not None:
                radius = radii[AXES.index(name.split()[1])]
                values = self.pendulum.periods(balls.mass * radius**2)
            else:
                values = figures[name]
            columns.append(values)
        return np.array(columns).reshape(len(readings), len(own)).T

    def linear(self, own: Array, readings: Sequence[Measurement]) -> tuple[Array, Array]:
        """Return the readings (m,) at deviations (d,), and their derivatives (m, d)."""
        steps = NEAR * np.array([input_.law.sd for input_ in self.model.inputs])
        moves = np.diag(steps)
        values = self.values(np.vstack([own[None, :], own + moves, own - moves]), readings)
        d = len(own)
        return values[0], ((values[1 : d + 1] - values[d + 1 :]) / (2.0 * steps[:, None])).T


@dataclass(frozen=True, eq=False)
class Stack:
    """Balls that have deviations in common; `where[b]` are the numbers of each one's own."""

    balls: tuple[MeasuredBall, ...]
    where: tuple[tuple[int, ...], ...]
    prior: Gaussian

    @classmethod
    def of(cls, balls: Sequence[MeasuredBall], sources: Sources) -> Stack:
        """Return the balls with their deviations, before anything was measured."""
        numbers = dict[tuple[str, ...], int]()
        where = tuple(
            tuple(numbers.setdefault(key, len(numbers)) for key in ball.common()) for ball in balls
        )
        covariance = np.zeros((len(numbers), len(numbers)))
        for ball, own in zip(balls, where, strict=True):
            columns = list(ball.model.columns)
            covariance[np.ix_(own, own)] = sources.covariance[np.ix_(columns, columns)]
        return cls(tuple(balls), where, Gaussian(np.zeros(len(numbers)), covariance))

    @property
    def readings(self) -> tuple[Measurement, ...]:
        """All readings, ball after ball."""
        return tuple(reading for ball in self.balls for reading in ball.readings)

    @cached_property
    def inputs(self) -> tuple[Input, ...]:
        """The input that each deviation is of."""
        inputs = dict[int, Input]()
        for ball, own in zip(self.balls, self.where, strict=True):
            inputs |= dict(zip(own, ball.model.inputs, strict=True))
        return tuple(inputs[k] for k in range(len(inputs)))

    @cached_property
    def measured(self) -> Gaussian:
        """What was read, each reading by itself."""
        return Gaussian.independent(
            np.array([reading.value for reading in self.readings]),
            np.array([reading.sd for reading in self.readings]),
        )

    def model(self, deviations: Array) -> tuple[Array, Array]:
        """Return all readings (m,) at deviations (d,), and their derivatives (m, d)."""
        values, slopes = list[Array](), list[Array]()
        for ball, own in zip(self.balls, self.where, strict=True):
            value, slope = ball.linear(deviations[list(own)], ball.readings)
            every = np.zeros((len(value), len(deviations)))
            every[:, list(own)] = slope
            values.append(value)
            slopes.append(every)
        return np.concatenate(values), np.concatenate(slopes)

    def densities(self, ball: int) -> tuple[list[str], Array]:
        """Return the parts of one of the balls, and the derivative (p, d) of their densities."""
        model, own = self.balls[ball].model, self.where[ball]
        parts = [pour.part for pour in model.ball.map.pours]
        matrix = np.zeros((len(parts), len(self.prior.mean)))
        for k, input_ in zip(own, model.inputs, strict=True):
            if input_.kind in ("density", "batch"):
                matrix[parts.index(str(input_.of)), k] = 1.0
        return parts, matrix

    def estimate(self) -> Estimate:
        """Return what the readings tell of the deviations."""
        return estimated(self.prior, self.measured, self.model)


def stacks(balls: Sequence[MeasuredBall], sources: Sources) -> list[Stack]:
    """Return the balls in stacks that have nothing in common."""
    groups = list[tuple[set[tuple[str, ...]], list[MeasuredBall]]]()
    for ball in balls:
        keys, members = set(ball.common()), [ball]
        apart = []
        for group in groups:
            if group[0] & keys:
                keys, members = keys | group[0], [*group[1], *members]
            else:
                apart.append(group)
        groups = [*apart, (keys, members)]
    order = {ball.name: k for k, ball in enumerate(balls)}
    sorted_ = [sorted(members, key=lambda ball: order[ball.name]) for _, members in groups]
    return [
        Stack.of(members, sources) for members in sorted(sorted_, key=lambda m: order[m[0].name])
    ]

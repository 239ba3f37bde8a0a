"""All readings of all balls as one linear model of what varied in them.

Each stack is linearised at its estimate; rows are readings, in units of their own standard
deviations.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from optimizer.questions.reconcile.finding import Reconciled
from optimizer.questions.reconcile.stack import Stack
from optimizer.spread.adjustment import Gaussian
from optimizer.spread.estimation import Estimate
from shared.arrays import Array

LARGEST: Final = 64
"""Readings of balls that are taken together; more are taken ball by ball, which is quicker."""


@dataclass(frozen=True, eq=False)
class Batch:
    """A part's density in a batch, or in a ball where none is named: `name` says which.

    `column` (n,) are the derivatives of the readings in it, and `balls` the numbers of its balls.
    """

    part: str
    name: tuple[str, ...]
    balls: tuple[int, ...]
    column: Array

    def alone(self, ball_of: Array) -> Iterator[Batch]:
        """Yield it in each of its balls; `ball_of` (n,) is the number of each reading's ball."""
        for ball in self.balls:
            column = np.where(ball_of == ball, self.column, 0.0)
            yield Batch(self.part, ("ball", str(ball)), self.balls, column)


@dataclass(frozen=True, eq=False)
class Readings:
    """The `values` (n,) of readings, less what they would be if nothing were off.

    `ball_of` (n,) is the number of each one's ball. `batches` are of all parts that vary.
    """

    values: Array
    ball_of: Array
    batches: tuple[Batch, ...]
    _stacks: tuple[_Linear, ...]

    @classmethod
    def of(cls, found: Reconciled) -> Readings:
        """Return the readings of a file at its balls' estimates."""
        stacks, row, ball = list[_Linear](), 0, 0
        for stack, estimate in zip(found.stacks, found.estimates, strict=True):
            stacks.append(_Linear.of(stack, estimate, row, ball))
            row, ball = row + len(stacks[-1].values), ball + len(stack.balls)
        batches = [batch for stack in stacks for batch in stack.batches(row)]
        order = [pour.part for pour in found.scenario.pours]
        return cls(
            np.concatenate([stack.values for stack in stacks]),
            np.concatenate([stack.ball_of for stack in stacks]),
            tuple(sorted(batches, key=lambda batch: order.index(batch.part))),
            tuple(stacks),
        )

    @cached_property
    def blocks(self) -> Array:
        """A number for each reading (n,): few densities are of two of them, and nothing of gauges.

        They are the balls, those with a batch in common as one while these are few.
        """
        blocks = self.ball_of.copy()
        for batch in self.batches:
            joined = np.isin(blocks, blocks[np.isin(self.ball_of, batch.balls)])
            if np.count_nonzero(joined) <= LARGEST:
                blocks[joined] = blocks[joined].min()
        return blocks

    def rest(self, without: Collection[str]) -> tuple[Array, Array]:
        """Return what gauges do, and all that varies but batches: a covariance (n, n) and columns.

        The columns (n, r) are by one standard deviation of what balls have in common. Densities
        within a batch are left out of the parts `without`.
        """
        covariance, columns = np.eye(len(self.values)), list[Array]()
        for stack in self._stacks:
            own, common = stack.rest(without)
            covariance[stack.rows, stack.rows] += own
            columns.append(np.zeros((len(self.values), common.shape[1])))
            columns[-1][stack.rows] = common
        return covariance, np.hstack(columns)


@dataclass(frozen=True, eq=False)
class _Linear:
    """A stack's `rows` among all: `values` (m,) and `slopes` (m, d) in all its deviations."""

    stack: Stack
    rows: slice
    ball_of: Array
    values: Array
    slopes: Array

    @classmethod
    def of(cls, stack: Stack, estimate: Estimate, row: int, ball: int) -> _Linear:
        at, read = estimate.parameters.mean, stack.measured
        values, slopes = stack.model(at)
        counts = [len(each.readings) for each in stack.balls]
        return cls(
            stack,
            slice(row, row + len(values)),
            np.repeat(np.arange(ball, ball + len(counts)), counts),
            (read.mean - values + slopes @ at) / read.sd,
            slopes / read.sd[:, None],
        )

    def batches(self, total: int) -> Iterator[Batch]:
        """Yield each density that varies, its column among a `total` of rows."""
        names, balls = dict[int, tuple[str, ...]](), defaultdict[int, list[int]](list)
        each = zip(self.stack.balls, self.stack.where, strict=True)
        for number, (ball, own) in enumerate(each, start=int(self.ball_of[0])):
            for k, common in zip(own, ball.common(), strict=True):
                names[k] = common[1:]
                balls[k].append(number)
        for k, input_ in enumerate(self.stack.inputs):
            if input_.kind == "density":
                column = np.zeros(total)
                column[self.rows] = self.slopes[:, k]
                yield Batch(str(input_.of), names[k], tuple(balls[k]), column)

    def rest(self, without: Collection[str]) -> tuple[Array, Array]:
        """Return the covariance (m, m) and the common columns of Readings.rest, without gauges."""
        numbers = [
            k
            for k, input_ in enumerate(self.stack.inputs)
            if input_.kind != "density" and not (input_.kind == "batch" and input_.of in without)
        ]
        numbers.sort(key=lambda k: -sum(k in own for own in self.stack.where))
        prior = self.stack.prior.covariance[np.ix_(numbers, numbers)]
        root = Gaussian(np.zeros(len(numbers)), prior).root
        # A triangular root, what balls have in common first: few columns are of several balls.
        columns = self.slopes[:, numbers] @ np.linalg.qr(root.T)[1].T
        several = np.array([len({*self.ball_of[column != 0.0]}) > 1 for column in columns.T], bool)
        own = columns[:, ~several]
        return own @ own.T, columns[:, several]

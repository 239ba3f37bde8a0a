"""Which one more measurement would tell most of a ball's densities."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from optimizer.questions.reconcile.finding import Reconciled
from optimizer.questions.reconcile.measured.measurements import KINDS, Measurement, reading, usual
from optimizer.questions.reconcile.stack import MeasuredBall, Stack
from optimizer.spread.design import Candidates, ranked
from optimizer.spread.estimation import Estimate


@dataclass(frozen=True)
class More:
    """One more reading, and what it would tell: a part's standard deviation `now` and `then`.

    `gain` is by how much it lowers the log determinant of all densities' covariance, or the log
    variance of the part asked for; `part` is that one, else the one that it narrows most.
    """

    reading: Measurement
    cost: float | None
    gain: float
    part: str
    now: float
    then: float

    @property
    def worth(self) -> float:
        """Its gain, per cost where that is known."""
        return self.gain / self.cost if self.cost else self.gain


@dataclass(frozen=True)
class Telling:
    """One more reading of a ball like `ball`, the most telling first: of all, or of one `part`."""

    ball: str
    label: str
    more: tuple[More, ...]
    part: str | None = None


def telling(found: Reconciled, part: str | None = None) -> tuple[Telling, ...]:
    """Return what would tell most of the first ball of each weight, or of one of its parts.

    Castings can be weighed on the next ball only, so not where there is none: of an old ball.
    """
    castings = found.aimed.lineup is not None
    first = dict[str, Telling]()
    for stack, estimate in zip(found.stacks, found.estimates, strict=True):
        for k, ball in enumerate(stack.balls):
            if ball.label not in first and part in (None, *ball.model.ball.map.places):
                more = _ranked(stack, estimate, k, part, castings=castings)
                first[ball.label] = Telling(ball.name, ball.label, tuple(more), part)
    return tuple(first[label] for label in found.scenario.labels if label in first)


def _ranked(
    stack: Stack, estimate: Estimate, k: int, part: str | None, *, castings: bool
) -> Iterator[More]:
    ball, own = stack.balls[k], list(stack.where[k])
    names, matrix = stack.densities(k)
    covariance = estimate.parameters.covariance
    sd = np.sqrt(np.maximum(np.diag(matrix @ covariance @ matrix.T), 0.0))
    vary = [i for i, name in enumerate(names) if sd[i] > 0.0 and part in (None, name)]
    asked = [one for one in _candidates(ball) if castings or one.of is None]
    if not vary:
        return
    rows = np.zeros((len(asked), len(covariance)))
    rows[:, own] = ball.linear(estimate.parameters.mean[own], asked)[1]
    variances = np.array([one.sd**2 for one in asked])
    candidates = Candidates(covariance, rows, variances)
    combinations = matrix[vary]
    gains = candidates.gains_on(combinations)
    then = np.sqrt([candidates.variances_after(row) for row in combinations])
    costs = [reading(ball.model.scenario, one.kind.gauge).cost for one in asked]
    known = np.array([cost or 0.0 for cost in costs]) if all(costs) else None
    for number in ranked(gains, known):
        best = int(np.argmin(then[:, number] / sd[vary]))
        name, now = names[vary[best]], float(sd[vary[best]])
        yield More(
            asked[number], costs[number], float(gains[number]), name, now, float(then[best, number])
        )


def _candidates(ball: MeasuredBall) -> Iterator[Measurement]:
    """Yield every reading that the shop could make of a ball like this."""
    for kind in KINDS.values():
        if not usual(ball.model.scenario, kind):
            continue
        known = reading(ball.model.scenario, kind.gauge)
        parts = [part.name for part in ball.model.ball.map.parts]
        for of in parts if kind.name == "casting" else [None]:
            yield Measurement(0, ball.name, ball.label, kind, of, 0.0, known.sd, "")

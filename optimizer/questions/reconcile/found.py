"""What an estimate tells of one ball: what was poured, its figures, and what may be wrong."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from optimizer.questions.reconcile.measured.measurements import FIGURES, Measurement
from optimizer.questions.reconcile.stack import MeasuredBall, Stack
from optimizer.scatter.inputs import Input
from optimizer.spread.adjustment import BEYOND, Gaussian
from optimizer.spread.estimation import Estimate
from shared.arrays import Array


@dataclass(frozen=True, kw_only=True)
class Estimated:
    """A quantity of one ball: what was `aimed` at, and its `estimate` with a standard deviation."""

    aimed: float
    estimate: float
    sd: float

    @property
    def interval(self) -> tuple[float, float]:
        """Its 95 % interval."""
        return self.estimate - BEYOND * self.sd, self.estimate + BEYOND * self.sd


@dataclass(frozen=True, kw_only=True)
class Poured(Estimated):
    """The density of one part of one ball, g/cm³.

    `aimed` is what is assumed of it before the measurements, `before` its standard deviation then.
    """

    part: str
    before: float

    @property
    def narrowed(self) -> float:
        """Its standard deviation over that before: 1 where the data tell nothing of it."""
        return self.sd / self.before if self.before else 1.0


@dataclass(frozen=True, kw_only=True)
class Figured(Estimated):
    """A figure of one ball by all that is known of the ball, in g or cm."""

    name: str

    @property
    def words(self) -> str:
        """Its name as told: "low RG"."""
        return FIGURES[self.name].name.replace(" rg", " RG")


@dataclass(frozen=True, eq=False)
class FoundBall:
    """What the measurements tell of one ball.

    `together` are pairs of parts whose densities can't be told apart: only what both do is known.
    """

    ball: MeasuredBall
    parts: tuple[Poured, ...]
    figures: tuple[Figured, ...]
    together: tuple[tuple[str, str], ...]

    @classmethod
    def of(cls, stack: Stack, estimate: Estimate, k: int) -> FoundBall:
        """Return what the estimate of balls tells of the `k`-th of them."""
        ball, own, after = stack.balls[k], list(stack.where[k]), estimate.parameters
        names, matrix = stack.densities(k)
        nominal = ball.model.ball.densities
        before = _sds(matrix, stack.prior.covariance)
        covariance = matrix @ after.covariance @ matrix.T
        sd = np.sqrt(np.maximum(np.diag(covariance), 0.0))
        densities = nominal + matrix @ after.mean
        parts = tuple(
            Poured(part=name, aimed=float(a), before=float(b), estimate=float(e), sd=float(s))
            for name, a, b, e, s in zip(names, nominal, before, densities, sd, strict=True)
        )
        pairs = Gaussian(densities, covariance).inseparable
        return cls(
            ball,
            parts,
            tuple(_figures(ball, after.mean[own], after.covariance[np.ix_(own, own)])),
            tuple((names[a], names[b]) for a, b in pairs),
        )


@dataclass(frozen=True)
class Suspect:
    """What may be wrong where something doesn't fit: a reading, or an input of some ball.

    `off` is by how much it should be more, in standard deviations of that difference; `expected`
    is what the reading would be by all else, in its unit (ours). `alone`: without it all else of
    the ball fits.
    """

    ball: str
    reading: Measurement | None
    input: Input | None
    off: float
    alone: bool
    expected: float = np.nan


def suspects_of(stack: Stack, estimate: Estimate) -> Iterator[Suspect]:
    """Yield what may be wrong with balls that are estimated together."""
    readings, explains = stack.readings, estimate.adjustment.explains
    for k in estimate.suspects:
        off, expected = float(estimate.residuals[k]), float(estimate.by_others[k])
        alone = bool(explains[len(stack.inputs) + k])
        yield Suspect(readings[k].ball, readings[k], None, off, alone, expected)
    for k in estimate.unlikely:
        of = next(b.name for b, own in zip(stack.balls, stack.where, strict=True) if k in own)
        off = float(estimate.shifts[k])
        yield Suspect(of, None, stack.inputs[k], off, bool(explains[k]))


def _sds(matrix: Array, covariance: Array) -> Array:
    return np.asarray(np.sqrt(np.maximum(np.diag(matrix @ covariance @ matrix.T), 0.0)))


def _figures(ball: MeasuredBall, own: Array, covariance: Array) -> Iterator[Figured]:
    """Yield the ball's figures; its weight is its own, not what a scale that is off shows."""
    asked = [
        Measurement(0, ball.name, ball.label, kind, None, 0.0, 1.0, "") for kind in FIGURES.values()
    ]
    true = np.array([input_.kind != "scale" for input_ in ball.model.inputs])
    values, slopes = ball.linear(own * true, asked)
    sds = _sds(slopes * true, covariance)
    nominal = ball.values(np.zeros((1, len(own))), asked)[0]
    for name, *figure in zip(FIGURES, nominal, values, sds, strict=True):
        aimed, estimate, sd = map(float, figure)
        yield Figured(name=name, aimed=aimed, estimate=estimate, sd=sd)

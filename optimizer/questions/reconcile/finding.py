"""What the measurements of first balls tell: what was poured, and what doesn't fit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from optimizer.questions.reconcile.aimed import Aimed
from optimizer.questions.reconcile.measured.file import Measured
from optimizer.questions.reconcile.measured.measurements import FIGURES, Measurement
from optimizer.questions.reconcile.stack import MeasuredBall, Stack, stacks
from optimizer.scatter.inputs import Input
from optimizer.scenario import Scenario
from optimizer.spread.adjustment import BEYOND, Gaussian, GlobalTest
from optimizer.spread.estimation import Estimate
from optimizer.spread.pendulum import TorsionPendulum
from shared import activity
from shared.arrays import Array
from shared.errors import InputError, Problem, SolverError
from shared.units import WEIGHTS, of_length

MOST = 1000
"""Readings of balls that have something in common: they are estimated together."""


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


@dataclass(frozen=True, eq=False)
class Reconciled:
    """What the measurements of a file tell."""

    aimed: Aimed
    measured: Measured
    stacks: tuple[Stack, ...]
    estimates: tuple[Estimate, ...]

    @property
    def scenario(self) -> Scenario:
        """The scenario of the balls."""
        return self.aimed.scenario

    @cached_property
    def balls(self) -> tuple[FoundBall, ...]:
        """What is found of each ball, in the order of the file."""
        found = {
            stack.balls[k].name: _ball(stack, estimate, k)
            for stack, estimate in zip(self.stacks, self.estimates, strict=True)
            for k in range(len(stack.balls))
        }
        return tuple(found[name] for name in self.measured.balls)

    @property
    def tests(self) -> list[tuple[Stack, GlobalTest]]:
        """The test of each group of balls that have something in common."""
        return [(s, e.test) for s, e in zip(self.stacks, self.estimates, strict=True)]

    @property
    def fits(self) -> bool:
        """Whether all readings, and what was known before, agree."""
        return all(test.passed for _, test in self.tests)

    def ball_fits(self, name: str) -> bool:
        """Whether the readings of a ball, and of all it has something in common with, agree."""
        return all(
            test.passed
            for stack, test in self.tests
            if any(ball.name == name for ball in stack.balls)
        )

    @cached_property
    def suspects(self) -> tuple[Suspect, ...]:
        """What may be wrong where something doesn't fit, the likeliest first."""
        every = [
            suspect
            for stack, estimate in zip(self.stacks, self.estimates, strict=True)
            for suspect in _suspects(stack, estimate)
        ]
        return tuple(sorted(every, key=lambda suspect: -abs(suspect.off)))


@activity.within()
def reconciled(aimed: Aimed, measured: Measured) -> Reconciled:
    """Return what the readings of a file tell of the balls.

    Raises InputError where readings contradict what can't vary.
    """
    pendulum = _pendulum(aimed.scenario)
    balls = [
        MeasuredBall(
            name, aimed.models[readings[0].label], readings, measured.batches(name), pendulum
        )
        for name, readings in measured.balls.items()
    ]
    found = stacks(balls, aimed.sources)
    if many := next((stack for stack in found if len(stack.readings) > MOST), None):
        what = f"{len(many.balls)} balls have a batch or a mould's spread in common"
        instead = f"at most {MOST} readings can be estimated together: give fewer balls at a time"
        raise InputError([Problem(what, instead=instead, file=str(measured.path))])
    estimates = []
    for k, stack in enumerate(found):
        activity.at(f"estimating, {k + 1} of {len(found)}")
        estimates.append(_estimate(stack, aimed.scenario).among(len(found)))
    return Reconciled(aimed, measured, tuple(found), tuple(estimates))


def _estimate(stack: Stack, scenario: Scenario) -> Estimate:
    names = ", ".join(ball.name for ball in stack.balls)
    try:
        estimate = stack.estimate()
    except ValueError as error:
        what = f"the spread of what ball {names} has in common contradicts itself ({error})"
        place = ("spread", "correlation")
        raise InputError([scenario.problem(place, what, "give smaller correlations")]) from None
    if not estimate.settled:
        raise SolverError(
            f"no densities were found that come nearest to what ball {names} measures"
        )
    return estimate


def _pendulum(scenario: Scenario) -> TorsionPendulum | None:
    """Return the shop's pendulum, in g cm² and s."""
    known = scenario.text.gauges and scenario.text.gauges.pendulum
    if not known:
        return None
    units = scenario.text.units
    size = WEIGHTS[units.weight].size * of_length(units.rg, radius=True).size ** 2
    return TorsionPendulum.calibrated(known.inertia * size, known.period, known.empty)


def _ball(stack: Stack, estimate: Estimate, k: int) -> FoundBall:
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
    return FoundBall(
        ball,
        parts,
        tuple(_figures(ball, after.mean[own], after.covariance[np.ix_(own, own)])),
        tuple((names[a], names[b]) for a, b in pairs),
    )


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


def _suspects(stack: Stack, estimate: Estimate) -> Iterator[Suspect]:
    readings, explains = stack.readings, estimate.adjustment.explains
    for k in estimate.suspects:
        off, expected = float(estimate.residuals[k]), float(estimate.by_others[k])
        alone = bool(explains[len(stack.inputs) + k])
        yield Suspect(readings[k].ball, readings[k], None, off, alone, expected)
    for k in estimate.unlikely:
        of = next(b.name for b, own in zip(stack.balls, stack.where, strict=True) if k in own)
        off = float(estimate.shifts[k])
        yield Suspect(of, None, stack.inputs[k], off, bool(explains[k]))

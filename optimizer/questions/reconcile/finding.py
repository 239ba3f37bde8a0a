"""What the measurements of first balls tell: what was poured, and what doesn't fit."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from optimizer.questions.reconcile.aimed import Aimed
from optimizer.questions.reconcile.found import FoundBall, Suspect, suspects_of
from optimizer.questions.reconcile.measured.file import Measured
from optimizer.questions.reconcile.stack import MeasuredBall, Stack, stacks
from optimizer.scenario import Scenario
from optimizer.spread.adjustment import GlobalTest
from optimizer.spread.estimation import Estimate
from optimizer.spread.pendulum import TorsionPendulum
from shared import activity
from shared.errors import InputError, Problem, SolverError
from shared.units import WEIGHTS, of_length

MOST = 1000
"""Readings of balls that have something in common: they are estimated together."""


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
            stack.balls[k].name: FoundBall.of(stack, estimate, k)
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
            for suspect in suspects_of(stack, estimate)
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

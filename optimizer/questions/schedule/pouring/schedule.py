"""The schedule of a line-up: what is weighed for every pour, and the balls that result."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property

import numpy as np

from geometry.mass_properties import Principal
from optimizer.lineup.result import LineupResult, WeightResult
from optimizer.lineup.shown import Shown
from optimizer.lineup.stating import measured
from optimizer.mixing.mix import Mix
from optimizer.paper.quantities import Units
from optimizer.questions.schedule.pouring.batch import FINER
from optimizer.questions.schedule.pouring.casting import Casting, Held, castings, in_air
from optimizer.questions.schedule.pouring.half_cast import HalfCast, half_casts
from optimizer.questions.schedule.pouring.readability import coarsest_readability
from optimizer.questions.schedule.pouring.shop import Shop
from optimizer.questions.schedule.pouring.trust import Trust, trust
from optimizer.questions.schedule.pouring.worksheet import MIXED, Worksheet, worksheet
from optimizer.questions.schedule.steps.counting import largest
from optimizer.scenario.scenario import Scenario
from shared.arrays import Array
from shared.errors import InputError, Problem
from shared.rounding import rounded


@dataclass(frozen=True, eq=False)
class ClassSchedule:
    """One weight class: the ball `asked` for, and the ball as `mixed` from what is weighed."""

    asked: WeightResult
    mixed: WeightResult
    castings: tuple[Casting, ...]
    sheet: Worksheet

    @property
    def label(self) -> str:
        """The label of the weight class."""
        return self.asked.label

    @property
    def name(self) -> str:
        """The label with its unit."""
        return self.asked.ball.map.name

    @property
    def in_air(self) -> Decimal:
        """What a scale in air reads for the finished ball, g."""
        volume = float(np.sum(self.mixed.ball.map.volumes))
        return rounded(in_air(self.mass, volume), 1)

    @property
    def mass(self) -> float:
        """The finished ball's true mass, g, from what is weighed."""
        return self.mixed.ball.properties.mass

    @cached_property
    def readability(self) -> float | None:
        """The coarsest scale (g) that holds every target; None if none does, inf if all do."""
        places, columns = self.mixed.ball.map.places, list[Array]()
        for casting in self.castings:
            pour = np.eye(len(places))[places[casting.part.name]]
            columns.append(np.outer(pour, casting.batch.rates))
        return coarsest_readability(self.mixed, np.hstack(columns))

    @property
    def radii(self) -> Principal:
        """The principal RGs of the finished ball."""
        return self.mixed.ball.radii

    @property
    def farthest(self) -> float:
        """The largest deviation from a target, in its tolerances; 0 where none has any."""
        return largest(self.mixed)


@dataclass(frozen=True, eq=False)
class Schedule(Shown):
    """What is weighed for `balls` balls of each weight class of a line-up."""

    result: LineupResult
    shop: Shop
    balls: int
    classes: tuple[ClassSchedule, ...]

    @property
    def scenario(self) -> Scenario:
        """The scenario of the line-up."""
        return self.result.scenario

    @cached_property
    def units(self) -> Units:
        """The scenario's own units."""
        return Units.of(self.scenario)

    @property
    def castings(self) -> tuple[Casting, ...]:
        """The castings of every weight class."""
        return tuple(casting for weight in self.classes for casting in weight.castings)

    @property
    def mixes(self) -> tuple[Mix, ...]:
        """Every mix as weighed."""
        mixes = (casting.batch.mix for casting in self.castings)
        return tuple(mix for mix in mixes if mix is not None)

    @property
    def mixed(self) -> LineupResult:
        """The line-up that results from what is weighed."""
        return replace(self.result, weights=tuple(weight.mixed for weight in self.classes))

    @cached_property
    def half_cast(self) -> dict[str, tuple[HalfCast, Trust]]:
        """The table for a half-cast ball, and its trust, of weights where a pour can be moved."""
        castings = {weight.label: weight.castings for weight in self.classes}
        tables = half_casts(self.mixed, castings, self.shop, self.units.density)
        return {
            weight.label: (table, trust(table, weight.mixed.deviations))
            for weight in self.classes
            if (table := tables.get(weight.label)) is not None
        }

    @property
    def too_strong(self) -> tuple[tuple[ClassSchedule, Casting, Held], ...]:
        """What pulls harder than its holder can take: the weight class, the pour, and the piece."""
        most = self.shop.text.hold_down
        return tuple(
            (weight, casting, held)
            for weight in self.classes
            for casting in weight.castings
            for held in casting.held
            if most is not None and abs(held.lift) > most
        )


def schedule(result: LineupResult, balls: int = 1) -> Schedule:
    """Return the schedule of a feasible line-up.

    Raises InputError where a mixer does not hold one ball's pour, and where the scales are so
    coarse that a ball is off target by more than the tolerance.
    """
    shop = Shop(result.scenario)
    classes = tuple(_class(weight, shop, result.figures, balls) for weight in result.weights)
    if coarse := [problem for weight in classes for problem in _too_coarse(weight, shop)]:
        raise InputError(coarse)
    return Schedule(result, shop, balls, classes)


def _class(weight: WeightResult, shop: Shop, figures: Sequence[float], balls: int) -> ClassSchedule:
    linear_map = weight.ball.map
    names = [part.name for part in linear_map.parts]
    asked = dict(zip(names, weight.ball.densities.tolist(), strict=True))
    made = castings(linear_map, asked, shop, balls)
    densities = {casting.part.name: casting.batch.density for casting in made}
    ball = linear_map.ball(np.array([densities[name] for name in names]))
    mixed = measured(ball, np.array(figures))
    mixed = mixed.roomed() if weight.within else mixed
    return ClassSchedule(weight, mixed, made, worksheet(ball, MIXED))


def _too_coarse(weight: ClassSchedule, shop: Shop) -> Iterator[Problem]:
    """Yield the figures that the rounding of the scales takes out of tolerance."""
    for asked, mixed in zip(weight.asked.deviations, weight.mixed.deviations, strict=True):
        off = abs(mixed.tolerances or 0.0)
        if abs(asked.tolerances or 0.0) <= 1.0 < off:
            what = (
                f"is too coarse: weight {weight.name} mixed by what it shows misses its "
                f"{mixed.figure.words} by {off:.2f} tolerances"
            )
            yield shop.wrong("scale", what, FINER)

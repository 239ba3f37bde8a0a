"""The schedule of a line-up: what is weighed for every pour, measured again as it is mixed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property

import numpy as np

from optimizer.lineup.result import LineupResult, WeightResult
from optimizer.lineup.shown import Shown
from optimizer.lineup.stating import measured
from optimizer.mixing.recipe import Mix
from optimizer.questions.schedule.pouring.batch import FINER
from optimizer.questions.schedule.pouring.casting import Casting, Held, castings, weighed_in_air
from optimizer.questions.schedule.pouring.readability import coarsest_readability
from optimizer.questions.schedule.pouring.shop import Shop
from optimizer.questions.schedule.pouring.worksheet import MIXED, Worksheet, worksheet
from optimizer.questions.schedule.steps.counting import largest
from shared.errors import InputError, Problem


@dataclass(frozen=True, eq=False)
class ClassSchedule:
    """One weight class: the ball `asked` for, and the ball that comes of what is weighed."""

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
        """What a scale in air reads of the finished ball, g."""
        return weighed_in_air(self.mixed.ball)

    @property
    def mass(self) -> float:
        """The finished ball's true mass, g, of what is weighed."""
        return self.mixed.ball.properties.mass

    @cached_property
    def readability(self) -> float | None:
        """The coarsest scale (g) that holds every target; None if none does, inf if any does."""
        place = {part.name: i for i, part in enumerate(self.mixed.ball.map.parts)}
        rates = [(place[casting.part.name], casting.batch.rates) for casting in self.castings]
        by_gram = np.zeros((len(place), sum(len(own) for _, own in rates)))
        done = 0
        for i, own in rates:
            by_gram[i, done : done + len(own)] = own
            done += len(own)
        return coarsest_readability(self.mixed, by_gram)

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
    def mixes(self) -> tuple[Mix, ...]:
        """Every mix as it is weighed."""
        batches = (
            casting.batch for class_schedule in self.classes for casting in class_schedule.castings
        )
        return tuple(batch.mix for batch in batches if batch.mix is not None)

    @property
    def mixed(self) -> LineupResult:
        """The line-up that comes of what is weighed."""
        return replace(
            self.result, weights=tuple(class_schedule.mixed for class_schedule in self.classes)
        )

    @property
    def too_strong(self) -> tuple[tuple[str, Casting, Held], ...]:
        """What pulls harder than what holds it can take: its weight class, its liquid, and it."""
        most = self.shop.text.hold_down
        return tuple(
            (class_schedule.name, casting, held)
            for class_schedule in self.classes
            for casting in class_schedule.castings
            for held in casting.held
            if most is not None and abs(held.lift) > most
        )


def schedule(result: LineupResult, balls: int = 1) -> Schedule:
    """Return the schedule of a feasible line-up.

    Raises InputError where a mixer does not hold one ball's pour, and where what the scales can
    show takes a ball out of its target's tolerance.
    """
    shop = Shop(result.scenario)
    classes = tuple(_class(weight, shop, result.figures, balls) for weight in result.weights)
    if coarse := [
        problem for class_schedule in classes for problem in _too_coarse(class_schedule, shop)
    ]:
        raise InputError(coarse)
    return Schedule(result, shop, balls, classes)


def _class(weight: WeightResult, shop: Shop, figures: Sequence[float], balls: int) -> ClassSchedule:
    linear_map = weight.ball.map
    asked = zip(linear_map.parts, weight.ball.densities.tolist(), strict=True)
    made = castings(linear_map, {part.name: density for part, density in asked}, shop, balls)
    densities = {casting.part.name: casting.batch.density for casting in made}
    ball = linear_map.ball(np.array([densities[part.name] for part in linear_map.parts]))
    mixed = measured(ball, np.array(figures))
    mixed = mixed.roomed() if weight.within else mixed
    return ClassSchedule(weight, mixed, made, worksheet(ball, MIXED))


def _too_coarse(class_schedule: ClassSchedule, shop: Shop) -> Iterator[Problem]:
    """Yield the figures that the rounding of the scales takes out of tolerance."""
    for asked, mixed in zip(
        class_schedule.asked.deviations, class_schedule.mixed.deviations, strict=True
    ):
        off = abs(mixed.tolerances or 0.0)
        if abs(asked.tolerances or 0.0) <= 1.0 < off:
            what = (
                f"is too coarse: weight {class_schedule.name} mixed by what it shows misses its "
                f"{mixed.figure.words} by {off:.2f} tolerances"
            )
            yield shop.wrong("scale", what, FINER)

"""The ball that is half cast: what to pour next, which weight it suits, and when to scrap it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import numpy as np

from geometry.nesting import casting_order
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.result import LineupResult, Status, WeightResult
from optimizer.lineup.stating import measured
from optimizer.questions.reconcile.half_cast.casts import Cast, read_casts, weight_of
from optimizer.questions.reconcile.half_cast.good_from_here import Good, good_from_here
from optimizer.questions.reconcile.half_cast.one_ball import OneBall, Scheduled
from optimizer.questions.reconcile.half_cast.range_found import Found, found_range
from optimizer.questions.reconcile.half_cast.same_piece import same_piece
from optimizer.questions.schedule.pouring.casting import piece_volumes
from optimizer.questions.schedule.pouring.shop import Shop
from optimizer.scenario import Scenario
from shared import activity
from shared.arrays import Array

BEST: Final[tuple[Status, ...]] = ("feasible", "within_tolerance", "undecided", "infeasible")
"""The order in which other weights are told."""
FAR: Final = 6.0
"""Standard deviations: a casting that is off by more is likelier to be misread."""


@dataclass(frozen=True)
class Repour:
    """A part still to be poured: its density as scheduled, re-set, and as told to pour, g/cm³.

    The latter is on the shop's step for the next pour, and re-set to suit that for the others.
    `mass` (g) is what its piece then weighs as it leaves the mould.
    """

    part: str
    aimed: float
    set: float
    poured: float
    mass: float


@dataclass(frozen=True)
class Other:
    """Another weight whose mould for the casting is the same, and whether the casting suits it.

    `moved` is how far its pours move for that, in standard deviations; `held` are the parts that
    stay as scheduled.
    """

    label: str
    status: Status
    moved: float
    held: tuple[str, ...] = ()

    @property
    def possible(self) -> bool:
        """Whether the casting suits it."""
        return self.status in ("feasible", "within_tolerance")


@dataclass(frozen=True, eq=False)
class HalfCast:
    """A half-cast ball of a schedule. `others` are in order: those that it suits best first.

    `stepped` is the ball with the next pour on the shop's step, None where it has none that does.
    `suits` are the densities of the last casting with which the ball can be made, None where none
    were found. `good` is None where the ball can't be made, or nothing makes a ball bad.
    """

    one: OneBall
    casts: tuple[Cast, ...]
    stepped: OneBall | None
    others: tuple[Other, ...]
    suits: Found | None
    good: Good | None

    @property
    def scenario(self) -> Scenario:
        """The scenario of the line."""
        return self.one.schedule.scenario

    @property
    def label(self) -> str:
        """The label of its weight."""
        return self.one.label

    @property
    def last(self) -> Cast:
        """The casting that was made last."""
        return self.casts[-1]

    @property
    def weight(self) -> WeightResult:
        """The ball at the pours as told; the nearest one where it can't be made."""
        return (self.stepped or self.one).poured.weights[0]

    @cached_property
    def scheduled(self) -> WeightResult:
        """The ball with its other pours left as scheduled."""
        return measured(self.one.as_scheduled, np.array(self.one.schedule.lineup.figures))

    @cached_property
    def pours(self) -> tuple[Repour, ...]:
        """What is still to be poured, the next first."""
        return tuple(self._pours())

    def _pours(self) -> Iterator[Repour]:
        ball, pieces = self.weight.ball, _pieces(self.scenario, self.weight.ball.map)
        for part in casting_order(ball.map.parts):
            if part.name not in self.one.known:
                place = ball.map.places[part.name]
                own = self.one.aimed, self.one.ball, ball
                aimed, exact, poured = (float(each.densities[place]) for each in own)
                mass = float(pieces[part.name] @ ball.densities)
                yield Repour(part.name, aimed, exact, poured, mass)

    @property
    def assumed(self) -> tuple[str, ...]:
        """The parts that are taken to be cast as scheduled, since nothing is given of them."""
        return tuple(cast.part for cast in self.casts if not cast.given)

    @property
    def scrap(self) -> bool:
        """Whether it is proven that neither this nor another weight can be made of the casting."""
        return {self.one.status, *(other.status for other in self.others)} == {"infeasible"}

    @property
    def doubtful(self) -> tuple[Cast, ...]:
        """The castings that are so far off that they may be misread."""
        sd, places = self.one.schedule.deviations(self.label), self.one.aimed.map.places
        return tuple(
            cast
            for cast in self.casts
            if abs(cast.density - cast.aimed) > FAR * sd[places[cast.part]]
        )


@activity.within()
def half_cast(result: LineupResult, label: str, casts: Sequence[str]) -> HalfCast:
    """Return what to do with a ball of which some parts are cast.

    `casts` are texts as `--cast` takes them. Raises InputError where they or the label are wrong,
    and ValueError where the line-up isn't accepted.
    """
    weight_of(result, label)
    schedule = Scheduled.of(result)
    cast = read_casts(casts, schedule.scenario, schedule.weight(label).ball)
    one = OneBall(schedule, label, {each.part: each.density for each in cast})
    activity.at("re-setting the pours")
    following = (
        part.name for part in casting_order(one.aimed.map.parts) if part.name not in one.known
    )
    stepped = one.on_step(next(following)) if one.possible else None
    activity.at("trying the other weights")
    others = tuple(sorted(_others(one), key=lambda other: (BEST.index(other.status), other.moved)))
    activity.at("when to scrap it")
    suits = found_range(one, cast[-1].part, _pieces(schedule.scenario, one.aimed.map))
    activity.at("the share of good balls")
    return HalfCast(one, cast, stepped, others, suits, good_from_here(one, stepped, cast))


def _pieces(scenario: Scenario, linear_map: LinearMap) -> Mapping[str, Array]:
    return piece_volumes(linear_map, Shop(scenario).text.cast)


def _others(one: OneBall) -> Iterator[Other]:
    """Yield the other weights whose mould for what is cast is the same."""
    mine, cast = one.aimed.map, Shop(one.schedule.scenario).text.cast
    for label in one.schedule.scenario.labels:
        theirs = one.schedule.weight(label).ball.map
        if label != one.label and same_piece(mine, theirs, one.known.keys(), cast):
            other = replace(one, label=label)
            yield Other(label, other.status, other.moved, tuple(other.held))

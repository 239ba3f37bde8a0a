"""The best mould: the free dimensions of a scenario, chosen together with its densities."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable, Iterator, Sequence
from contextlib import closing
from dataclasses import replace
from functools import partial

import numpy as np

from optimizer.lineup.moulds.chosen import Picked, stated, with_chosen
from optimizer.lineup.moulds.pools import Workers
from optimizer.lineup.moulds.rack import Alone, Choice, Choices, chosen
from optimizer.lineup.moulds.starts import (
    MET,
    MISSED,
    Outcome,
    Rank,
    Starts,
    Task,
    from_start,
    groups,
    poured,
    start_points,
)
from optimizer.lineup.rows import Lineup
from optimizer.scenario import Scenario
from shared import stopping
from shared.activity import Series
from shared.arrays import Array
from shared.errors import InputError, UndecidedError

FEWEST = 2
"""The fewest starts for each choice from the rack: on the benchmark's lines, 8 of 8 agree."""

LED = 2
"""How many of the nearest moulds are starts for one within tolerance."""

Walked = dict[Hashable, list[Outcome]]
"""The outcomes of a group's starts, by everything that identifies the group."""


class MouldSearch:
    """The search for the best mould: what it has found so far, and its effort.

    `walked` are groups of weights that another search of the same drawing has done already. If
    there is a rack besides free dimensions, its choices share the starts, at least FEWEST each. If
    no mould meets the target, one within tolerance is sought, unless `exact`.
    """

    def __init__(
        self,
        asked: Scenario,
        how: Starts,
        walked: Walked | None = None,
        *,
        exact: bool = False,
    ) -> None:
        self.exact, self.within = exact, False
        self.asked, self.choices = asked, Choices(asked)
        self.count = math.prod(len(slot.values) for slot in self.choices.slots)
        each = min(how.count, max(FEWEST, math.ceil(how.count / self.count)))
        self.how = replace(how, count=each)
        self.walked = {} if walked is None else walked
        self.best: Scenario | None = None
        self.rank: Rank = (MISSED, -np.inf)
        self.starts = self.agreed = self.programs = 0
        self.interrupted = self.late = False
        self.series = Series("mould on the rack", self.count)

    def picked(self) -> Picked:
        """Return the scenario with the mould that gives the largest smallest margin.

        Every choice from the rack is tried or known not to be better; free dimensions are searched
        from the starts. Raises InputError if no mould is possible, UndecidedError if none is found
        in the time allowed, and KeyboardInterrupt after Ctrl-C: `so_far` then returns the best
        until then, as this does when time is up.
        """
        try:
            self._search()
        except KeyboardInterrupt:
            if not self.late:
                raise
        picked = self.so_far()
        if picked is None and self.late:
            raise UndecidedError("no mould was found in the time allowed")
        if picked is None:
            first = ("dimensions", self.asked.to_pick[0])
            what = "no mould was found in which every part fits, whatever the free dimensions"
            instead = "give them other ranges, or a start at which every part fits"
            raise InputError([self.asked.problem(first, what, instead)])
        return picked

    def _search(self) -> None:
        """Try every choice, exactly and then within tolerance; KeyboardInterrupt when stopped."""
        with self.how.pool() as workers, stopping.limited(self.how.seconds):
            try:
                self._try_all(workers)
                if self.rank[0] != MET and not self.exact:
                    self.within = True
                    self._try_all(workers)
            except KeyboardInterrupt:
                self.late = self.late or stopping.time_is_up()
                if self.best is not None or self.late:
                    stopping.heard()  # the pool may take its time to end
                raise

    def so_far(self) -> Picked | None:
        """Return the scenario with the best mould found so far, or None."""
        if self.best is None:
            return None
        return Picked(self.best, self.starts, self.agreed, self.programs, self.exact)

    def _try_all(self, workers: Workers) -> None:
        """Try every choice from the rack that may be better than the best so far."""
        for number, choice in enumerate(self._choices()):
            scenario = with_chosen(self.asked, chosen(self.choices.slots, choice))
            if scenario is not None:
                self._try(scenario, workers, self.count - number)
            if self.interrupted:
                raise KeyboardInterrupt

    def _choices(self) -> Iterator[Choice]:
        """Yield the choices from the rack that may be better than the best so far, each once.

        The first is the drawing's own, so that something is known from then on. If dimensions are
        free as well, no choice has a bound, and all are yielded.
        """
        every = self.choices.every
        if self.asked.free or not self.asked.rack:
            yield from every
            return
        yield (first := next(every))
        alone = Alone(lambda: self.rank, within=self.within)
        each = math.prod(len(rack.values) for rack in self.choices.rack)
        self.series.most = self.series.done + each * len(self.choices.labels)
        for values, lineup in self.choices.alone(self.asked):
            outcomes = self._poured(lineup)
            self.programs += sum(outcome.programs for outcome in outcomes)
            alone.add(values, lineup, max(outcome.rank for outcome in outcomes))
        yield from (choice for choice in self.choices.descend((), alone) if choice != first)

    def _try(self, scenario: Scenario, workers: Workers, left: int) -> None:
        """Find the best dimensions for one choice from the rack, and keep it if it is the best.

        At most so many choices are `left`, this one among them.
        """
        by_group, agreed, lineups = list[Outcome](), 0, groups(scenario)
        each = LED if self.within else self.how.count
        self.series.most = self.series.done + left * len(lineups) * (each if scenario.free else 1)
        for number, lineup in enumerate(lineups):
            if self.interrupted:
                return  # before anything is known of these weights
            outcomes = (
                self._walked(scenario, number, lineup, workers)
                if lineup.columns.mould.any()
                else self._poured(lineup)
            )
            self.programs += sum(outcome.programs for outcome in outcomes)
            best = max(outcomes, key=lambda outcome: outcome.rank, default=None)
            if best is None or best.rank <= self.rank:
                return
            by_group.append(best)  # the first of equals
            agreed += sum(other.as_good(best) for other in outcomes)
        rank, settled = min(outcome.rank for outcome in by_group), stated(scenario, by_group)
        if settled is not None:
            self.best, self.rank, self.agreed = settled, rank, agreed

    def _poured(self, lineup: Lineup) -> list[Outcome]:
        """Return the outcome of a given mould: exactly, or within tolerance if allowed."""
        outcomes = [poured(lineup)]
        if self.within and not outcomes[0].met:
            outcomes.append(poured(replace(lineup, within=True)))
        self._step()
        return outcomes

    def _step(self, found: Iterable[Rank] = ()) -> None:
        """Report a step, and the best margin so far, of the line or of a group's outcomes."""
        met, level = max([self.rank, *found])
        self.series.step(None if met == MISSED else level)

    def _walked(
        self, scenario: Scenario, number: int, lineup: Lineup, workers: Workers
    ) -> list[Outcome]:
        """Return the outcomes of the starts for one group of weights, in their order.

        If none of them meets the target, and tolerances are allowed, the nearest moulds are
        searched for one within tolerance.
        """
        points = list(start_points(lineup, self.how))
        outcomes = self._led(scenario, number, lineup, workers, points)
        if self.interrupted or not self.within or any(outcome.met for outcome in outcomes):
            return outcomes
        of = lineup.columns
        nearest = sorted(outcomes, key=lambda outcome: outcome.rank, reverse=True)[:LED]
        points = [np.array(outcome.x)[of.mould] for outcome in nearest]
        return (
            self._led(scenario, number, replace(lineup, within=True), workers, points) or outcomes
        )

    def _led(
        self,
        scenario: Scenario,
        number: int,
        lineup: Lineup,
        workers: Workers,
        points: Sequence[Array],
    ) -> list[Outcome]:
        """Return the outcomes of these starts, without repeating those of an earlier search."""
        of = lineup.columns
        places = tuple(tuple(places.tolist()) for places in (*of.poured, *of.drawn))
        key = (lineup.labels, lineup.within, places, str(scenario.chosen))
        if key not in self.walked:
            outcomes, before = dict[int, Outcome](), self.starts
            try:
                task = Task(scenario.written, dict(scenario.chosen), number, lineup.within)
                self._run(task, lineup, workers, points, outcomes)
            except KeyboardInterrupt:
                if not outcomes:
                    raise
                self.starts = max(self.starts, before + len(outcomes))  # one under way
                self.late = stopping.time_is_up()
                stopping.heard()
                self.interrupted = True
            self.walked[key] = [outcomes[k] for k in sorted(outcomes)]
        return self.walked[key]

    def _run(
        self,
        task: Task,
        lineup: Lineup,
        workers: Workers,
        points: Sequence[Array],
        outcomes: dict[int, Outcome],
    ) -> None:
        """Add each start's outcome to `outcomes` as soon as it is known."""
        self.series.what = f"moulds for {', '.join(lineup.labels)}, start"

        def here(start: tuple[int, Array]) -> Outcome | None:
            return from_start(lineup, start[1], partial(outcomes.__setitem__, start[0]))

        results = workers.results(enumerate(points), here, task.from_start, self.series)
        with closing(results):
            for k, outcome in results:
                self.starts += 1
                if outcome is not None:
                    outcomes[k] = outcome
                self._step(outcome.rank for outcome in outcomes.values())

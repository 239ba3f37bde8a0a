"""Which mould is best: the free dimensions of a scenario, picked together with its densities.

Every start is a walk of its own, with a solver of its own, so that the answer does not hang on how
many run at a time.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, ProcessPoolExecutor, as_completed
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, replace
from multiprocessing import get_context

import numpy as np

from optimizer.limits import Measures
from optimizer.limits.wall import WallLimit
from optimizer.lineup.columns import coupled
from optimizer.lineup.engine import Engine
from optimizer.lineup.margins import margins
from optimizer.lineup.rows import Lineup
from optimizer.lineup.search import best_found, first_rounds, search_rounds
from optimizer.lineup.solve import LinearSolver, Rows
from optimizer.lineup.walk import walk
from optimizer.scenario import Scenario, linear_maps, scenario
from optimizer.scenario.dimensions import Chosen
from shared.arrays import Array
from shared.errors import InputError, Problem, UnbuildableError
from shared.tolerances import ROW_ERROR, TOUCH

ALIKE = 0.01
"""Tolerances: margins nearer than this are alike."""
STATED = {"in": 3, "mm": 2}
"""Decimals of a dimension as it is stated, in the scenario's unit of length."""


@dataclass(frozen=True)
class Starts:
    """How many starts a search takes, the seed of those beyond the first, and who runs them.

    `jobs` at a time: one in this process, more in a pool of processes, or those of `executor`.
    """

    count: int = 8
    seed: int = 2026
    jobs: int = 1
    executor: Callable[[], Executor] | None = None

    def pool(self) -> AbstractContextManager[Executor | None]:
        """Return what runs the starts; None for this process itself."""
        if self.executor is not None:
            return self.executor()
        return (
            ProcessPoolExecutor(self.jobs, get_context("spawn")) if self.jobs > 1 else nullcontext()
        )


@dataclass(frozen=True)
class Outcome:
    """Where a walk ended for one group of weights: the free dimensions (d,) of each weight, cm.

    `level` is the smallest margin, in tolerances, where the targets are met; else minus what is
    broken. `x` are all columns; `programs` the linear programs that it took.
    """

    met: bool
    level: float
    dimensions: dict[str, tuple[float, ...]]
    x: tuple[float, ...]
    programs: int = 0

    @property
    def rank(self) -> Rank:
        """What makes one outcome better than another; equal to rounding is equal."""
        return self.met, round(self.level, 7)

    def as_good(self, best: Outcome) -> bool:
        """Whether this is as good as the best, to a hundredth of a tolerance."""
        return self.met == best.met and self.level > best.level - ALIKE

    @classmethod
    def of(cls, lineup: Lineup, rows: Rows, x: Array, programs: int = 0) -> Outcome:
        """Return what is reached at `x`, by its own rows."""
        error = float(np.max(rows.broken(x), initial=0.0))
        level = float(np.min(rows.levels(x), initial=np.inf))
        met = error <= ROW_ERROR
        dimensions = {
            label: tuple(lineup.columns.dimensions(k, x).tolist())
            for k, label in enumerate(lineup.labels)
        }
        return cls(met, level if met else -error, dimensions, tuple(x.tolist()), programs)


@dataclass(frozen=True)
class Picked:
    """A scenario with its mould picked; `complete` unless the search was interrupted.

    Of the `starts`, `agreed` led to a mould as good as the best, to a hundredth of a tolerance.
    """

    scenario: Scenario
    starts: int
    agreed: int
    programs: int
    complete: bool


Heard = Callable[[str, float], None]
Rank = tuple[bool, float]
"""Whether the targets are met; then the smallest margin, or minus the largest break of a row."""


def groups(asked: Scenario) -> list[Lineup]:
    """Return the groups of weights that are solved together, each as a line-up.

    A wall under 0 is no mould, whatever the limits say.
    """
    maps, limits = linear_maps(asked), list[Measures](asked.limits)
    if not any(isinstance(limit, WallLimit) for limit in limits):
        limits.append(WallLimit(min=0.0))
    return [
        Lineup.of([maps[k] for k in members], limits, asked.sharing)
        for members in coupled(maps, asked.sharing)
    ]


def from_start(
    lineup: Lineup, at: Array, told: Callable[[Outcome], None] = lambda _outcome: None
) -> Outcome | None:
    """Return where the walk from the dimensions `at` leads; None where no mould can be there.

    `at` are values for the columns that are dimensions, cm.
    """
    of, solver = lineup.columns, LinearSolver()
    which = np.zeros(of.count, dtype=bool)
    which[of.moulds : of.figures] = True
    middle = of.middle.copy()
    middle[which] = at
    there = replace(lineup, columns=replace(of, middle=middle))
    engine = Engine(lineup.margin_rows, of.lower, of.upper, middle, of.spread, solver)
    try:
        ((x, orders), *_), _ = first_rounds(there)
        rows = Rows.of(lineup.margin_rows(x, orders))
        peak = walk(
            engine, x, which, rows, lambda peak: told(Outcome.of(lineup, peak.rows, peak.x))
        )
    except UnbuildableError:
        return None
    return Outcome.of(lineup, peak.rows, peak.x, solver.solved)


def start_points(lineup: Lineup, how: Starts) -> Iterator[Array]:
    """Yield the dimensions to start from: the scenario's own, then a scrambled Sobol set."""
    from scipy.stats import qmc  # noqa: PLC0415 - heavy: only where a mould is sought

    of = lineup.columns
    which = slice(of.moulds, of.figures)
    yield of.middle[which]
    low, high = of.lower[which], of.upper[which]
    if how.count > 1 and len(low):
        size = int(np.ceil(np.log2(how.count)))
        points = qmc.Sobol(len(low), rng=how.seed).random_base2(size)
        yield from low + points[: how.count - 1] * (high - low)


def _run(source: str, file: str, chosen: Chosen, group: int, at: Array) -> Outcome | None:
    """Return what one start of one group comes to: a worker's task, all of plain values."""
    asked = scenario(source, file=file, target_required=True, chosen=chosen)
    return from_start(groups(asked)[group], at)


class MouldSearch:
    """The search for the best mould: what it has found so far, and what that took."""

    def __init__(self, asked: Scenario, how: Starts, told: Heard) -> None:
        self.asked, self.how, self.told = asked, how, told
        self.best: Scenario | None = None
        self.rank: Rank = (False, -np.inf)
        self.starts = self.agreed = self.programs = 0

    def picked(self) -> Picked:
        """Return the scenario with the mould that gives the largest smallest margin.

        Every choice from the rack is tried, or known not to do better; free dimensions are walked
        from the starts. Ties go to what comes first. After Ctrl-C the best so far is returned,
        where there is one; else KeyboardInterrupt goes on.
        """
        complete = True
        try:
            with self.how.pool() as pool:
                for chosen in choices(self.asked):
                    self._try(with_chosen(self.asked, chosen), pool)
        except KeyboardInterrupt:
            if self.best is None:
                raise
            complete = False
        if self.best is None:
            raise InputError([_nowhere(self.asked)])
        return Picked(self.best, self.starts, self.agreed, self.programs, complete)

    def _try(self, one: Scenario, pool: Executor | None) -> None:
        """Find the best dimensions of one choice from the rack, and keep it if it is the best."""
        found, agreed = list[Outcome](), 0
        for number, lineup in enumerate(groups(one)):
            outcomes = self._walked(one, number, lineup, pool) if one.free else [_poured(lineup)]
            if not outcomes:
                return
            best = max(outcomes, key=lambda outcome: outcome.rank)  # the first of equals
            if best.rank <= self.rank:
                return
            found.append(best)
            agreed += sum(other.as_good(best) for other in outcomes)
        rank = min(outcome.rank for outcome in found)
        if rank > self.rank:
            self.best, self.rank, self.agreed = stated(one, found), rank, agreed

    def _walked(
        self, one: Scenario, number: int, lineup: Lineup, pool: Executor | None
    ) -> list[Outcome]:
        """Return where the starts lead for one group of weights, in the order of the starts."""
        points, labels = list(start_points(lineup, self.how)), ", ".join(lineup.labels)
        outcomes: dict[int, Outcome] = {}

        def heard(k: int, outcome: Outcome | None) -> None:
            self.starts += 1
            if outcome is not None:
                outcomes[k] = outcome
                self.programs += outcome.programs
                level = max(outcomes.values(), key=lambda outcome: outcome.rank).level
                self.told(f"{labels}, {self.starts} starts done", level)

        if pool is None:
            for k, at in enumerate(points):
                heard(k, from_start(lineup, at))
        else:
            said = (one.source, one.file, dict(one.chosen), number)
            tasks = {pool.submit(_run, *said, at): k for k, at in enumerate(points)}
            for task in as_completed(tasks):
                heard(tasks[task], task.result())
        return [outcomes[k] for k in sorted(outcomes)]


def _poured(lineup: Lineup) -> Outcome:
    """Return the best densities of a mould that is given, its walls counted among the margins."""
    solver = LinearSolver()
    rounds = search_rounds(lineup, lineup.columns.middle)
    found = best_found(lineup, solver, rounds, lambda _level: None)
    walls = [
        margin.slack / (margin.tolerance or TOUCH)
        for ball in lineup.balls(found.x)
        for margin in margins(ball, lineup.limits)
        if not margin.movable and not margin.rule_only and (margin.tolerance or margin.slack < 0)
    ]
    rows = Rows.of(lineup.margin_rows(found.x))
    outcome = Outcome.of(lineup, rows, found.x, solver.solved)
    return replace(outcome, level=min([outcome.level, *walls]))


def choices(asked: Scenario) -> Iterator[Chosen]:
    """Yield every choice from the rack, by name and label, in file order; one if there is none."""
    labels = [one.label for one in asked.classes]
    slots = [
        (rack, group)
        for rack in asked.rack
        for group in (*rack.groups, *((x,) for x in labels if not any(x in g for g in rack.groups)))
    ]
    for values in itertools.product(*(rack.values for rack, _ in slots)):
        chosen: dict[str, dict[str, float]] = {}
        for (rack, group), value in zip(slots, values, strict=True):
            chosen.setdefault(rack.name, {}).update(dict.fromkeys(group, value))
        yield chosen


def stated(one: Scenario, found: Sequence[Outcome]) -> Scenario:
    """Return the scenario with its free dimensions as they are stated, to STATED decimals."""
    unit, digits = one.reading.length, STATED[one.text.units.length]
    chosen: dict[str, dict[str, float]] = {dimension.name: {} for dimension in one.free}
    for outcome in found:
        for label, lengths in outcome.dimensions.items():
            for dimension, length in zip(one.free, lengths, strict=True):
                value = min(
                    max(round(length / unit, digits), dimension.low / unit), dimension.high / unit
                )
                chosen[dimension.name][label] = float(f"{value:.12g}")
    return with_chosen(one, chosen)


def with_chosen(asked: Scenario, chosen: Chosen) -> Scenario:
    """Return the scenario with some more of its dimensions chosen."""
    if not chosen:
        return asked
    more = {**asked.chosen, **chosen}
    return scenario(asked.source, file=asked.file, target_required=True, chosen=more)


def _nowhere(asked: Scenario) -> Problem:
    first = next(iter([one.name for one in asked.free] + [one.name for one in asked.rack]))
    place = asked.places.get(("dimensions", first))
    return Problem(
        "no mould can be made with any value that was tried for the free dimensions",
        instead="give them a start from which every shape can be",
        file=asked.file,
        line=None if place is None else place.line,
        column=None if place is None else place.column,
    )

"""The starts of a search for a mould, and the outcome of each.

Every start is a walk of its own with a solver of its own, so the answer doesn't depend on how many
run at a time.
"""

from __future__ import annotations

import threading
import tomllib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from optimizer.ball.bounds import Bound
from optimizer.ball.figures import WALL
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.engine.climbing import Peak
from optimizer.lineup.engine.linear_solver import LinearSolver, Rows
from optimizer.lineup.engine.search import best_found, first_start, search_rounds
from optimizer.lineup.margins import margins
from optimizer.lineup.moulds.pools import Pool, pool
from optimizer.lineup.moulds.walk import walk
from optimizer.lineup.rows import Lineup
from optimizer.scenario import Scenario, Written, linear_maps, read_again
from optimizer.scenario.dimensions import Chosen, named_lengths
from optimizer.scenario.source.content import part_labels
from shared.arrays import Array
from shared.errors import UnbuildableError
from shared.tolerances import ROW_ERROR, TOUCH

ALIKE = 0.01
"""Tolerances: margins closer than this count as equal."""

MISSED, WITHIN, MET = 0, 1, 2
Rank = tuple[int, float]
"""Whether the targets are missed, met within tolerance, or met; then the smallest margin, the least
that is left of a tolerance, or minus the largest violation of a row."""


@dataclass(frozen=True)
class Starts:
    """The number of starts of a search, the seed of those after the first, and the pool.

    After so many `seconds` the search ends with the best mould so far.
    """

    count: int = 8
    seed: int = 2026
    pool: Pool = field(default_factory=pool)
    seconds: float = float("inf")


@dataclass(frozen=True)
class Outcome:
    """The end of a walk for one group of weights: the free dimensions (d,) of each weight, cm.

    `level` is the smallest margin in tolerances if the targets are met, else minus the violation.
    `x` are all columns; `programs` counts the linear programs. `within`: the targets may be missed
    by their tolerances, and `level` is the least that is left of one.
    """

    met: bool
    level: float
    dimensions: dict[str, tuple[float, ...]]
    x: tuple[float, ...]
    programs: int = 0
    within: bool = False

    @property
    def rank(self) -> Rank:
        """The key by which outcomes compare; equal to rounding is equal."""
        met = MISSED if not self.met else WITHIN if self.within else MET
        return met, round(self.level, 7)

    def as_good(self, best: Outcome) -> bool:
        """Whether this is as good as the best, to a hundredth of a tolerance."""
        return self.rank[0] == best.rank[0] and self.level > best.level - ALIKE

    @classmethod
    def of(cls, lineup: Lineup, rows: Rows, x: Array, programs: int = 0) -> Outcome:
        """Return the outcome at `x`, by its own rows."""
        error = float(np.max(rows.broken(x), initial=0.0))
        level = float(np.min(rows.levels(x), initial=np.inf))
        met = error <= ROW_ERROR and (level >= 0.0 or not lineup.within)
        dimensions = {
            label: tuple(lineup.columns.dimensions(k, x).tolist())
            for k, label in enumerate(lineup.labels)
        }
        missed = min(-error, level) if lineup.within else -error
        level = level if met else missed
        return cls(met, level, dimensions, tuple(x.tolist()), programs, lineup.within)


def groups(asked: Scenario) -> list[Lineup]:
    """Return the groups of coupled weights, each as a line-up.

    Walls come before everything else: besides being margins they are rows with a high price. Even
    without a limit on a wall, parts may not cross. A wall that no free dimension moves is kept, but
    does not stop the search; where moulds on the rack differ in it, it is a margin of theirs.
    """
    maps = linear_maps(asked)
    if asked.free:
        mobile = None if asked.chosen else moving(asked)
        maps = tuple(
            replace(
                linear_map,
                bounds=(*_raised(linear_map.bounds, mobile), *_kept_walls(linear_map)),
            )
            for linear_map in maps
        )
    return Lineup.groups(maps, asked.sharing, asked.goal)


def moving(asked: Scenario) -> frozenset[str]:
    """Return the parts that a free dimension moves."""
    content, free = tomllib.loads(asked.source), {free.name for free in asked.free}
    parts, uses = part_labels(content), named_lengths(content)
    return frozenset(parts[path[:2]] for path, name in uses if name in free and path[:2] in parts)


def _raised(bounds: Iterable[Bound], moving: frozenset[str] | None) -> Iterator[Bound]:
    """Yield the bounds, walls of parts that don't move without a tolerance: nothing raises them."""
    for bound in bounds:
        still = moving is not None and bound.figure == WALL and moving.isdisjoint(bound.of or ())
        yield replace(bound, tolerance=None) if still else bound


def _kept_walls(linear_map: LinearMap) -> tuple[Bound, ...]:
    """Return bounds of at least 0, without a tolerance, on the walls of a weight class."""
    asked = [bound for bound in linear_map.bounds if bound.figure == WALL]
    return tuple(replace(bound, tolerance=None) for bound in asked) or tuple(
        Bound(WALL, low=0.0, of=pair, weight=linear_map.label) for pair in WALL.subjects(linear_map)
    )


def from_start(
    lineup: Lineup, at: Array, report: Callable[[Outcome], None] = lambda _outcome: None
) -> Outcome | None:
    """Return the outcome of the walk from the dimensions `at`, or None if they make no mould.

    `at` are the values of the columns that are dimensions, cm.
    """
    of, solver = lineup.columns, LinearSolver()
    middle = of.middle.copy()
    middle[of.mould] = at
    there = lineup.starting(middle)

    def stepped(peak: Peak) -> None:
        report(Outcome.of(lineup, peak.rows, peak.x))

    try:
        x, rows = first_start(there)
        peak = walk(there.engine(solver), x, of.mould, rows, stepped)
    except UnbuildableError:
        return None
    return Outcome.of(lineup, peak.rows, peak.x, solver.solved)


def start_points(lineup: Lineup, how: Starts) -> Iterator[Array]:
    """Yield the dimensions to start from: the scenario's own, then a scrambled Sobol sequence."""
    from scipy.stats import qmc  # noqa: PLC0415 - heavy: only where a mould is sought

    of = lineup.columns
    yield of.middle[of.mould]
    low, high = of.lower[of.mould], of.upper[of.mould]
    if how.count > 1 and len(low):
        size = int(np.ceil(np.log2(how.count)))
        points = qmc.Sobol(len(low), rng=how.seed).random_base2(size)
        yield from low + points[: how.count - 1] * (high - low)


@dataclass(frozen=True)
class Task:
    """A group of weights for a worker to search, in plain values."""

    written: Written
    chosen: Chosen
    group: int
    within: bool

    def from_start(self, start: tuple[int, Array]) -> Outcome | None:
        """Return the outcome of one start, given by its number and its dimensions."""
        return from_start(_lineup(self), start[1])


class _Last(threading.local):
    """The last task of a worker's thread, and its line-up with all that it has made."""

    task: Task | None = None
    lineup: Lineup | None = None


_last = _Last()


def _lineup(task: Task) -> Lineup:
    """Return the group of weights of a task."""
    if _last.lineup is None or _last.task != task:
        lineup = groups(read_again(task.written, task.chosen))[task.group]
        _last.task, _last.lineup = task, replace(lineup, within=task.within)
    return _last.lineup


def poured(lineup: Lineup) -> Outcome:
    """Return the best densities for a given mould, with its walls among the margins."""
    solver = LinearSolver()
    rounds = search_rounds(lineup, lineup.columns.middle)
    best = best_found(lineup, solver, rounds)
    outcome = Outcome.of(lineup, lineup.rows(best.x), best.x, solver.solved)
    walls = still(lineup, best.x)
    if lineup.sought is None:
        return replace(outcome, level=min(outcome.level, walls))
    short = walls - lineup.sought.goal.keep
    return outcome if short >= 0.0 else replace(outcome, met=False, level=short)


def still(lineup: Lineup, x: Array) -> float:
    """Return the smallest margin at `x`, in tolerances, of those that nothing moves: the walls."""
    walls = [
        margin.slack / (margin.tolerance or TOUCH)
        for ball in lineup.balls(x)
        for margin in margins(ball)
        if not margin.movable and not margin.rule_only and (margin.tolerance or margin.slack < 0)
    ]
    return min(walls, default=np.inf)

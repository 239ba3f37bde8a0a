"""The search for a mould beside differential evolution and SLSQP, for so many seconds each.

One line of `moulds`, three weights and four free dimensions. Differential evolution asks for the
best densities of each mould, as in `moulds`; SLSQP gets densities, dimensions and the smallest
margin as its variables, with our own rows and their derivatives, from the search's own starts.
`make bench-moulds` is the long form.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from functools import lru_cache
from itertools import count
from typing import NamedTuple

import numpy as np
from benchmarks.measuring import Section, spent
from benchmarks.moulds import LINES, evolved, least_walls_only
from scipy.optimize import minimize

from optimizer.lineup.engine.linear_solver import Rows
from optimizer.lineup.moulds.starts import Outcome, Starts, from_start, groups, start_points
from optimizer.lineup.rows import Lineup
from optimizer.scenario import Scenario
from shared.errors import UnbuildableError

LINE, SECONDS, STARTS = "four", 30.0, 64
NEAR = 0.01
"""The share of the best margin found by any that counts as having it."""


class Mark(NamedTuple):
    """A margin, and what it took: processor time, and how often a line-up's rows were measured."""

    level: float
    seconds: float
    rows: int


class Race:
    """What one way has found so far: a mark for each better margin, and one for the end."""

    def __init__(self) -> None:
        self.start, self.rows, self.marks = 0.0, 0, [Mark(-np.inf, 0.0, 0)]

    def tell(self, level: float) -> None:
        """Note a margin. Raises TimeoutError when time is up."""
        if level > self.marks[-1].level:
            self.marks.append(self.mark(level))
        if time.process_time() - self.start > SECONDS:
            raise TimeoutError

    def mark(self, level: float) -> Mark:
        """Return the mark of a margin now."""
        return Mark(level, time.process_time() - self.start, self.rows)

    def run(self, search: Callable[[Scenario, Race], None], asked: Scenario) -> None:
        """Search until it ends or time is up, counting each time that rows are measured."""
        kept = Lineup.rows_of

        def counting(*arguments: object, **named: object) -> object:
            self.rows += 1
            return kept(*arguments, **named)

        Lineup.rows_of, self.start = counting, time.process_time()
        try:
            with suppress(TimeoutError):
                search(asked, self)
        finally:
            Lineup.rows_of = kept
        self.marks.append(self.mark(self.marks[-1].level))


def walked(asked: Scenario, race: Race) -> None:
    """Search by walks from the usual starts."""

    def told(outcome: Outcome) -> None:
        race.tell(outcome.level if outcome.met else -np.inf)

    (lineup,) = groups(asked)
    for at in start_points(lineup, Starts()):
        if (outcome := from_start(lineup, at, told)) is not None:
            told(outcome)


def by_slsqp(asked: Scenario, race: Race) -> None:
    """Search by SLSQP: maximise t where each margin is at least t and each other row is kept."""
    (lineup,) = groups(asked)
    of = lineup.columns

    @lru_cache(maxsize=4)
    def measured(x: tuple[float, ...]) -> Rows:
        rows = Rows.of(lineup.margin_rows(np.array(x)))
        outcome = Outcome.of(lineup, rows, np.array(x))
        race.tell(outcome.level if outcome.met else -np.inf)
        return rows

    def sides(z: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return what is to be at least 0, in tolerances, and its derivatives."""
        rows = measured(tuple(z[:-1].tolist()))
        scale = np.where(rows.margin, 1 / np.where(rows.margin, rows.tolerance, 1.0), 1.0)
        matrix = np.column_stack([rows.matrix, -rows.tolerance]) * scale[:, None]
        low, high = np.isfinite(rows.lower), np.isfinite(rows.upper) & ~rows.margin
        value = matrix @ z
        return (
            np.r_[(value - rows.lower * scale)[low], (rows.upper * scale - value)[high]],
            np.vstack([matrix[low], -matrix[high]]),
        )

    for at in start_points(lineup, Starts(count=STARTS)):
        x = of.middle.copy()
        x[of.mould] = at
        with suppress(UnbuildableError), least_walls_only():  # a row for each wall: always so many
            minimize(
                lambda z: -z[-1],
                np.append(x, 0.0),
                jac=lambda z: -np.eye(len(z))[-1],
                method="SLSQP",
                bounds=[*zip(of.lower, of.upper, strict=True), (-1e3, 1e3)],
                constraints={
                    "type": "ineq",
                    "fun": lambda z: sides(z)[0],
                    "jac": lambda z: sides(z)[1],
                },
            )


def by_evolution(asked: Scenario, race: Race) -> None:
    """Search by differential evolution."""
    for seed in count(1):
        evolved(asked, 10**6, seed, race.tell)


WAYS: dict[str, Callable[[Scenario, Race], None]] = {
    "samespin, 8 starts": walked,
    "differential evolution": by_evolution,
    "SLSQP": by_slsqp,
}


def sections() -> Iterator[Section]:
    """Yield the table."""
    asked, races = LINES[LINE](), {name: Race() for name in WAYS}
    for name, race in races.items():
        race.run(WAYS[name], asked)
    best = max(race.marks[-1].level for race in races.values())
    rows = []
    for name, race in races.items():
        near = next((mark for mark in race.marks if mark.level >= best - NEAR * abs(best)), None)
        to = (spent(near.seconds), str(near.rows)) if near else ("never",) * 2
        end = race.marks[-1]
        rows.append((name, f"{end.level:.4f}", *to, spent(end.seconds), str(end.rows)))
    yield Section(
        f"The search for a mould: {len(asked.classes)} weights, {len(asked.free)} free dimensions",
        ("way", "best margin", f"time to {1 - NEAR:.0%}", "evaluations", "time", "evaluations"),
        rows,
        f"Margins in tolerances; {SECONDS:.0f} s each at most. An evaluation measures the line.",
    )

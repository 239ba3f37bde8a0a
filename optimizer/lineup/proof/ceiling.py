"""How much room any line-up can have: an upper bound on its smallest margin, in tolerances.

Walls of a given mould aren't among the margins: no density moves them.

In every box a program raises the smallest margin over the rows of the outer relaxation; by weak
duality its duals bound it. The box with the highest bound is split first.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import partial
from itertools import count
from math import inf

import numpy as np

from optimizer.lineup.engine.linear_solver import LinearSolver, Optimum, Rows
from optimizer.lineup.margins import deviations
from optimizer.lineup.proof.affine import ProofRow
from optimizer.lineup.proof.boxes import LineupBox, Node
from optimizer.lineup.proof.duality import asked_beyond, multipliers
from optimizer.lineup.proof.proof import Relaxation
from optimizer.lineup.result import LineupResult
from optimizer.lineup.rows import Lineup
from optimizer.lineup.target_rows import PRICE
from shared import activity
from shared.arrays import Array

CLOSED = 1e-6
"""Tolerances: a bound no farther above the line-up that was found proves it the best."""
SPARE = 3e-7
"""Tolerances by which a bound is raised, for the error of moments."""
SHORT = (1e-5, 1e-4, 1e-3, 1e-2)
"""Tolerances by which a line-up is tried to be nearer to its target; the first that is proven
impossible is told."""
BUDGET = 300
"""Boxes split before a bound is told as it stands..."""
OFF_AXIS = 40
"""...and off the pin axis, where each takes several times as long."""


class Room(Relaxation):
    """The question how much room a line-up can have beyond `level`, which one has."""

    def ceiling(self, budget: int = BUDGET) -> float:
        """Return a level that no line-up exceeds, in tolerances; inf where none is proven."""
        reached, number, highest = self.level, count(), -inf
        box, node = self.start
        above, optimum = self._above(box, node)
        waiting = [(-above, next(number), box, node, optimum.x)]
        for looked in range(budget):
            above, _, box, node, x = waiting[0]
            if -above <= CLOSED:
                break
            heapq.heappop(waiting)
            activity.at(f"{', '.join(self.lineup.labels)}: bounding, box {looked} of {budget}")
            parts = self.split(box, node, x)
            highest = highest if parts else max(highest, -above)
            for part in parts:
                above, optimum = self._above(*part)
                heapq.heappush(waiting, (-above, next(number), *part, optimum.x))
            if not waiting:
                break
        highest = max([highest, *(-above for above, *_ in waiting)])
        self.level = reached + max(highest, 0.0) + SPARE
        return self.level if self.holds else inf

    def _above(self, box: LineupBox, node: Node) -> tuple[float, Optimum]:
        """Return how far above `level` the smallest margin can be in a box, and where."""
        every, bounds = list(self.outer.rows(box)), self.outer.bounds(box)
        stacked = Rows.of(every)
        raised = np.array([_raised(row) for row in every])
        price = np.where(raised, inf, PRICE)
        program = Rows(stacked.matrix, stacked.lower, stacked.upper, 1.0 * raised, price)
        optimum = self.solver.best(program, *bounds)
        y = multipliers(program, optimum.duals)
        self._leaf(node, every, y, partial(self._above, box, node))
        beyond, share = asked_beyond(program, y, *bounds), float(np.sum(y[raised]))
        if share > 0.0:
            return -beyond / share, optimum
        return -inf if beyond > 0.0 else inf, optimum


def _raised(row: ProofRow) -> bool:
    """Whether it is the row of a limit that is to have room."""
    of = row.name.of
    return not isinstance(of, str) and of.side != "both" and of.tolerance is not None


@dataclass(frozen=True, eq=False)
class Ceiling:
    """What is proven of a group of coupled weights, in tolerances, by a `relaxation`.

    Exactly on target: the densities that were found have a smallest margin of `reached` before they
    are rounded, and none have more than `level`; inf where nothing is proven. `within` tolerance:
    they miss a target by `reached` at most, and none miss every target by less than `level`; 0
    where nothing is proven.
    """

    relaxation: Relaxation
    within: bool
    reached: float
    level: float


def ceilings(result: LineupResult, solver: LinearSolver) -> Iterator[Ceiling]:
    """Yield what is proven of each group of weights."""
    for group in result.groups:
        lineup, x = group.lineup, group.x
        if group.status == "feasible":
            reached = float(np.min(lineup.rows(x).levels(x), initial=inf))
            if reached < inf:
                room = Room(lineup, solver, reached)
                level = room.ceiling(BUDGET if room.outer.aligned else OFF_AXIS)
                yield Ceiling(room, within=False, reached=reached, level=level)
        elif group.status == "within_tolerance":
            yield _nearest(lineup, x, solver)


def _nearest(lineup: Lineup, x: Array, solver: LinearSolver) -> Ceiling:
    """Return how near to its target any line-up can be, at least."""
    figures = lineup.columns.target(x)
    every = (off for ball in lineup.balls(x) for off in deviations(ball, figures))
    reached = max(abs(off.tolerances or 0.0) for off in every)
    for short in SHORT:
        level = max(0.0, reached - short)
        nearer = Relaxation(replace(lineup, within=True), solver, share=level)
        if nearer.verdict().proven:
            break
        level = 0.0
    return Ceiling(nearer, within=True, reached=reached, level=level)

"""How much room any line-up can have: an upper bound on its smallest margin, in tolerances.

Walls of a given mould aren't among the margins: no density moves them.

In every box a program raises the smallest margin over the rows of the outer relaxation; by weak
duality its duals bound it. The box with the highest bound is split first.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass
from functools import partial
from itertools import count
from math import inf

import numpy as np

from optimizer.lineup.engine.linear_solver import LinearSolver, Optimum, Rows
from optimizer.lineup.proof.affine import ProofRow
from optimizer.lineup.proof.boxes import LineupBox
from optimizer.lineup.proof.proof import Node, Relaxation, asked_beyond, multipliers
from optimizer.lineup.result import LineupResult
from optimizer.lineup.target_rows import PRICE
from shared import activity

CLOSED = 1e-6
"""Tolerances: a bound no farther above the line-up that was found proves it the best."""
SPARE = 3e-7
"""Tolerances by which a bound is raised, for the error of moments."""
BUDGET = 300
"""Boxes split before a bound is told as it stands."""


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
    """What is proven of the room of a group of coupled weights, in tolerances.

    The densities that were found have `reached` before they are rounded, and none have more than
    `level`: inf where nothing is proven.
    """

    room: Room
    reached: float
    level: float


def ceilings(result: LineupResult, solver: LinearSolver) -> list[Ceiling] | None:
    """Return a bound on the room of each group of weights whose parts stand on the pin axis.

    None where another group isn't exactly on target, or has no limit with a tolerance.
    """
    found = []
    for group in result.groups:
        lineup = group.lineup
        reached = float(np.min(lineup.rows(group.x).levels(group.x), initial=inf))
        aligned = all(linear_map.aligned for linear_map in lineup.maps)
        if group.status != "feasible" or not aligned or reached == inf:
            return None
        room = Room(lineup, solver, reached)
        found.append(Ceiling(room, reached, room.ceiling()))
    return found or None

"""Proof that a line-up can't be: boxes of line-ups are split until each is proven empty.

A box is empty if no point breaks the rows of its outer relaxation by less than PROVEN in total: the
least total break is a linear program, and the duals at its optimum are the proof.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.lineup.engine.linear_solver import LinearSolver, Rows
from optimizer.lineup.proof.boxes import SYMMETRIC, LineupBox
from optimizer.lineup.proof.relaxation import Outer
from optimizer.lineup.rows import ORDERS, Lineup
from shared.arrays import Array
from shared.tolerances import SOLVER

PROVEN = 1e-6
"""Total break of the rows (in cm², ratios of weight and tolerances) that no rounding explains."""
TIGHT = 1e-7
"""cm². A relaxation whose columns are within this of what they stand for is no relaxation."""
BUDGET = 400
"""Boxes looked at before the question is left undecided."""
BEYOND = 1e-6
"""cm by which a range of c is taken wider than it was found to be."""


@dataclass(frozen=True, eq=False)
class Verdict:
    """Whether it is `proven` that no line-up exists, and after how many boxes.

    `points` are densities that the relaxation allows, to start from.
    """

    proven: bool
    boxes: int
    points: tuple[Array, ...]


class Relaxation:
    """The question whether a line-up can be, asked of ever smaller boxes."""

    def __init__(self, lineup: Lineup, solver: LinearSolver) -> None:
        self.lineup, self.solver, self.outer = lineup, solver, Outer(lineup)

    def verdict(self) -> Verdict:
        """Return whether the line-up is proven impossible, within the budget of boxes."""
        boxes, looked, points = [self.whole()], 0, []
        while boxes and looked < BUDGET:
            box = boxes.pop()
            looked += 1
            rows, bounds = Rows.of(list(self.outer.rows(box))), self.outer.bounds(box)
            optimum = self.solver.best(rows, *bounds)
            if _least_break(rows, optimum.duals, *bounds) > PROVEN:
                continue
            points.append(optimum.x[: self.outer.n])
            parts = self.split(box, optimum.x)
            boxes += parts or (box,)
            if not parts:
                break
        return Verdict(not boxes, looked, tuple(points[-3:]))

    def whole(self) -> LineupBox:
        """Return the box of all line-ups; on the way, balls whose CG is above and below centre."""
        outer, maps = self.outer, self.lineup.maps
        rg, differential, inner = ((span.low, span.high) for span in outer.spans)
        wide = (-np.inf, np.inf)
        box = LineupBox((wide,) * len(maps), (None,) * len(maps), (rg, differential, inner))
        ranges = []
        for k in range(len(maps)):
            rows, reach = [outer.weight_row(k), *outer.limit_rows(k, wide)], []
            for axis in (2,) if outer.aligned else (0, 1, 2):  # the pin axis last
                ends = []
                for sign in (-1.0, 1.0):
                    end, x = self._farthest(k, sign * outer.first(k, axis).row, rows, box)
                    ends.append(end + BEYOND)
                    outer.reference[k, sign] = x[: outer.n]
                reach.append(max(ends))
            ranges.append((-ends[0], ends[1]))
            outer.farthest[k] = float(np.sum(np.square(reach)))
        return replace(box, c=tuple(ranges))

    def _farthest(
        self, k: int, first: Array, rows: list[LinearRow], box: LineupBox
    ) -> tuple[float, Array]:
        """Return how far along an axis the CG of class `k` can be, cm, and a ball of that.

        The greatest quotient of two linear figures, `first` and the mass, by Dinkelbach's method
        (1967; from memory): from below, and what is left of first − c · mass bounds what is beyond.
        No density is negative, so that no CG lies outside the ball.
        """
        mass, c = self.outer.mass[k].row, -self.lineup.maps[k].radius
        while True:
            beyond = first - c * mass
            far = LinearRow(Name("far"), beyond, 1e3, np.inf, price=1e-3)
            x = self.solver.best(Rows.of([*rows, far]), *self.outer.bounds(box)).x
            left = max(0.0, float(beyond @ x))
            end, c = c + left / self.outer.masses[k][0], float(first @ x) / float(mass @ x)
            if float(np.sum(Rows.of(rows).broken(x))) > SOLVER:
                return self.lineup.maps[k].radius, x
            if end - c <= BEYOND:
                return end, x

    def split(self, box: LineupBox, x: Array) -> tuple[LineupBox, ...]:
        """Return smaller boxes that make up `box`, or none when there is nothing to split.

        The side of the CG first, then the order of axes, then what is farthest, at the columns `x`,
        from what it stands for.
        """
        outer, maps = self.outer, self.lineup.maps
        if not outer.aligned:
            return ()
        for k, (a, b) in enumerate(box.c):
            if a < 0.0 < b:
                return box.parted(k, 0.0)
        for k, linear_map in enumerate(maps):
            if box.orders[k] is None:
                return tuple(
                    box.with_order(k, o) for o in (SYMMETRIC if linear_map.symmetric else ORDERS)
                )
        masses = np.array([outer.mass[k].row @ x for k in range(len(maps))])
        first = np.array([outer.first(k).row @ x for k in range(len(maps))])
        p = x[outer.n : outer.n + len(maps)]
        curved = np.array([linear_map.about == "cg" for linear_map in maps])
        gaps = np.where(curved, np.abs(p / masses - (first / masses) ** 2), 0.0)
        i, loose = self._loose(box, x, masses)
        if max(float(np.max(gaps)), loose) <= TIGHT:
            return ()
        if loose >= np.max(gaps):
            return box.halved(i)
        k = int(np.argmax(gaps))
        return box.parted(k, sum(box.c[k]) / 2)

    def _loose(self, box: LineupBox, x: Array, masses: Array) -> tuple[int, float]:
        """Return which figure of the line to split, and how far classes are off it (cm²) at `x`.

        A difference that its own range does not hold is off because the RGs' ranges are wide.
        """
        outer = self.outer
        radii = np.array([
            [np.sqrt(max(0.0, float(outer.inertias[k][a][0].row @ x))) for a in order or ()]
            for k, order in enumerate(box.orders)
        ]) / np.sqrt(masses)[:, None]  # fmt: skip
        low, middle, high = radii.T
        widths = [b - a for a, b in box.figures]
        found = [(0, 0.0)]
        for i, values in enumerate((low, high - low, high - middle)[: 2 + outer.asked]):
            (a, b), off = box.figures[i], outer.tolerances[i]
            shared = float(np.clip((np.min(values) + np.max(values)) / 2, a, b))
            beyond = float(np.max(np.abs(values - shared))) - off
            outside = max(a - off - float(np.min(values)), float(np.max(values)) - b - off)
            j = i if outside <= 0.0 else int(np.argmax(widths[: max(i, 1)]))
            j = j if widths[j] > 0.0 else int(np.argmax(widths))
            if widths[j] > 0.0:
                found.append((j, 2.0 * beyond * float(np.max(high))))
        return max(found, key=lambda pair: pair[1])


def _least_break(rows: Rows, duals: Array, lower: Array, upper: Array) -> float:
    """Return a total by which every point between `lower` and `upper` breaks the rows, or more.

    By weak duality it holds for any multipliers of at most 1 in size, so that it rests on no
    tolerance of the solver that found them.
    """
    ends = np.where(duals > 0.0, rows.lower, rows.upper)
    held = np.isfinite(ends) & (duals != 0.0)
    y, ends = np.where(held, np.clip(duals, -1.0, 1.0), 0.0), np.where(held, ends, 0.0)
    slope = y @ rows.matrix
    return float(y @ ends - np.sum(np.maximum(slope * lower, slope * upper)))

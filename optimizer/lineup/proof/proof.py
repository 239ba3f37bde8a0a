"""Proof that no line-up exists: boxes of line-ups are split until each is proven empty.

A box is empty if every point violates the rows of its outer relaxation by PROVEN or more in total.
The least total violation is a linear program, and the duals at its optimum are the proof.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.lineup.engine.linear_solver import LinearSolver, Rows
from optimizer.lineup.proof.boxes import SYMMETRIC, LineupBox
from optimizer.lineup.proof.relaxation import Outer
from optimizer.lineup.rows import Lineup
from optimizer.lineup.target_rows import ORDERS
from shared import activity
from shared.arrays import Array
from shared.tolerances import SOLVER

PROVEN = 1e-6
"""Total violation of the rows (cm², ratios of weight, tolerances) that rounding can't explain."""
TIGHT = 1e-7
"""cm². If its columns are this close to what they stand for, a relaxation is exact."""
BUDGET = 400
"""Boxes examined before the question is left undecided."""
FIRST = 16
"""Boxes examined before anything is searched within tolerance: where a target is far out of reach,
they are enough."""
EARLY = 100
"""Boxes examined before a search tries more than its first starts; most proofs take fewer."""
BEYOND = 1e-6
"""cm by which a computed range of c is widened."""


@dataclass(frozen=True, eq=False)
class Verdict:
    """Whether it is `proven` that no line-up exists, and after how many boxes.

    `points` are densities that the relaxation allows, as starts for a search.
    """

    proven: bool
    boxes: int
    points: tuple[Array, ...]


class Relaxation:
    """The question whether a line-up exists, asked of smaller and smaller boxes."""

    def __init__(self, lineup: Lineup, solver: LinearSolver) -> None:
        self.lineup, self.solver, self.outer = lineup, solver, Outer(lineup)
        self._boxes, self._looked, self._points = [self.whole()], 0, list[Array]()

    def verdict(self, budget: int = BUDGET) -> Verdict:
        """Return whether the line-up is proven impossible within the budget of boxes.

        Asked again, it goes on where it stopped.
        """
        boxes, labels = self._boxes, ", ".join(self.lineup.labels)
        while boxes and self._looked < budget:
            box = boxes.pop()
            self._looked += 1
            activity.at(f"{labels}: proving, box {self._looked} of at most {budget}")
            rows, bounds = Rows.of(list(self.outer.rows(box))), self.outer.bounds(box)
            optimum = self.solver.best(rows, *bounds)
            if _least_break(rows, optimum.duals, *bounds) > PROVEN:
                continue
            self._points.append(optimum.x[: self.outer.n])
            parts = self.split(box, optimum.x)
            boxes += parts or (box,)
            if not parts:
                break
        return Verdict(not boxes, self._looked, tuple(self._points[-3:]))

    def whole(self) -> LineupBox:
        """Return the box of all line-ups, and balls with the CG far above and below the centre."""
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
            least, most = outer.offset[0] * outer.aligned, outer.offset[1]
            a, b = max(-ends[0], -most), min(ends[1], most)
            ranges.append((max(a, least) if a >= 0.0 else a, min(b, -least) if b <= 0.0 else b))
            outer.farthest[k] = min(float(np.sum(np.square(reach))), most**2)
        return replace(box, c=tuple(ranges))

    def _farthest(
        self, k: int, first: Array, rows: list[LinearRow], box: LineupBox
    ) -> tuple[float, Array]:
        """Return how far along an axis the CG of class `k` can be, cm, and a ball with it there.

        The greatest quotient of two linear figures, `first` and the mass, by Dinkelbach's method
        (1967; from memory): c rises from below, and first − c · mass bounds what remains.
        Densities aren't negative, so no CG lies outside the ball.
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
        """Return smaller boxes that cover `box`, or none if there is nothing to split.

        First the side of the CG, then the order of axes, then the column that is farthest, at `x`,
        from the quantity it stands for.
        """
        outer, maps = self.outer, self.lineup.maps
        if not outer.aligned:
            return ()
        for k, (a, b) in enumerate(box.c):
            if a < 0.0 < b:
                return box.parted(k, 0.0, outer.offset[0])
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
        """Return the line's figure to split, and how far classes are off it (cm²) at `x`.

        A difference that its own range does not hold is off because the RGs' ranges are wide.
        """
        outer = self.outer
        radii = np.array([
            [np.sqrt(max(0.0, float(outer.inertias[k][a][0].row @ x))) for a in order or ()]
            for k, order in enumerate(box.orders)
        ]) / np.sqrt(masses)[:, None]  # fmt: skip
        low, middle, high = radii.T
        widths = [b - a for a, b in box.figures]
        loosest = [(0, 0.0)]
        for i, values in enumerate((low, high - low, high - middle)[: 2 + outer.asked]):
            (a, b), off = box.figures[i], outer.tolerances[i]
            shared = float(np.clip((np.min(values) + np.max(values)) / 2, a, b))
            beyond = float(np.max(np.abs(values - shared))) - off
            outside = max(a - off - float(np.min(values)), float(np.max(values)) - b - off)
            j = i if outside <= 0.0 else int(np.argmax(widths[: max(i, 1)]))
            j = j if widths[j] > 0.0 else int(np.argmax(widths))
            if widths[j] > 0.0:
                loosest.append((j, 2.0 * beyond * float(np.max(high))))
        return max(loosest, key=lambda pair: pair[1])


def _least_break(rows: Rows, duals: Array, lower: Array, upper: Array) -> float:
    """Return a lower bound on the total violation of the rows at any point of the box.

    By weak duality it holds for any multipliers of size at most 1, so it doesn't depend on the
    tolerances of the solver that found them.
    """
    ends = np.where(duals > 0.0, rows.lower, rows.upper)
    held = np.isfinite(ends) & (duals != 0.0)
    y, ends = np.where(held, np.clip(duals, -1.0, 1.0), 0.0), np.where(held, ends, 0.0)
    slope = y @ rows.matrix
    return float(y @ ends - np.sum(np.maximum(slope * lower, slope * upper)))

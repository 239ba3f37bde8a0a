"""Proof that a line-up can't be: an outer relaxation that holds every ball there is.

For any direction n the inertia about n lies between the low and the high principal inertia. Where
all parts sit on the pin axis, x, y and z are the principal axes, and which of them is low and which
is high is tried one by one. What isn't linear in the densities gets a column of its own:

    q = c²        about the CG: I⊥ = I⊥(centre) − m q.   2 c₀ c − c₀² ≤ q ≤ (c₁ + c₂) c − c₁ c₂
    u = RG², v    for a free target: v = (√u + d)², concave in u. Under its tangents at the largest
                  d, over its secant at the smallest.

Boxes of c and u are split until each is proven empty, or the budget is spent. Empty means that no
point breaks the rows by less than PROVEN in total: the least total break is itself a linear
program, and the duals at its optimum are the proof.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from optimizer.limits.intermediate_differential import INTERMEDIATE_MOST
from optimizer.linear.maps import LinearMap
from optimizer.linear.rows import LinearRow
from optimizer.linear.targets import Span
from optimizer.lineup.margins import margins
from optimizer.lineup.rows import ORDERS, Lineup
from optimizer.lineup.solve import LinearSolver, Rows
from shared.arrays import Array
from shared.tolerances import SOLVER

PROVEN = 1e-6
"""Total break of the rows (in cm², ratios of weight and tolerances) that no rounding explains."""
CENTRED = 1e-6
"""cm. A CG that is nearer to the centre has no side."""
TIGHT = 1e-7
"""cm². A relaxation whose columns are within this of what they stand for is no relaxation."""
BUDGET = 400
"""Boxes looked at before the question is left undecided."""

Axes = tuple[int, int, int]
"""Which of x, y, z (0, 1, 2) has the low, the intermediate and the high RG."""

SYMMETRIC: tuple[Axes, ...] = ((2, 0, 1), (0, 1, 2))
"""Of a core that is the same about x and y: the pin axis is low, or it is high."""


@dataclass(frozen=True)
class Box:
    """A set of line-ups: per class the range of c along the pin (cm) and the order of axes.

    An order is None while it is undecided. `u` is the range of RG², cm².
    """

    c: tuple[tuple[float, float], ...]
    orders: tuple[Axes | None, ...]
    u: tuple[float, float]


@dataclass(frozen=True, eq=False)
class Verdict:
    """Whether it is `proven` that no line-up exists, and after how many boxes.

    `points` are densities that the relaxation allows, to start from.
    """

    proven: bool
    boxes: int
    points: tuple[Array, ...]


class Relaxation:
    """The outer relaxation of one line-up. Columns: densities, q and s of each class, u, v, w.

    Densities are those of the ball scaled to the class weight by s, which is 1 where the weight is
    given: RGs don't change with the scale, and a limit on a density is a limit on ρ · s.
    """

    def __init__(self, lineup: Lineup, solver: LinearSolver) -> None:
        self.lineup, self.solver = lineup, solver
        self.aligned = all(one.aligned for one in lineup.maps)
        self.n = lineup.columns.figures
        self.count = self.n + 2 * len(lineup.maps) + 3
        target = lineup.maps[0].target
        if target is None:
            raise ValueError("a line-up without a target has nothing to prove")
        self.target = target
        self.reference: dict[tuple[int, float], Array] = {}
        self.farthest: dict[int, float] = {}

    def verdict(self) -> Verdict:
        """Return whether the line-up is proven impossible, within the budget of boxes.

        Several classes of which one has no weight given are left undecided: a density that they
        share has not one scale.
        """
        maps = self.lineup.maps
        if len(maps) > 1 and not all(one.weighed for one in maps):
            return Verdict(proven=False, boxes=0, points=())
        boxes, looked, points = [self._whole()], 0, []
        while boxes and looked < BUDGET:
            box = boxes.pop()
            looked += 1
            rows, bounds = Rows.of(list(self._rows(box))), self._bounds(box)
            optimum = self.solver.best(rows, *bounds)
            if _least_break(rows, optimum.duals, *bounds) > PROVEN:
                continue
            points.append(optimum.x[: self.n] / optimum.x[self.n + len(maps)])
            parts = self._split(box, optimum.x)
            if not parts:
                break
            boxes += parts
        else:
            return Verdict(not boxes, looked, tuple(points[-3:]))
        return Verdict(proven=False, boxes=looked, points=tuple(points[-3:]))

    def _whole(self) -> Box:
        """Return the box of all line-ups; on the way, balls whose CG is above and below centre."""
        low, high = self.target.rg.low, self.target.rg.high
        wide = ((-np.inf, np.inf),) * len(self.lineup.maps)
        box = Box(wide, (None,) * len(self.lineup.maps), (low**2, high**2))
        ranges = []
        for k, one in enumerate(self.lineup.maps):
            outermost = one.radius  # no density is negative: no CG lies outside the ball
            rows = [r for r in self._limit_rows(box) if r.label.startswith(f"{one.label}:")]
            rows.append(self._weight(k, one))
            reach = []
            for axis in (2,) if self.aligned else (0, 1, 2):  # the pin axis last
                ends = []
                for sign in (-1.0, 1.0):
                    row = sign * self._first(k, one, axis)
                    far = LinearRow("far", row, 1e3, np.inf, price=1e-3)
                    x = self.solver.best(Rows.of([*rows, far]), *self._bounds(box)).x
                    kept = float(np.sum(Rows.of(rows).broken(x))) <= SOLVER
                    ends.append(float(row @ x) + 1e-6 if kept else outermost)
                    self.reference[k, sign] = x[: self.n]
                reach.append(max(ends))
            ranges.append((-ends[0], ends[1]))
            self.farthest[k] = float(np.sum(np.square(reach)))
        return replace(box, c=tuple(ranges))

    def _bounds(self, box: Box) -> tuple[Array, Array]:
        """Return the box of the columns.

        0 ≤ low RG ≤ intermediate RG ≤ high RG, whatever is asked of their differences.
        """
        columns, target = self.lineup.columns, self.target
        q = [
            max(a * a, b * b) if self.aligned else self.farthest.get(k, np.inf)
            for k, (a, b) in enumerate(box.c)
        ]
        low, high = (float(np.sqrt(u)) for u in box.u)
        near, far = target.differential.low, target.differential.high
        inner = target.intermediate or Span(0.0, far)
        v = ((low + near) ** 2, (high + far) ** 2)
        w = (max(low, low + near - inner.high) ** 2, max(0.0, high + far - inner.low) ** 2)
        s = [self._scales(k, one) for k, one in enumerate(self.lineup.maps)]
        least, widest = min(low for low, _ in s), max(high for _, high in s)
        lower = [*columns.lower[: self.n] * least, *np.zeros(len(q)), *(low for low, _ in s)]
        upper = [*columns.upper[: self.n] * widest, *q, *(high for _, high in s)]
        lower += [box.u[0], v[0], w[0]]
        upper += [box.u[1], v[1], w[1]]
        return np.array(lower), np.array(upper)

    def _scales(self, k: int, one: LinearMap) -> tuple[float, float]:
        """Return how much lighter and how much heavier than its class weight a ball may have been.

        Where the weight is not asked for: as far as the densities of solids go.
        """
        ends = (self.lineup.columns.upper, self.lineup.columns.lower)
        lightest, heaviest = (
            one.mass / float(one.volumes @ self.lineup.columns.densities(k, x)) for x in ends
        )
        return (1.0, 1.0) if one.weighed else (lightest, heaviest)

    def _rows(self, box: Box) -> Iterator[LinearRow]:
        """Yield rows that every line-up in `box` satisfies."""
        yield from self._limit_rows(box)
        yield from self._target_rows(box)
        for k, one in enumerate(self.lineup.maps):
            yield self._weight(k, one)
            yield from self._cg_rows(k, one, box.c[k])
            yield from self._axis_rows(k, one, box.orders[k])

    def _row(self, k: int, by_density: Array, **more: float) -> Array:
        row = np.zeros(self.count)
        row[: self.n] = self.lineup.columns.scatter(k, by_density)[: self.n]
        for name, value in more.items():
            scale = self.n + len(self.lineup.maps) + k
            row[{"q": self.n + k, "s": scale, "u": -3, "v": -2, "w": -1}[name]] = value
        return row

    def _first(self, k: int, one: LinearMap, axis: int = 2) -> Array:
        """Return the row of c along an axis (2: the pin's), cm, at the class weight."""
        return self._row(k, one.moments[:, axis, 3] / one.mass)

    def _weight(self, k: int, one: LinearMap) -> LinearRow:
        return LinearRow("weight", self._row(k, one.volumes / one.mass), 1.0, 1.0, price=1.0)

    def _limit_rows(self, box: Box) -> Iterator[LinearRow]:
        """Yield the limits that are linear over the box; the others are left out, which is safe.

        The imbalance of an aligned ball is linear as long as its CG stays on one side. There it is
        measured, and not at all where no ball's CG is truly there.
        """
        middle = self.lineup.columns.middle[: self.n]
        for k, one in enumerate(self.lineup.maps):
            side = 1.0 if box.c[k][0] >= 0.0 else -1.0 if box.c[k][1] <= 0.0 else 0.0
            x = self.reference.get((k, side), middle)
            if side * float(self._first(k, one)[: self.n] @ x) <= CENTRED:
                side = 0.0
            for one_density, pour in zip(np.eye(len(one.pours)), one.pours, strict=True):
                if pour.fixed and not one.weighed:
                    row = self._row(k, one_density, s=-pour.low)
                    yield LinearRow(f"{one.label}: {pour.part} fixed", row, 0.0, 0.0, price=1.0)
            for margin in margins(
                one.ball(self.lineup.columns.densities(k, x)), self.lineup.limits
            ):
                curved = margin.quantity == "rg" or (
                    margin.quantity != "density" and (side == 0.0 or not self.aligned)
                )
                if curved or margin.gradient is None or margin.rule_only:
                    continue
                unit = margin.tolerance or 1.0
                row = self._row(k, margin.gradient / unit)
                lower = float(row[: self.n] @ x) - margin.slack / unit
                row = self._row(k, margin.gradient / unit, s=-lower)
                yield LinearRow(f"{one.label}: {margin.limit}", row, 0.0, np.inf, price=1.0)

    def _target_rows(self, box: Box) -> Iterator[LinearRow]:
        """Yield what ties v to u: tangents above, a secant below. At u = 0 there is no tangent."""
        (u1, u2), span = box.u, self.target.differential
        if u1 == u2:
            return
        for u in (u for u in (u1, (u1 + u2) / 2, u2) if u > 0.0):
            slope = 1.0 + span.high / np.sqrt(u)
            row = np.zeros(self.count)
            row[-3], row[-2] = slope, -1.0
            lower = slope * u - (np.sqrt(u) + span.high) ** 2
            yield LinearRow("v over u", row, lower, np.inf, price=1.0)
        ends = [(np.sqrt(u) + span.low) ** 2 for u in (u1, u2)]
        slope = (ends[1] - ends[0]) / (u2 - u1)
        row = np.zeros(self.count)
        row[-3], row[-2] = -slope, 1.0
        yield LinearRow("v over u", row, ends[0] - slope * u1, np.inf, price=1.0)

    def _cg_rows(self, k: int, one: LinearMap, c: tuple[float, float]) -> Iterator[LinearRow]:
        """Yield what ties q to c."""
        if not self.aligned:
            return
        along, (a, b) = self._first(k, one), c
        yield LinearRow("c", along, a, b, price=1.0)
        q = self._row(k, np.zeros(len(one.pours)), q=1.0)
        for at in (a, (a + b) / 2, b):
            yield LinearRow("q", q - 2.0 * at * along, -(at**2), np.inf, price=1.0)
        yield LinearRow("q", (a + b) * along - q, a * b, np.inf, price=1.0)

    def _axis_rows(self, k: int, one: LinearMap, order: Axes | None) -> Iterator[LinearRow]:
        """Yield inertia / m ≥ u and ≤ v about every axis, equal where the order is decided."""
        about_cg = 1.0 if one.about == "cg" else 0.0
        for a, n in enumerate(self._directions(k, one)):
            P = np.zeros((4, 4))
            P[:3, :3] = np.eye(3) - np.outer(n, n)
            inertia, level = one.pull(P) / one.mass, about_cg * float(not self.aligned or a < 2)
            if order is not None and a == order[0]:
                yield LinearRow("low", self._row(k, inertia, q=-level, u=-1.0), 0.0, 0.0, price=1.0)
            elif order is not None and a == order[2]:
                yield LinearRow(
                    "high", self._row(k, inertia, q=-level, v=-1.0), 0.0, 0.0, price=1.0
                )
            else:
                exact = level * float(self.aligned)
                low = self._row(k, inertia, q=-exact, u=-1.0)
                yield LinearRow("over low", low, 0.0, np.inf, price=1.0)
                high = self._row(k, inertia, q=-level, v=-1.0)
                yield LinearRow("under high", high, -np.inf, 0.0, price=1.0)
                if order is not None and self.target.intermediate is not None:
                    middle = self._row(k, inertia, q=-level, w=-1.0)
                    yield LinearRow("intermediate", middle, 0.0, 0.0, price=1.0)
                if order is not None:
                    yield from self._near_high(k, one, self._row(k, inertia, q=-level))

    def _near_high(self, k: int, one: LinearMap, middle: Array) -> Iterator[LinearRow]:
        """Yield what a limit on high − intermediate RG says of `middle`, the intermediate RG².

        It is at least max(√v − limit, 0)², convex in v: its tangents lie below.
        """
        rg, differential = self.target.rg, self.target.differential
        least, most = rg.low + differential.low, rg.high + differential.high
        columns = self.lineup.columns
        ball = one.ball(columns.densities(k, columns.middle))
        for margin in margins(ball, self.lineup.limits):
            if margin.limit == INTERMEDIATE_MOST:
                for high in (least, (least + most) / 2, most):
                    if high <= margin.bound:
                        continue
                    row = middle + self._row(k, np.zeros(len(one.pours)), v=margin.bound / high - 1)
                    lower = -margin.bound * (high - margin.bound)
                    yield LinearRow("near high", row, lower, np.inf, price=1.0)

    def _directions(self, k: int, one: LinearMap) -> Array:
        if self.aligned:
            return np.eye(3)
        columns = self.lineup.columns
        middle = one.ball(columns.densities(k, columns.middle))
        return np.vstack([np.eye(3), middle.radii.axes.T])

    def _split(self, box: Box, x: Array) -> list[Box]:
        """Return smaller boxes that make up `box`, or none when there is nothing to split.

        The side of the CG first, then the order of axes, then what is farthest from what it stands
        for.
        """
        if not self.aligned:
            return []
        gaps = []
        for k, one in enumerate(self.lineup.maps):
            a, b = box.c[k]
            if a < 0.0 < b:
                return [self._with_c(box, k, c) for c in ((a, 0.0), (0.0, b))]
            c = float(self._first(k, one) @ x)
            gaps.append(abs(float(x[self.n + k]) - c**2) if one.about == "cg" else 0.0)
        for k, one in enumerate(self.lineup.maps):
            if box.orders[k] is None:
                choices = SYMMETRIC if one.symmetric else ORDERS
                return [self._with_order(box, k, order) for order in choices]
        u, v, span = float(x[-3]), float(x[-2]), self.target.differential
        ends = (np.sqrt(u) + span.low) ** 2, (np.sqrt(u) + span.high) ** 2
        loose = max(ends[0] - v, v - ends[1], 0.0) if box.u[0] < box.u[1] else 0.0
        if max(*gaps, loose) <= TIGHT:
            return []
        if loose >= max(gaps):
            middle = (box.u[0] + box.u[1]) / 2
            return [replace(box, u=(box.u[0], middle)), replace(box, u=(middle, box.u[1]))]
        k = int(np.argmax(gaps))
        a, b = box.c[k]
        return [self._with_c(box, k, c) for c in ((a, (a + b) / 2), ((a + b) / 2, b))]

    @staticmethod
    def _with_c(box: Box, k: int, c: tuple[float, float]) -> Box:
        return replace(box, c=(*box.c[:k], c, *box.c[k + 1 :]))

    @staticmethod
    def _with_order(box: Box, k: int, order: Axes) -> Box:
        return replace(box, orders=(*box.orders[:k], order, *box.orders[k + 1 :]))


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

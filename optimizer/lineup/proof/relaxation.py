"""The rows of an outer relaxation, which every line-up of a box satisfies.

They are homogeneous in the densities, so they hold for balls of any weight. m is a ball's mass, F
its first moment along the pin, c = F / m. The nonlinear p = F² / m has a column of its own: about
the CG, the inertia across the pin is that about the centre less p. A, B and C are the inertias
about the low, the high and the intermediate axis, m times RG squared.

    p over F, m   p ≥ 2 a F − a² m for any a;  p ≤ (a + b) F − a b m for a ≤ c ≤ b
    B over A, m   B = m (√(A/m) + d)², concave in A: tangents at the largest d, a chord at the least
    C over B, m   C = m (√(B/m) − d)², convex in B from √(B/m) = d on: the other way round

The figures that a line shares have columns as well: low, high and intermediate RG, squared.
McCormick's inequalities (1976; from memory) bound their products with m, and are equations if the
figure or the weight is given. Within tolerance, a class's own RGs lie in bands around them.

All parts sit on the pin axis: x, y and z are the principal axes, and a box says which of them is
low and which is high. (Off it, see `tilted`.)
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from functools import cached_property
from math import isfinite
from types import MappingProxyType

import numpy as np

from optimizer.ball.figures import (
    DENSITY,
    INTERMEDIATE_DIFFERENTIAL,
    PIN_DISTANCE,
    RADII,
    TOP_WEIGHT,
    WEIGHT,
)
from optimizer.ball.linear_rows import Name
from optimizer.ball.targets import Span
from optimizer.certificate.forms import HIGH, LOW, MIDDLE
from optimizer.lineup.proof.affine import Affine, ProofRow, Range, chord, tangents
from optimizer.lineup.proof.boxes import Axes, Figures, LineupBox, offset_range
from optimizer.lineup.proof.question import class_limits
from optimizer.lineup.rows import Lineup
from shared.arrays import Array

CENTRED = 1e-6
"""cm. A CG nearer to the centre is on neither side."""

SIDED = (TOP_WEIGHT, PIN_DISTANCE)
"""Figures that are linear while the CG stays on one side of the centre."""


NONE: Mapping[int, float] = MappingProxyType({})
"""No steps."""


class Outer:
    """The rows of one line-up. Columns: densities, p of each class, the RGs that the line shares.

    Each class's figures are divided by its class weight: m is 1 if that is met.
    """

    OWN = 0
    """Columns that each class has besides."""
    aligned = True
    """Whether all parts stand on the pin axis."""

    def __init__(
        self,
        lineup: Lineup,
        level: float = 0.0,
        share: float = 1.0,
        steps: Mapping[int, float] = NONE,
    ) -> None:
        self.lineup, self.maps, self.n = lineup, lineup.maps, lineup.columns.figures
        self.level, self.steps, within = level, steps, share * lineup.within
        self.limits = tuple(
            limit
            for k, one in enumerate(self.maps)
            for limit in class_limits(k, one, within * (one.mass_tolerance or 0.0))
        )
        self.count = self.n + len(self.maps) * (1 + self.OWN) + 3
        target = self.maps[0].target
        if not target or any(linear_map.free for linear_map in self.maps):
            raise ValueError("what is proven is of a target and of a mould that are given")
        self.asked = INTERMEDIATE_DIFFERENTIAL in target
        self.spans = tuple(target.get(figure, Span(0.0, 0.0)) for figure in RADII)
        self.tolerances = [within * (span.tolerance or 0.0) for span in self.spans]
        self.offset = offset_range(target, within)
        self.mass = tuple(self._figure(k, one.volumes) for k, one in enumerate(self.maps))
        self.inertias = tuple(self._inertias(k) for k in range(len(self.maps)))
        self.masses = tuple(self._masses(k) for k in range(len(self.maps)))
        self.most = tuple(self._most(k) for k in range(len(self.maps)))
        self.reference: dict[tuple[int, float], Array] = {}
        self._made: dict[tuple[object, ...], tuple[ProofRow, ...]] = {}

    @cached_property
    def densities(self) -> Array:
        """The ranges (n, 2) of the densities; where they have limits, no wider than these."""
        ends = np.column_stack(self.lineup.columns.box)[: self.n]
        for limit in self.limits:
            if limit.bound.figure == DENSITY:
                j = self.lineup.columns.poured[limit.k][limit.parts[0]]
                ends[j] = max(ends[j, 0], limit.low), min(ends[j, 1], limit.high)
        return ends

    def bounds(self, box: LineupBox) -> tuple[Array, Array]:
        """Return the bounds of the columns."""
        squares = [max(a * a, b * b) for a, b in box.c]
        p = [heaviest * c2 for (_, heaviest), c2 in zip(self.masses, squares, strict=True)]
        shared = [(a * a, b * b) for a, b in self.shared(box.figures)]
        p_shared = *((0.0, most) for most in p), *shared
        lower, upper = np.array([*box.densities, *p_shared]).T
        return lower, upper

    def rows(self, box: LineupBox, classes: Iterable[int] | None = None) -> Iterator[ProofRow]:
        """Yield rows that every line-up in `box` satisfies, of some classes, by default all."""
        for k in range(len(self.maps)) if classes is None else classes:
            yield from self.limit_rows(k, box.c[k])
            yield from self._once(self._cg_rows, k, box.c[k])
            yield from self._once(self._axis_rows, k, box.orders[k], box.figures)
            yield from self._once(self._difference_rows, k, box.orders[k], box.figures)
            yield from self._line_rows(k, box.orders[k], box)

    def cut(self, _x: Array) -> bool:
        """Add rows on any line-up that a point breaks, and return whether there are any."""
        return False

    def forget(self) -> None:
        """Forget the rows that were made; boxes of another region have none of them."""
        self._made.clear()

    def _once(self, make: Callable[..., Iterator[ProofRow]], *of: object) -> tuple[ProofRow, ...]:
        """Return the rows that `make` yields; boxes that are alike in this have them in common."""
        key = make.__name__, *of
        if key not in self._made:
            self._made[key] = tuple(make(*of))
        return self._made[key]

    def shared(self, figures: Figures) -> Figures:
        """Return the ranges of the RGs that the line shares, cm. None is negative."""
        (low, high), (near, far), (least, most) = figures
        middle = (max(0.0, low + near - most), max(0.0, high + far - least))
        return (low, high), middle, (low + near, high + far)

    def own(self, k: int, figures: Figures) -> Figures:
        """Return the ranges of low RG, differential and intermediate differential of class `k`, cm.

        0 ≤ intermediate differential ≤ differential, and a limit may hold it closer.
        """
        low, apart, inner = (
            (max(0.0, a - tolerance), b + tolerance)
            for (a, b), tolerance in zip(figures, self.tolerances, strict=True)
        )
        least, most = inner if self.asked else (0.0, np.inf)
        return low, apart, (least, min(most, apart[1], self.most[k]))

    def first(self, k: int, axis: int = 2) -> Affine:
        """Return the first moment along an axis (2: the pin's), cm."""
        return self._figure(k, self.maps[k].moments[:, axis, 3])

    def limit_rows(self, k: int, c: Range) -> tuple[ProofRow, ...]:
        """Return the limits that are linear over the box; omitting the others is safe.

        The imbalance of an aligned ball is linear while its CG stays on one side. It is measured
        on that side, unless no ball's CG is really there.
        """
        side = 1.0 if c[0] >= 0.0 else -1.0 if c[1] <= 0.0 else 0.0
        x = self.reference.get((k, side), self.lineup.columns.middle[: self.n])
        if side * float(self.first(k).row[: self.n] @ x) <= CENTRED:
            side = 0.0
        return self._once(self._limit_rows, k, side)

    def _limit_rows(self, k: int, side: float) -> Iterator[ProofRow]:
        x = self.reference.get((k, side), self.lineup.columns.middle[: self.n])
        ball = self.maps[k].ball(self.lineup.columns.densities(k, x))
        for number, limit in enumerate(self.limits):
            bound, kind = limit.bound, ("limit", number)
            if limit.k != k or bound.figure == INTERMEDIATE_DIFFERENTIAL:
                continue
            if bound.side == "both":
                row, scale = self.mass[k].row, self.mass[k].scale
                ends = limit.low / self.maps[k].mass, limit.high / self.maps[k].mass
                yield ProofRow(Name(bound), row, *ends, price=1.0, kind=kind, scale=scale)
            elif bound.figure not in SIDED or side != 0.0:
                unit = bound.tolerance or 1.0
                scale = bound.way / (unit * limit.unit)
                for margin in bound.margins(ball):
                    if margin.gradient is None:
                        continue
                    row = self._row(k, margin.gradient / unit)
                    lower = float(row[: self.n] @ x) - margin.slack / unit
                    lower += self.level * (bound.tolerance is not None)
                    yield ProofRow(
                        Name(bound), row, lower, np.inf, price=1.0, kind=kind, scale=scale
                    )

    def place_rows(self, k: int, c: Range) -> Iterator[ProofRow]:
        """Yield that the CG of class `k` is in a range along the pin."""
        mass, first = self.mass[k], self.first(k)
        yield first.at_least(mass.times(c[0]), "c", k, 0)
        yield mass.times(c[1]).at_least(first, "c", k, 1)

    def _cg_rows(self, k: int, c: Range) -> Iterator[ProofRow]:
        """Yield the rows that relate F to the box, and p to F."""
        mass, first = self.mass[k], self.first(k)
        p = replace(mass, row=self._column(self.n + k).row)
        yield from self.place_rows(k, c)
        a, b = c
        for at in (a, (a + b) / 2, b):
            yield p.at_least(first.bent((2.0 * at, -(at**2)), mass), "p_above", k, at)
        yield first.bent((a + b, -a * b), mass).at_least(p, "p_below", k)

    def _axis_rows(self, k: int, order: Axes | None, figures: Figures) -> Iterator[ProofRow]:
        """Yield the rows that relate each inertia to the RGs that the line shares.

        About any axis it is at least that about the low one and at most that about the high one.
        """
        mass, shared = self.mass[k], self.shared(figures)
        low, apart, inner = self.tolerances
        off = (low, low + apart + inner, low + apart)
        for a, inertia in enumerate(self.inertias[k]):
            least, most = LOW, HIGH
            if order is not None:
                place = order.index(a)
                if place != MIDDLE or self.asked:
                    least = most = place
            for line, r in tangents(shared[least], -off[least]).items():
                for corner, known in enumerate(self._times_mass(k, least, shared[least])[0]):
                    bent, kind = known.bent(line, mass), ("over", k, a, least, r, corner)
                    yield inertia.at_least(bent, *kind, times=r)
            for line, r in tangents(shared[most], off[most]).items():
                for corner, known in enumerate(self._times_mass(k, most, shared[most])[1]):
                    bent, kind = known.bent(line, mass), ("under", k, a, most, r, corner)
                    yield bent.at_least(inertia, *kind, times=r)

    def _difference_rows(self, k: int, order: Axes | None, figures: Figures) -> Iterator[ProofRow]:
        """Yield the rows that relate the inertias about a ball's axes to each other."""
        mass, inertias = self.mass[k], self.inertias[k]
        if order is None:
            return
        A, C, B = (inertias[axis] for axis in order)
        yield C.at_least(A, "in_order", k, 0)
        yield B.at_least(C, "in_order", k, 1)
        low, apart, inner = self.own(k, figures)
        if low[0] < low[1]:
            for line, r in tangents(low, apart[1]).items():
                yield A.bent(line, mass).at_least(B, "high_at_most", k, r, times=r)
            bent = A.bent(chord(low, apart[0]), mass)
            yield B.at_least(bent, "high_at_least", k, times=sum(low))
        high = (low[0] + apart[0], low[1] + apart[1])
        if inner[1] < apart[1]:
            for line, r in tangents(high, -inner[1]).items():
                yield C.at_least(B.bent(line, mass), "middle_at_least", k, r, times=r)
        if inner[0] > 0.0 and inner[0] <= high[1]:
            far = (max(inner[0], high[0]), high[1])
            bent = B.bent(chord(far, -inner[0]), mass)
            yield bent.at_least(C, "middle_at_most", k, times=sum(far))

    def _line_rows(self, k: int, order: Axes | None, box: LineupBox) -> Iterator[ProofRow]:
        """Yield that the differential lies below and above lines, if it does."""
        if order is None:
            return
        low, mass, inertias = self.own(k, box.figures)[0], self.mass[k], self.inertias[k]
        A, B = inertias[order[0]], inertias[order[2]]
        for line, sign in ((box.below, 1.0), (box.above, -1.0)):
            if line is None:
                continue
            s, d = 1.0 + line[0], line[1]
            if sign * d * s > 0.0 or (d * s == 0.0 and sign > 0.0):  # tangents lie on this side
                bounds = {line: (r, r) for line, r in tangents(low, d, s).items()}
            elif min(s * low[0], s * low[1]) + d >= 0.0:
                bounds = {chord(low, d, s): (0.0, sum(low))}
            else:
                continue
            for bound, (r, times) in bounds.items():
                known = A.bent(bound, mass)
                if sign > 0.0:
                    yield known.at_least(B, "below_line", k, r, times=times)
                else:
                    yield B.at_least(known, "above_line", k, r, times=times)

    def _times_mass(self, k: int, i: int, shared: Range) -> tuple[list[Affine], list[Affine]]:
        """Return lower and upper bounds on m times a column of a shared RG²."""
        (a, b), (light, heavy) = (shared[0] ** 2, shared[1] ** 2), self.masses[k]
        column, mass = self._column(self.n + len(self.maps) + i), self.mass[k]

        def plane(square: float, m: float) -> Affine:
            return replace(mass, row=m * column.row + square * mass.row, constant=-square * m)

        if a == b or light == heavy:
            return [plane(a, light)], [plane(b, light)]
        return [plane(a, light), plane(b, heavy)], [plane(b, light), plane(a, heavy)]

    def _masses(self, k: int) -> Range:
        """Return the range of m: the class weight, or what densities of solids allow."""
        linear_map, columns = self.maps[k], self.lineup.columns
        row, mass = self.mass[k].row[: self.n], linear_map.mass
        low, high = (float(row @ ends[: self.n]) for ends in columns.box)
        mine = [limit for limit in self.limits if limit.k == k and limit.bound.figure == WEIGHT]
        least, most = [limit.low / mass for limit in mine], [limit.high / mass for limit in mine]
        return max(filter(isfinite, least), default=low), min(filter(isfinite, most), default=high)

    def _most(self, k: int) -> float:
        """Return the limit on the intermediate differential, less its room, or inf."""
        limits = (limit.bound for limit in self.limits if limit.k == k)
        ends = (
            bound.high - self.level * (bound.tolerance or 0.0)
            for bound in limits
            if bound.figure == INTERMEDIATE_DIFFERENTIAL
        )
        return min(ends, default=np.inf)

    def _inertias(self, k: int) -> list[Affine]:
        """Return the principal inertias, cm², as `orders` number them: about x, y and z."""
        linear_map, inertias = self.maps[k], []
        for a in range(3):
            P = np.zeros((4, 4))
            P[:3, :3] = np.diag(np.arange(3) != a)
            inertia = self._figure(k, linear_map.pull(P))
            if linear_map.about == "cg" and a < 2:
                inertia.row[self.n + k] = -1.0
            inertias.append(inertia)
        return inertias

    def _figure(self, k: int, by_density: Array) -> Affine:
        mass = self.maps[k].mass
        return Affine(self._row(k, by_density / mass), scale=1.0 / mass)

    def _row(self, k: int, by_density: Array) -> Array:
        own = self.lineup.columns.scatter(k, by_density)[: self.n]
        return np.concatenate([own, np.zeros(self.count - self.n)])

    def _column(self, j: int) -> Affine:
        return Affine(np.eye(self.count)[j])

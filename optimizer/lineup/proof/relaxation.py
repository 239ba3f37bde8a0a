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

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from functools import cached_property

import numpy as np

from optimizer.ball.figures import INTERMEDIATE_DIFFERENTIAL, PIN_DISTANCE, TOP_WEIGHT
from optimizer.ball.linear_rows import Name
from optimizer.certificate.forms import HIGH, LOW, MIDDLE
from optimizer.lineup.proof.affine import Affine, ProofRow, Range, chord, tangents
from optimizer.lineup.proof.boxes import Axes, Figures, LineupBox
from optimizer.lineup.proof.known import Known
from shared.arrays import Array

CENTRED = 1e-6
"""cm. A CG nearer to the centre is on neither side."""

SIDED = (TOP_WEIGHT, PIN_DISTANCE)
"""Figures that are linear while the CG stays on one side of the centre."""


class Outer(Known):
    """The rows of one line-up, over the columns of what is `Known` of it."""

    @cached_property
    def reference(self) -> dict[tuple[int, float], Array]:
        """Densities (n,) with the CG far below or above the centre, by class and side."""
        return {}

    @cached_property
    def _made(self) -> dict[tuple[object, ...], tuple[ProofRow, ...]]:
        """The rows that were made, by what makes them."""
        return {}

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

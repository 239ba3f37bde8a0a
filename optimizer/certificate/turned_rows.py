"""Rows of balls whose axes turn with the densities.

With the forms of `turned_forms` (P, its trace p, the inertia I, its extremes Λ and Λ', N of an
axis), for a box:

- (u·F − a m)(v·F − b m) ÷ m ≥ 0 where neither factor is negative, or where they are alike.
- 1/m is convex: on [m₁, m₂] it is at most 1/m₁ + 1/m₂ − m/(m₁ m₂), and at least 2/m₀ − m/m₀².
- n = e₀ + s e₁ + t e₂ is the axis, so N₀ⱼ + s N₁ⱼ + t N₂ⱼ = 0: by upper bounds on s N₁ⱼ and t N₂ⱼ.
- With n₀ amid its cone, n₀·N n₀ = δ·N δ for δ = n₀ − n, at most r² N₁₁ + q² N₂₂ + 2 r q |N₁₂|,
  r and q half the widths of s and t; and 2 r q |N₁₂| ≤ r² N₁₁ + q² N₂₂.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from math import tan

from optimizer.certificate.box import Box
from optimizer.certificate.forms import (
    AXES,
    ONE,
    ZERO,
    Direction,
    Feature,
    Form,
    NotProven,
    Range,
    Z,
    first,
    mass,
    p,
    plus,
)
from optimizer.certificate.levers import factors, level, lever
from optimizer.certificate.question import Limit
from optimizer.certificate.row import PI, Row
from optimizer.certificate.turned import PAIRS
from optimizer.certificate.turned_forms import TurnedForms

SURE = Fraction(1, 10**12)
"""By how much a double's tangent may be off, relatively, and much more."""


class TurnedRows(TurnedForms):
    """The rows of a box that holds its balls' axes in cones."""

    def columns(self) -> Iterator[tuple[Feature, Range]]:
        """Yield the ranges of all that rows are over but densities and what is linear in them."""
        whole, most = Box.whole(self.question).c, self.question.offset[1]
        for k, (light, heavy) in enumerate(self.question.masses):
            if self.box.turned is None:
                a, b = self.box.c[k] if self.question.balls[k].aligned else whole[k]
                yield ("p", k), (ZERO, heavy * max(a * a, b * b))
                continue
            far = [max(-a, b) for a, b in self.box.turned.places[3 * k : 3 * k + 3]]
            square = sum((end * end for end in far), ZERO)
            yield ("p", k), (ZERO, heavy * (square if most is None else min(square, most * most)))
            for i, j in ((0, 0), (1, 1), *PAIRS):
                end = heavy * far[i] * far[j]
                yield (f"p{'xyz'[i]}{'xyz'[j]}", k), (ZERO if i == j else -end, end)
            low, apart, _ = self._own(k)
            high = low[0] + apart[0], low[1] + apart[1]
            for name, ends in (("low", low), ("high", high)):
                yield (name, k), (light * ends[0] ** 2, heavy * ends[1] ** 2)
        for role, (a, b) in enumerate(self.box.shared):
            yield ("shared", role), (a * a, b * b)

    def _own(self, k: int) -> tuple[Range, Range, Range]:
        """Return the ranges of a ball's own low RG, differential and intermediate differential."""
        low, apart, inner = (
            (max(ZERO, a - off), b + off)
            for (a, b), off in zip(self.box.figures, self.question.off, strict=True)
        )
        if not self.question.asked:
            inner = ZERO, apart[1]
        return low, apart, (inner[0], min(inner[1], apart[1], *self.question.inner_ends(k)))

    def row_place(self, k: int, axis: int, end: int) -> Row:
        """F ≥ a m, or F ≤ b m, along x, y or z."""
        return Row(self._factor(k, axis, end))

    def row_p_product(self, k: int, axis: int, end: int, other: int, far: int) -> Row:
        """The product of two such factors, ÷ m."""
        (u, a), (v, b) = self._end(k, axis, end), self._end(k, other, far)
        return Row(factors(k, u, a, v, b))

    def row_p_square(self, k: int, nx: Fraction, ny: Fraction, nz: Fraction, at: Fraction) -> Row:
        """(n·F − a m)² ÷ m ≥ 0."""
        n = (nx, ny, nz)
        return Row(factors(k, n, at, n, at))

    def row_near(self, k: int) -> Row:
        """P ≥ least² m, at the least |c|."""
        return Row(plus((ONE, p(k)), (-(self.question.offset[0] ** 2), mass(k))))

    def row_far(self, k: int) -> Row:
        """P ≤ most² m, at the greatest |c|."""
        if (most := self.question.offset[1]) is None:
            raise NotProven("a CG without a limit")
        return Row(plus((most * most, mass(k)), (-ONE, p(k))))

    def row_top_most(self, i: int) -> Row:
        """|F| ≤ T: p ≤ T² (1/m₁ + 1/m₂ − m/(m₁ m₂))."""
        limit, most = self._asked(i, "imbalance", 1)
        light, heavy = self.question.masses[limit.k]
        if not 0 < light <= heavy:
            raise NotProven("a mass that may be nothing")
        square = most * most / (light * heavy)
        form = plus((-ONE, p(limit.k)), (-square, mass(limit.k)))
        return Row(form, -square * (light + heavy))

    def row_top_least(self, i: int, at: Fraction) -> Row:
        """|F| ≥ T: p ≥ T² (2/m₀ − m/m₀²)."""
        limit, least = self._asked(i, "imbalance", 0)
        if at <= 0:
            raise NotProven("a tangent where there is none")
        square = (least / at) ** 2
        return Row(plus((ONE, p(limit.k)), (square, mass(limit.k))), 2 * square * at)

    def row_mark_up(self, i: int) -> Row:
        """A CG whose mark is less than a right angle from the pin is on the pin's side."""
        limit, _ = self._angle(i, 1)
        return Row(first(limit.k, Z))

    def row_mark_most(self, i: int) -> Row:
        """The CG lies in a cone round the pin: Pxx + Pyy ≤ tan² Pzz."""
        limit, angle = self._angle(i, 1)
        square = (Fraction(tan(float(angle))) * (1 + SURE)) ** 2
        return Row(plus((square, lever(limit.k, Z, Z)), (-ONE, level(limit.k))))

    def row_mark_least(self, i: int) -> Row:
        """The CG, no lower than the centre, lies outside of a cone round the pin."""
        limit, angle = self._angle(i, 0)
        if self._turned.places[3 * limit.k + 2][0] < 0:
            raise NotProven("a CG that may be below the centre")
        square = (Fraction(tan(float(angle))) * (1 - SURE)) ** 2
        return Row(plus((-square, lever(limit.k, Z, Z)), (ONE, level(limit.k))))

    def row_between(self, k: int, end: int, nx: Fraction, ny: Fraction, nz: Fraction) -> Row:
        """The inertia about any n is at least Λ n·n, and at most Λ' n·n."""
        n = (nx, ny, nz)
        return Row(self._kernel(k, end, n, n))

    def row_product(self, k: int, pair: int, end: int) -> Row:
        """A product of inertia of the frame is at least a m, or at most b m."""
        i, j = PAIRS[pair]
        frame, at = self._turned.frames[k], self._turned.products[3 * k + pair][end]
        sign = (ONE, -ONE)[end]
        return Row(plus((sign, self.tensor(k, frame[i], frame[j])), (-sign * at, mass(k))))

    def row_axis(self, k: int, end: int, column: int, sign: Fraction) -> Row:
        """N₀ⱼ + s N₁ⱼ + t N₂ⱼ ≥ 0, or ≤ 0, by upper bounds on the products."""
        if abs(sign) != 1:
            raise NotProven("a sign that is none")
        cone = self._cone(k, end)
        terms = [(sign, self._entry(k, end, 0, column))]
        for i, (a, b) in ((1, cone.s), (2, cone.t)):
            ends = (a, b) if sign > 0 else (-b, -a)
            terms.append((ONE, self._most(k, end, ends, (i, column))))
        return Row(plus(*terms))

    def row_axis_square(self, k: int, end: int, of: int) -> Row:
        """n₀·N n₀ is at most r² N₁₁ + q² N₂₂ and as much again (0), or 2 r q |N₁₂| (1)."""
        cone = self._cone(k, end)
        e = cone.basis(self._turned.frames[k])
        r, q = ((b - a) / 2 for a, b in (cone.s, cone.t))
        s, t = (sum(ends) / 2 for ends in (cone.s, cone.t))
        amid = tuple(x + s * y + t * z for x, y, z in zip(*e, strict=True))
        times = ONE if of else Fraction(2)
        squares = plus(
            *((times * h * h, self._kernel(k, end, v, v)) for h, v in ((r, e[1]), (q, e[2])))
        )
        more = self._most(k, end, (-ONE, ONE), (1, 2)) if of else {}
        near = self._kernel(k, end, amid, amid)  # type: ignore[arg-type]
        return Row(plus((ONE, squares), (-ONE, near), (2 * r * q, more)))

    def _end(self, k: int, axis: int, end: int) -> tuple[Direction, Fraction]:
        """Return (u, a) of a factor u·F − a m that no line-up of the box has below 0."""
        sign, at = (ONE, -ONE)[end], self._turned.places[3 * k + axis][end]
        x, y, z = (sign * share for share in AXES[axis])
        return (x, y, z), sign * at

    def _factor(self, k: int, axis: int, end: int) -> Form:
        u, a = self._end(k, axis, end)
        return plus((ONE, first(k, u)), (-a, mass(k)))

    def _asked(self, i: int, of: str, end: int) -> tuple[Limit, Fraction]:
        """Return a limit, and one of its ends, which is above 0."""
        limit = self.question.limits[i]
        at = self.question.ends(limit)[end]
        if limit.of != of or at is None or at <= 0:
            raise NotProven(f"a row of a limit on the {of}, of another")
        return limit, at

    def _angle(self, i: int, end: int) -> tuple[Limit, Fraction]:
        """Return a limit on the pin distance, and its angle, less than a right one."""
        limit, at = self._asked(i, "mark", end)
        angle = at / self.question.balls[limit.k].radius
        if angle >= PI[0] / 2:
            raise NotProven("a pin distance of a right angle or more")
        return limit, angle

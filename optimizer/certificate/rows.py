"""Rows: inequalities that every line-up of a box satisfies, each by its kind and its parameters.

m is a ball's mass, F its first moments, c = F/m along the pin. p = |F|²/m has a column of its own;
so has U, the square of the low, intermediate or high RG that the line shares. A, C and B are the
inertias about a ball's low, intermediate and high axis: m times its RG squared.

- Squares of sums of RGs lie on curves that lines bound: see `curves`.
- p is convex in F and m, so it lies above its tangents; for c in [a, b] it is at most
  (a + b) F − a b m, since (c − a)(c − b) ≤ 0.
- (m − M)(U − V) ≥ 0 where M and V are both lower or both upper ends of m and U, and ≤ 0 where they
  are opposite ends (McCormick 1976).
- About any line through a point, the inertia is at least that about the low axis there, and at most
  that about the high one. About the CG, across the pin, it is that about the centre less p.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any, Final, NamedTuple, TypeAlias

from optimizer.certificate.box import Box
from optimizer.certificate.curves import Line, chord, over, tangent, under
from optimizer.certificate.forms import (
    AXES,
    HIGH,
    LOW,
    MIDDLE,
    ONE,
    ZERO,
    Form,
    NotProven,
    Range,
    Z,
    double,
    first,
    inertia,
    mass,
    plus,
)
from optimizer.certificate.question import Question

PI: Final = (Fraction("3.141592653"), Fraction("3.141592654"))
"""π lies between."""

End: TypeAlias = Fraction | None


class Row(NamedTuple):
    """`form` is at least `least` and at most `most`, as far as they are given."""

    form: Form
    least: End = ZERO
    most: End = None


class Rows:
    """The rows of one box."""

    def __init__(self, question: Question, box: Box) -> None:
        self.question, self.box = question, box

    def row(self, kind: str, *at: Any) -> Row:
        """Return the row of a kind. Raises NotProven where there is none with these parameters."""
        make = getattr(self, f"row_{kind}", None)
        if make is None:
            raise NotProven(f"{kind[:40]!r} is no kind of row")
        row: Row = make(*at)
        return row

    def row_limit(self, i: int) -> Row:
        """A limit of the question, with the room that is asked."""
        if not 0 <= i < len(self.question.limits):
            raise NotProven("a row of no limit")
        limit = self.question.limits[i]
        least, most = self.question.ends(limit)
        if limit.of == "mass":
            return Row(mass(limit.k), least, most)
        if limit.of == "density":
            (part,) = limit.at
            return Row({self._density(limit.k, part): ONE}, least, most)
        if limit.of == "step":
            over, under = (self._density(limit.k, part) for part in limit.at)
            return Row(plus((ONE, {over: ONE}), (-ONE, {under: ONE})), least, most)
        if limit.of == "imbalance":
            return self._imbalance(limit.k, least, most)
        if limit.of == "mark":
            return self._mark(limit.k, least, most)
        raise NotProven(f"{limit.of[:40]!r} is no kind of limit")

    def _density(self, k: int, part: int) -> tuple[str, int]:
        return "density", self.question.columns[k][part]

    def _imbalance(self, k: int, least: End, most: End) -> Row:
        """|F| is that along the pin; its least end holds on the side where the CG is."""
        self._aligned(k)
        a, b = self.box.c[k]
        if a >= 0:
            return Row(first(k, Z), least, most)
        if b <= 0:
            return Row(plus((-ONE, first(k, Z))), least, most)
        return Row(first(k, Z), None if most is None else -most, most)

    def _mark(self, k: int, least: End, most: End) -> Row:
        """The way on the surface from the pin to the CG's mark is 0, or π times the radius."""
        self._aligned(k)
        a, b = self.box.c[k]
        if a < 0 < b or a == b == 0:
            raise NotProven("a CG that may be on either side of the centre")
        low, high = (pi * self.question.balls[k].radius if b <= 0 else ZERO for pi in PI)
        over = None if least is None else least - high
        return Row({}, over, None if most is None else most - low)

    def row_c(self, k: int, end: int) -> Row:
        """F ≥ a m (end 0), F ≤ b m (end 1)."""
        self._aligned(k)
        sign = (ONE, -ONE)[end]
        return Row(plus((sign, first(k, Z)), (-sign * self.box.c[k][end], mass(k))))

    def row_p_above(self, k: int, at: object) -> Row:
        """P ≥ 2 t F − t² m."""
        t = double(at)
        return Row(plus((ONE, p(k)), (-2 * t, first(k, Z)), (t * t, mass(k))))

    def row_p_below(self, k: int) -> Row:
        """P ≤ (a + b) F − a b m."""
        self._aligned(k)
        a, b = self.box.c[k]
        return Row(plus((a + b, first(k, Z)), (-a * b, mass(k)), (-ONE, p(k))))

    def row_over(self, k: int, axis: int, role: int, at: object, corner: int) -> Row:
        """The inertia about an axis is at least m (√U − off)² of an RG that isn't higher."""
        if self._place(k, axis, LOW) < role:
            raise NotProven("an RG that may be higher")
        s, d = tangent(double(at), -self._off(role))
        M, V = self._corner(k, role, corner, corner)
        form = plus((ONE, self.inertia(k, axis)), (-s * M, shared(role)), (-s * V - d, mass(k)))
        return Row(form, -s * M * V)

    def row_under(self, k: int, axis: int, role: int, at: object, corner: int) -> Row:
        """The inertia about an axis is at most m (√U + off)² of an RG that isn't lower."""
        if self._place(k, axis, HIGH) > role:
            raise NotProven("an RG that may be lower")
        s, d = tangent(double(at), self._off(role))
        M, V = self._corner(k, role, corner, 1 - corner)
        form = plus((-ONE, self.inertia(k, axis)), (s * M, shared(role)), (s * V + d, mass(k)))
        return Row(form, s * M * V)

    def row_in_order(self, k: int, place: int) -> Row:
        """C ≥ A (place 0), B ≥ C (place 1)."""
        order = self._order(k)
        over, under = (self.inertia(k, order[at]) for at in (place + 1, place))
        return Row(plus((ONE, over), (-ONE, under)))

    def row_high_at_most(self, k: int, at: object) -> Row:
        """B ≤ m (√(A/m) + d)² at the largest differential d."""
        _, apart, _ = self._own(k)
        return self._line(k, LOW, tangent(double(at), apart[1]), HIGH, ONE)

    def row_high_at_least(self, k: int) -> Row:
        """B ≥ m (√(A/m) + d)² at the least differential d."""
        low, apart, _ = self._own(k)
        return self._line(k, LOW, chord(low, apart[0]), HIGH, -ONE)

    def row_below_line(self, k: int, at: object) -> Row:
        """B ≤ m (s √(A/m) + d)², where the differential is at most a line over the low RG."""
        s, d = self._line_of(self.box.below)
        low, _, _ = self._own(k)
        return self._line(k, LOW, over(low, double(at), d, s), HIGH, ONE)

    def row_above_line(self, k: int, at: object) -> Row:
        """B ≥ m max(s √(A/m) + d, 0)², where the differential is at least a line."""
        s, d = self._line_of(self.box.above)
        low, _, _ = self._own(k)
        return self._line(k, LOW, under(low, double(at), d, s), HIGH, -ONE)

    def _line_of(self, line: Line | None) -> Line:
        """Return a line for the high RG, over the low one, that each ball keeps by itself."""
        if line is None or self.question.off[0] or self.question.off[1]:
            raise NotProven("a row of a line that a ball needn't keep")
        return 1 + line[0], line[1]

    def row_middle_at_least(self, k: int, at: object) -> Row:
        """C ≥ m (√(B/m) − i)² at the largest intermediate differential i."""
        _, _, inner = self._own(k)
        return self._line(k, HIGH, tangent(double(at), -inner[1]), MIDDLE, -ONE)

    def row_middle_at_most(self, k: int) -> Row:
        """C ≤ m (√(B/m) − i)² at the least intermediate differential i: no high RG is less."""
        low, apart, inner = self._own(k)
        high = max(inner[0], low[0] + apart[0]), low[1] + apart[1]
        return self._line(k, HIGH, chord(high, -inner[0]), MIDDLE, ONE)

    def _line(self, k: int, of: int, line: Line, to: int, sign: Fraction) -> Row:
        """Return that a line of the inertia in one place, less that in another, has this sign."""
        order, (slope, constant) = self._order(k), line
        known, sought = (self.inertia(k, order[place]) for place in (of, to))
        return Row(plus((sign * slope, known), (sign * constant, mass(k)), (-sign, sought)))

    def inertia(self, k: int, axis: int) -> Form:
        """Return a ball's inertia about x, y or z, through the point where RGs are measured."""
        self._aligned(k)
        lifted = self.question.about_cg[k] and AXES[axis] != Z
        return plus((ONE, inertia(k, AXES[axis])), (-ONE, p(k) if lifted else {}))

    def _place(self, k: int, axis: int, unknown: int) -> int:
        order = self.box.orders[k]
        return unknown if order is None else order.index(axis)

    def _order(self, k: int) -> tuple[int, int, int]:
        order = self.box.orders[k]
        if order is None:
            raise NotProven("a row for one order of the axes, where any may be")
        return order

    def _off(self, role: int) -> Fraction:
        """Return how much a ball's own RG may differ from the one that the line shares."""
        low, apart, inner = self.question.off
        return (low, low + apart + inner, low + apart)[role]

    def _corner(self, k: int, role: int, of_mass: int, of_square: int) -> tuple[Fraction, Fraction]:
        if role == MIDDLE and not self.question.asked:
            raise NotProven("an intermediate RG that isn't asked for")
        return self.question.masses[k][of_mass], self.box.shared[role][of_square] ** 2

    def _own(self, k: int) -> tuple[Range, Range, Range]:
        """Return the ranges of a ball's own low RG, differential and intermediate differential."""
        low, apart, inner = (
            (max(ZERO, a - off), b + off)
            for (a, b), off in zip(self.box.figures, self.question.off, strict=True)
        )
        if not self.question.asked:
            inner = ZERO, apart[1]
        return low, apart, (inner[0], min(inner[1], apart[1], *self.question.inner_ends(k)))

    def _aligned(self, k: int) -> None:
        if not self.question.balls[k].aligned:
            raise NotProven("a row for parts that all stand on the pin axis, where they don't")


def p(k: int) -> Form:
    """Return |F|²/m of class `k`."""
    return {("p", k): ONE}


def shared(role: int) -> Form:
    """Return the square of an RG that the line shares."""
    return {("shared", role): ONE}

"""Rows: inequalities that every line-up of a box satisfies, each by its kind and its parameters.

m is a ball's mass, F its first moments, c = F/m along the pin. p = |F|²/m has a column of its own;
so has U, the square of the low, intermediate or high RG that the line shares. A, C and B are the
inertias about a ball's low, intermediate and high axis: m times its RG squared.

- Squares of sums of RGs lie on curves that lines bound: see `curves`.
- p is convex in F and m, so it lies above its tangents; for c in [a, b] it is at most
  (a + b) F − a b m, since (c − a)(c − b) ≤ 0.
- (m − M)(U − V) ≥ 0 where M and V are both lower or both upper ends of m and U, and ≤ 0 where they
  are opposite ends (McCormick 1976).
- Rows with a tangent or a chord are multiples of these, as `curves` gives them.
- About any line through a point, the inertia is at least that about the low axis there, and at most
  that about the high one. About the CG, across the pin, it is that about the centre less p.
"""

from __future__ import annotations

from fractions import Fraction
from inspect import signature
from typing import Any, Final

from optimizer.certificate.curves import Line, Multiple, chord, over, tangent, under
from optimizer.certificate.forms import (
    AXES,
    HIGH,
    LOW,
    MIDDLE,
    ONE,
    ZERO,
    Form,
    NotProven,
    Z,
    double,
    first,
    inertia,
    mass,
    p,
    place,
    plus,
    shared,
)
from optimizer.certificate.question import PARTS
from optimizer.certificate.row import COUNTS, NUMBERS, PI, End, Row
from optimizer.certificate.turned_rows import TurnedRows


class Rows(TurnedRows):
    """The rows of one box."""

    def row(self, kind: str, *at: Any) -> Row:
        """Return the row of a kind. Raises NotProven where there is none with these parameters."""
        if (names := NAMES.get(kind)) is None or len(names) != len(at):
            raise NotProven(f"{kind[:40]!r} with {len(at)} parameters is no kind of row")
        counts = {"i": len(self.question.limits), "k": len(self.question.balls)} | COUNTS
        pairs = zip(names, at, strict=True)
        values = (double(x) if name in NUMBERS else place(x, counts[name]) for name, x in pairs)
        row: Row = getattr(self, f"row_{kind}")(*values)
        return row

    def row_limit(self, i: int) -> Row:
        """A limit of the question, with the room that is asked."""
        limit = self.question.limits[i]
        least, most = self.question.ends(limit)
        if limit.of == "mass":
            return Row(mass(limit.k), least, most)
        if limit.of in PARTS:
            signed = zip((ONE, -ONE), limit.at, strict=False)
            terms = ((sign, {self._density(limit.k, part): ONE}) for sign, part in signed)
            return Row(plus(*terms), least, most)
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

    def row_p_above(self, k: int, at: Fraction) -> Row:
        """P ≥ 2 t F − t² m, for t = `at`."""
        return Row(plus((ONE, p(k)), (-2 * at, first(k, Z)), (at * at, mass(k))))

    def row_p_below(self, k: int) -> Row:
        """P ≤ (a + b) F − a b m."""
        self._aligned(k)
        a, b = self.box.c[k]
        return Row(plus((a + b, first(k, Z)), (-a * b, mass(k)), (-ONE, p(k))))

    def row_over(self, k: int, axis: int, role: int, at: Fraction, corner: int) -> Row:
        """The inertia about an axis is at least m (√U − off)² of an RG that isn't higher."""
        if self._place(k, axis, LOW) < role:
            raise NotProven("an RG that may be higher")
        r, s, d = tangent(at, -self._off(role))
        M, V = self._corner(k, role, corner, corner)
        form = plus((r, self.inertia(k, axis)), (-s * M, shared(role)), (-s * V - d, mass(k)))
        return Row(form, -s * M * V)

    def row_under(self, k: int, axis: int, role: int, at: Fraction, corner: int) -> Row:
        """The inertia about an axis is at most m (√U + off)² of an RG that isn't lower."""
        if self._place(k, axis, HIGH) > role:
            raise NotProven("an RG that may be lower")
        r, s, d = tangent(at, self._off(role))
        M, V = self._corner(k, role, corner, 1 - corner)
        form = plus((-r, self.inertia(k, axis)), (s * M, shared(role)), (s * V + d, mass(k)))
        return Row(form, s * M * V)

    def row_in_order(self, k: int, place: int) -> Row:
        """C ≥ A (place 0), B ≥ C (place 1)."""
        order = self._order(k)
        over, under = (self.inertia(k, order[at]) for at in (place + 1, place))
        return Row(plus((ONE, over), (-ONE, under)))

    def row_high_at_most(self, k: int, at: Fraction) -> Row:
        """B ≤ m (√(A/m) + d)² at the largest differential d."""
        _, apart, _ = self._own(k)
        return self._line(k, LOW, tangent(at, apart[1]), HIGH, ONE)

    def row_high_at_least(self, k: int) -> Row:
        """B ≥ m (√(A/m) + d)² at the least differential d."""
        low, apart, _ = self._own(k)
        return self._line(k, LOW, chord(low, apart[0]), HIGH, -ONE)

    def row_below_line(self, k: int, at: Fraction) -> Row:
        """B ≤ m (s √(A/m) + d)², where the differential is at most a line over the low RG."""
        s, d = self._line_of(self.box.below)
        return self._line(k, LOW, over(self._own(k)[0], at, d, s), HIGH, ONE)

    def row_above_line(self, k: int, at: Fraction) -> Row:
        """B ≥ m max(s √(A/m) + d, 0)², where the differential is at least a line."""
        s, d = self._line_of(self.box.above)
        return self._line(k, LOW, under(self._own(k)[0], at, d, s), HIGH, -ONE)

    def _line_of(self, line: Line | None) -> Line:
        """Return a line for the high RG, over the low one, that each ball keeps by itself."""
        if line is None or self.question.off[0] or self.question.off[1]:
            raise NotProven("a row of a line that a ball needn't keep")
        return 1 + line[0], line[1]

    def row_middle_at_least(self, k: int, at: Fraction) -> Row:
        """C ≥ m (√(B/m) − i)² at the largest intermediate differential i."""
        _, _, inner = self._own(k)
        return self._line(k, HIGH, tangent(at, -inner[1]), MIDDLE, -ONE)

    def row_middle_at_most(self, k: int) -> Row:
        """C ≤ m (√(B/m) − i)² at the least intermediate differential i: no high RG is less."""
        low, apart, inner = self._own(k)
        high = max(inner[0], low[0] + apart[0]), low[1] + apart[1]
        return self._line(k, HIGH, chord(high, -inner[0]), MIDDLE, ONE)

    def _line(self, k: int, of: int, line: Multiple, to: int, sign: Fraction) -> Row:
        """Return that a line of the inertia in one place, less that in another, has this sign."""
        order, (times, slope, constant) = self._order(k), line
        known, sought = (self.inertia(k, order[place]) for place in (of, to))
        return Row(plus((sign * slope, known), (sign * constant, mass(k)), (-sign * times, sought)))

    def inertia(self, k: int, axis: int) -> Form:
        """Return a ball's inertia about x, y or z, through the point where RGs are measured.

        Where axes turn: about its low, intermediate or high axis.
        """
        if self.box.turned is not None:
            return self.principal(k, axis)
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

    def _aligned(self, k: int) -> None:
        if not self.question.balls[k].aligned:
            raise NotProven("a row for parts that all stand on the pin axis, where they don't")


NAMES: Final = {
    name.removeprefix("row_"): tuple(signature(getattr(Rows, name)).parameters)[1:]
    for name in dir(Rows)
    if name.startswith("row_")
}
"""Of each kind of row the names of its parameters."""

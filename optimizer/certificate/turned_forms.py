"""Forms of balls whose axes turn with the densities.

P = F Fᵀ ÷ m has columns, its trace is p; Λ and Λ' are the least and the greatest principal inertia,
the intermediate one is the trace of I less both. I = tr(S − P) E − (S − P), S the second moments,
is about the CG; about the centre it is without P. N is I − Λ E, whose kernel has the low axis, or
Λ' E − I, whose kernel has the high one. Neither has a negative eigenvalue. With N between l m and
h m, the product x N for a ≤ x ≤ b is at most the chord over [l m, h m] of max(a N, b N).
"""

from __future__ import annotations

from optimizer.certificate.box import Box
from optimizer.certificate.forms import AXES, ONE, Direction, Form, NotProven, Range, mass, p, plus
from optimizer.certificate.levers import lever, second
from optimizer.certificate.question import Question
from optimizer.certificate.turned import Cone, Turned, dot


class TurnedForms:
    """The forms of one box, which may hold its balls' axes in cones."""

    def __init__(self, question: Question, box: Box) -> None:
        self.question, self.box = question, box

    @property
    def _turned(self) -> Turned:
        if self.box.turned is None:
            raise NotProven("a row of axes that turn, before there are frames")
        return self.box.turned

    def tensor(self, k: int, u: Direction, v: Direction) -> Form:
        """Return u·I v, I the inertia about the point where RGs are measured."""
        about_cg = ONE * self.question.about_cg[k]
        trace = {(a + a, k): ONE for a in "xyz"}
        return plus(
            (dot(u, v), trace),
            (-dot(u, v) * about_cg, p(k)),
            (-ONE, second(k, u, v)),
            (about_cg, lever(k, u, v)),
        )

    def principal(self, k: int, place: int) -> Form:
        """Return a ball's least, intermediate or greatest inertia."""
        least, greatest = {("low", k): ONE}, {("high", k): ONE}
        if place != 1:
            return least if place == 0 else greatest
        trace = plus(*((ONE, self.tensor(k, n, n)) for n in AXES))
        return plus((ONE, trace), (-ONE, least), (-ONE, greatest))

    def _kernel(self, k: int, end: int, u: Direction, v: Direction) -> Form:
        """Return u·N v."""
        sign, size = (ONE, -ONE)[end], dot(u, v)
        return plus((sign, self.tensor(k, u, v)), (-sign * size, {(("low", "high")[end], k): ONE}))

    def _entry(self, k: int, end: int, i: int, j: int) -> Form:
        e = self._cone(k, end).basis(self._turned.frames[k])
        return self._kernel(k, end, e[i], e[j])

    def _most(self, k: int, end: int, of: Range, at: tuple[int, int]) -> Form:
        """Return an upper bound on x Nᵢⱼ for a ≤ x ≤ b."""
        (a, b), (i, j) = of, at
        N, products = self._entry(k, end, i, j), self._turned.products[3 * k : 3 * k + 3]
        if i == j:
            return plus((b, N))
        low, high = self._cone(k, end).limits(products, end)[frozenset((i, j))]
        if low >= 0 or high <= 0:
            return plus((b if low >= 0 else a, N))
        slope = (b * high - a * low) / (high - low)
        return plus((slope, N), ((a - slope) * low, mass(k)))

    def _cone(self, k: int, end: int) -> Cone:
        cone = self._turned.cones[2 * k + end]
        if cone is None:
            raise NotProven("an axis that may have any direction")
        return cone

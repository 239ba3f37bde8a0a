"""The rows of an outer relaxation off the pin axis, where the axes turn with the densities.

`Outer`'s rows on the inertias A, B and C hold for the principal ones. Beside them, with P, I, Λ and
Λ' as in `tilted_columns`, for vectors u, v and n of any length:

    factors   (u·F − a m)(v·F − b m) ÷ m ≥ 0 if neither factor is negative in the box, or u = v and
              a = b:  u·P v − b u·F − a v·F + a b m ≥ 0. With m between m₁ and m₂, |F| ≤ T is
              p ≤ T² (1/m₁ + 1/m₂ − m/(m₁ m₂)), and |F| ≥ T is p ≥ T² (2/m₀ − m/m₀²) for any m₀
    between   Λ n·n ≤ n·I n ≤ Λ' n·n
    kernel    N n = 0, with N = I − Λ E of the low axis, N = Λ' E − I of the high one. A box holds
              n = e₀ + s e₁ + t e₂ in a cone: a ≤ s ≤ b, c ≤ t ≤ d. N has no negative eigenvalue,
              so a N₁₁ ≤ s N₁₁ ≤ b N₁₁; elsewhere Nᵢⱼ lies between l m and h m, as do the frame's
              products of inertia (perpendicular vectors: E adds nothing), and s Nᵢⱼ lies below the
              chord of max(a Nᵢⱼ, b Nᵢⱼ) from l m to h m. So  N₀ⱼ + s N₁ⱼ + t N₂ⱼ = 0  is two rows
    square    with n₀ amid the cone, δ = n₀ − n, r and q half the widths of s and t:
              n₀·N n₀ = δ·N δ ≤ r² N₁₁ + q² N₂₂ + 2 r q |N₁₂|, and the last of these is at most
              r² N₁₁ + q² N₂₂, or 2 r q times the chord of |N₁₂|
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cached_property
from math import inf, pi, tan

import numpy as np

from optimizer.ball.figures import PIN_DISTANCE, TOP_WEIGHT
from optimizer.ball.linear_rows import Name
from optimizer.lineup.proof.affine import ProofRow, Range
from optimizer.lineup.proof.boxes import LineupBox
from optimizer.lineup.proof.cones import Cone, TurnedBox
from optimizer.lineup.proof.relaxation import Outer
from optimizer.lineup.proof.tilted_columns import TiltedColumns, bent
from optimizer.lineup.target_rows import SORTED
from shared.arrays import Array

CUT = 1e-8
"""cm². A point that breaks a row by less needs no cut."""
_EYE = np.eye(3)


class Tilted(TiltedColumns, Outer):
    """The rows of a line-up whose parts don't all stand on the pin axis, over its columns."""

    @cached_property
    def cuts(self) -> list[list[ProofRow]]:
        """The rows that points broke, class by class."""
        return [[] for _ in self.maps]

    def rows(self, box: LineupBox, classes: Iterable[int] | None = None) -> Iterator[ProofRow]:
        """Yield rows that every line-up in `box` satisfies, of some classes, by default all."""
        assert isinstance(box, TurnedBox)  # noqa: S101 - for mypy: they are made in `whole`
        for k in range(len(self.maps)) if classes is None else classes:
            c, products = box.c[3 * k : 3 * k + 3], box.products[3 * k : 3 * k + 3]
            yield from self._once(self._limit_rows, k, 0.0)
            yield from self._once(self._factor_rows, k, c)
            yield from self._once(self._lever_rows, k, c[2][0])
            yield from self._once(self._axis_rows, k, SORTED, box.figures)
            yield from self._once(self._difference_rows, k, SORTED, box.figures)
            yield from self._once(self._frame_rows, k, products)
            for end in (0, 1):
                if (cone := box.cones[2 * k + end]) is not None:
                    yield from self._once(self._kernel_rows, k, end, cone, products)
            yield from self.cuts[k]

    def cut(self, x: Array) -> bool:
        """Add rows on any line-up that `x` breaks, and return whether there are any."""
        before = sum(map(len, self.cuts))
        for k, cuts in enumerate(self.cuts):
            F, m, (low, high) = (
                self.firsts[k] @ x,
                float(self.mass[k].row @ x),
                self.extremes[k] @ x,
            )
            inertia, axes = np.linalg.eigh(self.inertia[k] @ x)
            if inertia[0] < low - CUT:
                cuts.append(self._between(k, 0, axes[:, 0]))
            if inertia[2] > high + CUT:
                cuts.append(self._between(k, 1, axes[:, 2]))
            over, ways = np.linalg.eigh(self.levers[k] @ x - np.outer(F, F) / m)
            if over[0] < -CUT:
                u = ways[:, 0]
                cuts.append(self._square(k, u, float(u @ F) / m))
        return sum(map(len, self.cuts)) > before

    def _row_at_least(self, k: int, row: Array, value: float, *kind: str | int | float) -> ProofRow:
        """Return the row: `row` times the columns is at least a value."""
        name, scale = Name(str(kind[0])), self.mass[k].scale
        return ProofRow(name, row, value, inf, price=1.0, kind=kind, scale=scale)

    def _factors(self, k: int, u: Array, a: float, v: Array, b: float) -> Array:
        """Return (u·F − a m)(v·F − b m) ÷ m (c,)."""
        F = self.firsts[k]
        lever = bent(self.levers[k], u, v)
        return np.asarray(lever - b * (u @ F) - a * (v @ F) + a * b * self.mass[k].row)

    def _square(self, k: int, u: Array, at: float) -> ProofRow:
        """Return the row (u·F − a m)² ÷ m ≥ 0."""
        row = self._factors(k, u, at, u, at)
        return self._row_at_least(k, row, 0.0, "p_square", k, *u.tolist(), at)

    def _factor_rows(self, k: int, c: tuple[Range, ...]) -> Iterator[ProofRow]:
        """Yield the rows that hold F within the box, and P to F."""
        ends = [
            (axis, end, sign * _EYE[axis], sign * c[axis][end])
            for axis in range(3)
            for end, sign in enumerate((1.0, -1.0))
        ]
        for axis, end, u, at in ends:
            row = u @ self.firsts[k] - at * self.mass[k].row
            yield self._row_at_least(k, row, 0.0, "place", k, axis, end)
        for i, one in enumerate(ends):
            for other in ends[:i]:
                row = self._factors(k, *one[2:], *other[2:])
                yield self._row_at_least(k, row, 0.0, "p_product", k, *one[:2], *other[:2])
        for axis, (a, b) in enumerate(c):
            yield from (self._square(k, _EYE[axis], at) for at in (a, (a + b) / 2, b))

    def _lever_rows(self, k: int, lowest: float) -> Iterator[ProofRow]:
        """Yield the limits on the CG; their CGs are no lower than `lowest`, cm."""
        linear_map, P, m = self.maps[k], self.levers[k], self.mass[k].row
        p, level, (light, heavy) = np.trace(P), P[0, 0] + P[1, 1], self.masses[k]
        least, most = self.offset
        yield self._row_at_least(k, p - least**2 * m, 0.0, "near", k)
        if most < inf:
            yield self._row_at_least(k, most**2 * m - p, 0.0, "far", k)
        for number, limit in enumerate(self.limits):
            bound, up = limit.bound, limit.bound.side == "max"
            value = bound.value + bound.way * self.level * (bound.tolerance or 0.0)
            if limit.k != k or value <= 0.0:
                continue
            if bound.figure == TOP_WEIGHT:
                square = (value * linear_map.arm / linear_map.mass) ** 2
                if up:
                    row, room = -p - square / (light * heavy) * m, -square / light - square / heavy
                    yield self._row_at_least(k, row, room, "top_most", number)
                for at in () if up else dict.fromkeys((light, (light + heavy) / 2, heavy)):
                    row, room = p + square / at**2 * m, 2.0 * square / at
                    at_mass = at * linear_map.mass
                    yield self._row_at_least(k, row, room, "top_least", number, at_mass)
            elif bound.figure == PIN_DISTANCE and value < linear_map.radius * pi / 2:
                over = tan(value / linear_map.radius) ** 2 * P[2, 2] - level
                if up:
                    yield self._row_at_least(k, over, 0.0, "mark_most", number)
                    yield self._row_at_least(k, self.firsts[k][2], 0.0, "mark_up", number)
                elif lowest >= 0.0:
                    yield self._row_at_least(k, -over, 0.0, "mark_least", number)

    def _between(self, k: int, end: int, n: Array) -> ProofRow:
        """Return the row: about `n` the inertia is at least the least, or at most the greatest."""
        row = bent(self.kernel(k, end), n, n)
        return self._row_at_least(k, row, 0.0, "between", k, end, *n.tolist())

    def _frame_rows(self, k: int, products: tuple[Range, ...]) -> Iterator[ProofRow]:
        """Yield the rows that need no cone: about the frame's vectors, and their products."""
        for n in (*self.frames[k], *_EYE):
            yield from (self._between(k, end, n) for end in (0, 1))
        for pair, ends in enumerate(products):
            for end, sign in enumerate((1.0, -1.0)):
                row = sign * (self.product(k, pair) - ends[end] * self.mass[k].row)
                yield self._row_at_least(k, row, 0.0, "product", k, pair, end)

    def _kernel_rows(
        self, k: int, end: int, cone: Cone, products: tuple[Range, ...]
    ) -> Iterator[ProofRow]:
        """Yield the rows of an axis that lies in a cone."""
        e, m, limits = cone.basis(self.frames[k]), self.mass[k].row, dict[frozenset[int], Range]()
        N = np.einsum("ai,ijc,bj->abc", e, self.kernel(k, end), e)
        for pair, (low, high) in enumerate(products):
            limits[frozenset(cone.turned(pair))] = (low, high) if end == 0 else (-high, -low)

        def most(a: float, b: float, i: int, j: int) -> Array:
            """Return an upper bound (c,) on x Nᵢⱼ for a ≤ x ≤ b."""
            low, high = limits.get(frozenset((i, j)), (0.0, inf))
            if low >= 0.0 or high <= 0.0:
                return np.asarray((b if low >= 0.0 else a) * N[i, j])
            slope = (b * high - a * low) / (high - low)
            return np.asarray(slope * N[i, j] + (a - slope) * low * m)

        (a, b), (c, d) = cone.s, cone.t
        of = (k, end)
        for j in range(3):
            for sign, sides in ((1, ((a, b), (c, d))), (-1, ((-b, -a), (-d, -c)))):
                row = sign * N[0, j] + most(*sides[0], 1, j) + most(*sides[1], 2, j)
                yield self._row_at_least(k, row, 0.0, "axis", *of, j, sign)
        r, q = (b - a) / 2, (d - c) / 2
        squares, amid = r * r * N[1, 1] + q * q * N[2, 2], np.array([1.0, (a + b) / 2, (c + d) / 2])
        near = squares - bent(N, amid, amid)
        yield self._row_at_least(k, near + squares, 0.0, "axis_square", *of, 0)
        row = near + 2.0 * r * q * most(-1.0, 1.0, 1, 2)
        yield self._row_at_least(k, row, 0.0, "axis_square", *of, 1)

"""The rows of an outer relaxation off the pin axis, where the axes turn with the densities.

Besides `Outer`'s, each class has columns for P = F Fᵀ ÷ m (its trace is p) and for its least and
greatest principal inertia, Λ and Λ'. The inertia I = tr(S − P) E − (S − P), S the second moments,
is linear in them. The intermediate inertia is tr I − Λ − Λ': `Outer`'s rows on A, B and C hold.
Beside them, for vectors u, v and n of any length:

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

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from math import inf, pi, tan

import numpy as np

from optimizer.ball.figures import PIN_DISTANCE, TOP_WEIGHT
from optimizer.ball.linear_rows import Name
from optimizer.lineup.proof.affine import Affine, ProofRow, Range
from optimizer.lineup.proof.boxes import LineupBox
from optimizer.lineup.proof.cones import PAIRS, Cone, TurnedBox, frame_near
from optimizer.lineup.proof.relaxation import NONE, Outer
from optimizer.lineup.rows import Lineup
from optimizer.lineup.target_rows import SORTED
from shared.arrays import Array

ENTRIES = ((0, 0), (1, 1), (0, 1), (0, 2), (1, 2))
"""The entries of P that have columns; the last of its diagonal is p less the other two."""
CUT = 1e-8
"""cm². A point that breaks a row by less needs no cut."""
_EYE = np.eye(3)


class Tilted(Outer):
    """The rows of a line-up whose parts don't all sit on the pin axis.

    `F` (3, c), `P` and `inertia` (3, 3, c), `extremes` (2, c) are rows over the columns, one for
    each class; `frames` are vectors (3, 3) near the principal axes, a row each.
    """

    OWN = len(ENTRIES) + 2

    aligned = False

    def __init__(
        self,
        lineup: Lineup,
        level: float = 0.0,
        share: float = 1.0,
        steps: Mapping[int, float] = NONE,
    ) -> None:
        super().__init__(lineup, level, share, steps)
        classes, middle = range(len(self.maps)), lineup.columns.middle
        self.F = [np.array([self.first(k, axis).row for axis in range(3)]) for k in classes]
        self.P = [self._levers(k) for k in classes]
        self.inertia = [self._inertia(k) for k in classes]
        self.extremes = [self._extremes(k) for k in classes]
        balls = (one.ball(lineup.columns.densities(k, middle)) for k, one in enumerate(self.maps))
        self.frames = [frame_near(ball.radii.axes) for ball in balls]
        self.cuts: list[list[ProofRow]] = [[] for _ in classes]

    def bounds(self, box: LineupBox) -> tuple[Array, Array]:
        """Return the bounds of the columns."""
        lower, upper = np.zeros((2, self.count))
        lower[: self.n], upper[: self.n] = np.array(box.densities).T
        at = self.n + len(self.maps)
        lower[at : at + 3], upper[at : at + 3] = np.square(self.shared(box.figures)).T
        for k, (light, heavy) in enumerate(self.masses):
            most = np.max(np.abs(box.c[3 * k : 3 * k + 3]), axis=1)
            at = self._own(k)
            upper[self.n + k] = heavy * min(float(most @ most), self.offset[1] ** 2)
            for number, (i, j) in enumerate(ENTRIES, start=at):
                upper[number] = heavy * most[i] * most[j]
                lower[number] = 0.0 if i == j else -upper[number]
            low, apart, _ = self.own(k, box.figures)
            at += len(ENTRIES)
            ends = np.array([low, (low[0] + apart[0], low[1] + apart[1])]) ** 2
            lower[at : at + 2], upper[at : at + 2] = light * ends[:, 0], heavy * ends[:, 1]
        return lower, upper

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
            F, m, (low, high) = self.F[k] @ x, float(self.mass[k].row @ x), self.extremes[k] @ x
            inertia, axes = np.linalg.eigh(self.inertia[k] @ x)
            if inertia[0] < low - CUT:
                cuts.append(self._between(k, 0, axes[:, 0]))
            if inertia[2] > high + CUT:
                cuts.append(self._between(k, 1, axes[:, 2]))
            over, ways = np.linalg.eigh(self.P[k] @ x - np.outer(F, F) / m)
            if over[0] < -CUT:
                u = ways[:, 0]
                cuts.append(self._square(k, u, float(u @ F) / m))
        return sum(map(len, self.cuts)) > before

    def _own(self, k: int) -> int:
        """Return the first of the columns that class `k` has besides."""
        return self.n + len(self.maps) + 3 + k * self.OWN

    def _levers(self, k: int) -> Array:
        """Return the rows (3, 3, c) of P."""
        P = np.zeros((3, 3, self.count))
        for column, (i, j) in enumerate(ENTRIES, start=self._own(k)):
            P[i, j, column] = P[j, i, column] = 1.0
        P[2, 2] = self._column(self.n + k).row - P[0, 0] - P[1, 1]
        return P

    def _inertia(self, k: int) -> Array:
        """Return the rows (3, 3, c) of the inertia about the point that the target names."""
        J = self.maps[k].moments
        S = np.array([[self._figure(k, J[:, i, j]).row for j in range(3)] for i in range(3)])
        S = S - self._levers(k) if self.maps[k].about == "cg" else S
        return np.asarray(_EYE[:, :, None] * np.trace(S) - S)

    def _extremes(self, k: int) -> Array:
        """Return the rows (2, c) of the least and the greatest principal inertia."""
        return np.eye(self.count)[self._own(k) + len(ENTRIES) :][:2]

    def _inertias(self, k: int) -> list[Affine]:
        """Return the principal inertias, cm²: the least, the intermediate and the greatest."""
        low, high = self._extremes(k)
        three = (low, np.trace(self._inertia(k)) - low - high, high)
        return [replace(self.mass[k], row=row) for row in three]

    def _row_at_least(self, k: int, row: Array, value: float, *kind: str | int | float) -> ProofRow:
        """Return the row: `row` times the columns is at least a value."""
        name, scale = Name(str(kind[0])), self.mass[k].scale
        return ProofRow(name, row, value, inf, price=1.0, kind=kind, scale=scale)

    def _factors(self, k: int, u: Array, a: float, v: Array, b: float) -> Array:
        """Return (u·F − a m)(v·F − b m) ÷ m (c,)."""
        F = self.F[k]
        lever = bent(self.P[k], u, v)
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
            row = u @ self.F[k] - at * self.mass[k].row
            yield self._row_at_least(k, row, 0.0, "place", k, axis, end)
        for i, one in enumerate(ends):
            for other in ends[:i]:
                row = self._factors(k, *one[2:], *other[2:])
                yield self._row_at_least(k, row, 0.0, "p_product", k, *one[:2], *other[:2])
        for axis, (a, b) in enumerate(c):
            yield from (self._square(k, _EYE[axis], at) for at in (a, (a + b) / 2, b))

    def _lever_rows(self, k: int, lowest: float) -> Iterator[ProofRow]:
        """Yield the limits on the CG; their CGs are no lower than `lowest`, cm."""
        linear_map, P, m = self.maps[k], self.P[k], self.mass[k].row
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
                    yield self._row_at_least(k, self.F[k][2], 0.0, "mark_up", number)
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

    def product(self, k: int, pair: int) -> Array:
        """Return the row (c,) of the product of inertia of one of the frame's PAIRS."""
        i, j = PAIRS[pair]
        return bent(self.inertia[k], self.frames[k][i], self.frames[k][j])

    def kernel(self, k: int, end: int) -> Array:
        """Return the rows (3, 3, c) of N of the low axis (`end` 0) or of the high one (1)."""
        above = self.inertia[k] - _EYE[:, :, None] * self.extremes[k][end]
        return np.asarray(above if end == 0 else -above)

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


def bent(A: Array, u: Array, v: Array) -> Array:
    """Return the row (c,) of u·A v, of a matrix of rows (3, 3, c)."""
    return np.asarray(np.tensordot(np.outer(u, v), A))

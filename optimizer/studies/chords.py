"""What several weights can share about the ball's centre, exactly, by linear programs.

With one density poured in several weights the whole line is one polytope, too large to enumerate.
Its shadow on the plane of u = RG_low² and v = RG_high² is a polygon: two programs find its ends,
and the normal of each chord finds the corner beyond it, or that there is none (two programs a
corner). The duals of the last program name the limits that make the edge.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from optimizer.linear.maps import LinearMap
from optimizer.linear.rows import LinearRow
from optimizer.lineup.columns import Columns
from optimizer.lineup.solve import LinearSolver, Rows
from optimizer.studies.bands import Band, Line, Makers
from optimizer.studies.claims import Claim
from optimizer.studies.reach import OFF_PIN, Branch
from optimizer.studies.slices import Chain, Slices, chain
from shared.arrays import Array, frozen
from shared.errors import SolverError
from shared.tolerances import LEAST_DUAL

EMPTY = 1e-6
"""Total break (cm², ratios of weight, tolerances) of a line-up that can't be."""
BEYOND = 1e-9
"""cm² along a unit normal: a corner must lie farther beyond a chord than this."""
COST = 1e3
"""What a row costs to break, while it is asked whether there is a line-up at all."""


@dataclass(frozen=True, eq=False)
class Corner:
    """A corner of the polygon: (u, v), cm², and the densities that have it."""

    at: Array
    densities: Array


@dataclass(eq=False)
class Polygon:
    """The polygon of one choice of branches, one for each weight class of the line."""

    branches: Sequence[Branch]
    columns: Columns
    solver: LinearSolver
    claims: list[Claim | None] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.n = self.columns.figures
        self.rows = list(self._rows())
        free = self.columns.lower[: self.n], self.columns.upper[: self.n]
        most = max(one.map.radius for one in self.branches) ** 2
        self.lower = np.concatenate([free[0], [0.0, 0.0]])
        self.upper = np.concatenate([free[1], [most, 2 * most]])

    def _rows(self) -> list[LinearRow]:
        rows: list[LinearRow] = []

        def add(label: str, x: Array, low: float, high: float, claim: Claim | None = None) -> None:
            rows.append(LinearRow(label, x, low, high))
            self.claims.append(claim)

        for k, branch in enumerate(self.branches):
            one, inertia = branch.map, branch.inertia
            name = f"{one.label}: "

            def row(slope: Array, u: float = 0.0, v: float = 0.0, k: int = k) -> Array:
                by_density = self.columns.scatter(k, slope)[: self.n]
                return np.concatenate([by_density, [u, v]])

            add(f"{name}weight", row(one.volumes / one.mass), 1.0, 1.0)
            add(f"{name}low RG", row(inertia[2] / one.mass, u=-1.0), 0.0, 0.0)
            add(f"{name}high RG", row(inertia[branch.high] / one.mass, v=-1.0), 0.0, 0.0)
            for half in branch.half:
                add(f"{name}{half.claim.limit}", row(half.slope), half.bound, np.inf, half.claim)
        above = np.zeros(self.n + 2)
        above[-2:] = -1.0, 1.0
        add("low ≤ high", above, 0.0, np.inf, Claim(OFF_PIN))
        return rows

    def band(self) -> tuple[Band, float] | None:
        """Return the band and how far its lines may be off (cm), or None where it is empty."""
        if not self._any():
            return None
        corners, makers = self._corners()
        around = [*range(len(corners)), 0]
        edges = np.array(list(pairwise(around))[: len(makers)]).reshape(-1, 2)
        at = np.array([corner.at for corner in corners])
        slices = Slices(
            np.array([corner.densities for corner in corners]),
            at[:, 0],
            np.zeros(len(at)),
            at[:, 1],
            edges,
        )
        found = chain(slices.knots, slices.ends)
        self._measure(found)
        return self._band(found, at, edges, makers), found.error

    def _any(self) -> bool:
        """Whether there is a line-up at all, by the least total break of the rows."""
        elastic = [
            LinearRow(r.label, r.coefficients, r.lower, r.upper, price=COST) for r in self.rows
        ]
        rows = Rows.of(elastic)
        optimum = self.solver.best(rows, self.lower, self.upper)
        return float(np.sum(rows.broken(optimum.x))) <= EMPTY

    def farthest(self, direction: Array) -> tuple[Corner, Makers]:
        """Return the farthest corner in a direction (2,) of (u, v), and what stops it there."""
        aim = np.zeros(self.n + 2)
        aim[-2:] = direction
        rows = Rows.of([*self.rows, LinearRow("aim", aim, 0.0, np.inf, tolerance=1.0)])
        optimum = self.solver.best(rows, self.lower, self.upper)
        gains = np.abs(optimum.duals[:-1])
        order = np.argsort(-gains, kind="stable")
        made = [c for i in order if gains[i] > LEAST_DUAL and (c := self.claims[i])]
        return Corner(optimum.x[-2:], optimum.x[: self.n]), tuple(dict.fromkeys(made))

    def _corners(self) -> tuple[list[Corner], list[Makers]]:
        """Return the corners, counter-clockwise, and what makes the edge after each."""
        first = self.farthest(np.array([-1.0, 0.0]))[0]
        last = self.farthest(np.array([1.0, 0.0]))[0]
        if float(np.max(np.abs(first.at - last.at))) <= 10 * BEYOND:
            up, down = (self.farthest(np.array([0.0, s]))[0] for s in (1.0, -1.0))
            if float(np.max(np.abs(up.at - down.at))) <= 10 * BEYOND:
                return [first], []
            first, last = down, up
        out = self._between(first, last)
        back = self._between(last, first)
        corners = [corner for corner, _ in (*out, *back)]
        return corners, [by for _, by in (*out, *back)]

    def _between(self, a: Corner, b: Corner) -> list[tuple[Corner, Makers]]:
        """Return the corners from `a` up to `b` (itself left out) on the right of the chord."""
        run = b.at - a.at
        size = float(np.linalg.norm(run))
        normal = np.array([run[1], -run[0]]) / size
        beyond, by = self.farthest(normal)
        if float(normal @ (beyond.at - a.at)) <= BEYOND:
            return [(a, by)]
        if min(float(np.linalg.norm(beyond.at - end.at)) for end in (a, b)) <= BEYOND:
            return [(a, by)]
        return [*self._between(a, beyond), *self._between(beyond, b)]

    def _balls(self, densities: Array) -> list[tuple[LinearMap, Array]]:
        return [(b.map, densities[self.columns.place[k]]) for k, b in enumerate(self.branches)]

    def _measure(self, found: Chain) -> None:
        """Raise SolverError where a ball does not measure what is claimed."""
        for u, *mixes in zip(found.u.tolist(), found.low, found.high, strict=True):
            for mix in mixes:
                for one, densities in self._balls(mix.densities):
                    radii = one.ball(densities).radii
                    off = abs(radii.low - np.sqrt(u)), abs(radii.high - np.sqrt(mix.square))
                    if max(off) > 1e-6:
                        raise SolverError(f"{one.label}: the window measures {max(off):.2g} off")

    def _band(
        self, found: Chain, at: Array, edges: np.ndarray, makers: Sequence[Makers]
    ) -> Band:
        rg = np.sqrt(found.u)

        def line(side: int, mixes: Sequence[object]) -> Line:
            by = []
            for u in ((found.u[1:] + found.u[:-1]) / 2).tolist():
                by.append(next((m for m, value in _crossed(u, at, edges, makers, side)), ()))
            value = np.sqrt([mix.square for mix in mixes]) - rg  # type: ignore[attr-defined]
            return Line(frozen(value), tuple(by))

        ends: list[Makers] = []
        for u in (found.u[0], found.u[-1]):
            flat = [m for (i, j), m in zip(edges, makers, strict=True) if _upright(at, i, j, u)]
            ends.append(flat[0] if flat else ())
        return Band(frozen(rg), line(0, found.low), line(1, found.high), (ends[0], ends[1]))


def _upright(at: Array, i: int, j: int, u: float) -> bool:
    return bool(max(abs(at[i, 0] - u), abs(at[j, 0] - u)) <= 10 * BEYOND)


def _crossed(
    u: float, at: Array, edges: np.ndarray, makers: Sequence[Makers], side: int
) -> list[tuple[Makers, float]]:
    """Return what makes the edges over `u`, the lowest (side 0) or the highest (1) first."""
    found = []
    for (i, j), by in zip(edges, makers, strict=True):
        (ua, va), (ub, vb) = at[i], at[j]
        if min(ua, ub) < u < max(ua, ub):
            found.append((by, float(va + (vb - va) * (u - ua) / (ub - ua))))
    return sorted(found, key=lambda item: item[1], reverse=bool(side))

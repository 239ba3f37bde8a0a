"""A line-up's linear program in the plane of u = RG_low² and v = RG_high², all parts on the axis.

Columns: the densities of all weights (shared ones once), u and v. About the centre it is exact.
About the CG, v = I⊥/m − c² has a tangent in c, exact where it touches; the program is then solved
again at the c that came out, until that stays.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.lineup.claims import Claim, Kind, Other
from optimizer.lineup.columns import Columns
from optimizer.lineup.engine.linear_solver import LinearSolver, Rows
from optimizer.questions.window.exact.branch import Branch
from optimizer.questions.window.exact.makers import Makers
from shared.arrays import Array
from shared.errors import SolverError
from shared.tolerances import LEAST_DUAL

EMPTY = 1e-6
"""Total violation (cm², ratios of weight, tolerances) above which there is no line-up."""
COST = 1e3
"""The price of violating a row, in cm² of the figure that is raised."""
STAYS = 1e-9
"""cm². A tangent this close to c² counts as c² itself."""
PASSES = 30


@dataclass(frozen=True, eq=False)
class Corner:
    """The optimum of a program: (u, v), cm², the densities, what stops it there, heights of CGs."""

    at: Array
    densities: Array
    makers: Makers
    c: Array


@dataclass(frozen=True, eq=False)
class PlaneProgram:
    """The program of one choice of branches, one for each weight class of the line."""

    branches: Sequence[Branch]
    columns: Columns
    solver: LinearSolver

    @property
    def n(self) -> int:
        """How many densities there are."""
        return self.columns.figures

    @property
    def about_cg(self) -> bool:
        """Whether RGs are about the CG."""
        return self.branches[0].map.about == "cg"

    def c(self, densities: Array) -> Array:
        """Return the height of each CG (k,), cm; zeros where RGs are about the centre."""
        return np.array([float(self._height(k) @ densities) for k in range(len(self.branches))])

    def _height(self, k: int) -> Array:
        return self.columns.scatter(k, self.branches[k].height)[: self.n]

    def rows(self, c: Array) -> Iterator[tuple[LinearRow, Claim | None]]:
        """Yield the rows with tangents at `c` (k,), each with its limit."""
        for k in range(len(self.branches)):
            yield from self._of_weight(k, float(c[k]))
        above = np.zeros(self.n + 2)
        above[-2:] = -1.0, 1.0
        yield LinearRow(Name("low ≤ high"), above, 0.0, np.inf), Other(Kind.NO_DIFFERENTIAL)

    def _of_weight(self, k: int, c: float) -> Iterator[tuple[LinearRow, Claim | None]]:
        branch = self.branches[k]
        linear_map, lift = branch.map, 2.0 * c * self._height(k)
        inertia = branch.inertia / linear_map.mass
        alike = Other(Kind.ALIKE, weight=linear_map.label)

        def row(name: str, slope: Array, ends: tuple[float, float]) -> LinearRow:
            whole = np.concatenate([self.columns.scatter(k, slope)[: self.n], [0.0, 0.0]])
            return LinearRow(Name(name, weight=linear_map.label), whole, *ends)

        def level(name: str, axis: int, figure: int, ends: tuple[float, float]) -> LinearRow:
            """Return the row of an axis's RG² less a figure (-2 u, -1 v)."""
            lifted = float(branch.lifted(axis))
            whole = row(name, inertia[axis], (ends[0] - lifted * c * c, ends[1] - lifted * c * c))
            whole.coefficients[: self.n] -= lifted * lift
            whole.coefficients[figure] = -1.0
            return whole

        low, middle, high = branch.axes
        yield row("weight", linear_map.volumes / linear_map.mass, (1.0, 1.0)), None
        yield level("low RG", low, -2, (0.0, 0.0)), None
        yield level("high RG", high, -1, (0.0, 0.0)), None
        if not linear_map.symmetric:
            yield level("low ≤ intermediate", middle, -2, (0.0, np.inf)), alike
            yield level("intermediate ≤ high", middle, -1, (-np.inf, 0.0)), alike
        for half in branch.half:
            kept = row(half.claim.words, half.slope, (half.bound, np.inf))
            yield kept, self._named(half.claim, kept.coefficients)

    def _named(self, claim: Claim, slope: Array) -> Claim:
        """Return a limit's claim, without its weight where several weights share the density."""
        column = np.flatnonzero(slope)
        several = len(column) == 1 and sum(column[0] in own for own in self.columns.poured) > 1
        return replace(claim, weight=None) if several else claim

    def farthest(
        self, direction: Array, c: Array | None = None, u: float | None = None
    ) -> Corner | None:
        """Return the farthest corner in a direction (2,) of (u, v), at `u` if it is given.

        The first tangents are made at `c` (k,). None where nothing is found: about the centre, that
        proves that there is nothing.
        """
        at = np.zeros(len(self.branches)) if c is None else c
        share = 1.0
        for tried in range(PASSES):
            corner = self._best(direction, at, u)
            if corner is None or float(np.max((corner.c - at) ** 2)) <= STAYS:
                return corner
            share = 1.0 if tried < 6 else 0.5 ** (1 + tried // 8)
            at = at + share * (corner.c - at)
        return None

    def _best(self, direction: Array, c: Array, u: float | None) -> Corner | None:
        rows, claims = zip(*self.rows(c), strict=True)
        aim = np.zeros(self.n + 2)
        aim[-2:] = direction
        lower, upper = self._bounds(u)
        aimed = LinearRow(Name("aim"), aim, 0.0, np.inf, tolerance=1.0)
        try:
            optimum = self.solver.best(Rows.of([*rows, aimed]), lower, upper)
        except SolverError:  # it is empty, or one point that rounding has just missed
            elastic = Rows.of([*(replace(row, price=COST) for row in rows), aimed])
            optimum = self.solver.best(elastic, lower, upper)
            if float(np.sum(elastic.broken(optimum.x))) > EMPTY:
                return None
        gains = np.abs(optimum.duals[:-1])
        order = np.argsort(-gains, kind="stable")
        makers = dict.fromkeys(
            claim for i in order if gains[i] > LEAST_DUAL and (claim := claims[i])
        )
        x = optimum.x[: self.n]
        return Corner(optimum.x[-2:], x, tuple(makers), self.c(x))

    def _bounds(self, u: float | None) -> tuple[Array, Array]:
        most = max(branch.map.radius for branch in self.branches) ** 2
        box = self.columns.lower[: self.n], self.columns.upper[: self.n]
        low, high = (0.0, most) if u is None else (u, u)
        return np.r_[box[0], low, 0.0], np.r_[box[1], high, 2 * most]

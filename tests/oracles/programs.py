"""Independent optima of aligned ellipsoid line-ups: the oracle's figures, and scipy's linprog.

All parts on the pin axis: then mass, first moment along the pin and the three inertias about the
centre are linear in the densities, and with the CG's height c given, so are those about the CG.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from oracles.balls import about_centre
from oracles.lineups import OUNCE, RADIUS, Line
from scipy.optimize import linprog

ROOM = 1e-6
"""Tolerances that a fixed margin gives up, so that the next program is not empty by rounding."""


@dataclass(frozen=True)
class Program:
    """Equations matrix·ρ = right, and margins slope·ρ + offset ≥ tolerance·t, t to be raised."""

    matrix: np.ndarray
    right: np.ndarray
    slope: np.ndarray
    offset: np.ndarray
    tolerance: np.ndarray

    def highest(self, least: np.ndarray, free: np.ndarray) -> float | None:
        """Return the highest t of the margins `free` with every margin at `least` tolerances.

        None where nothing satisfies the rest.
        """
        n = self.matrix.shape[1]
        need = np.column_stack([-self.slope, np.where(free, self.tolerance, 0.0)])
        bound = self.offset - np.where(free, 0.0, self.tolerance * least)
        kept = free | np.isfinite(least)
        found = linprog(
            np.r_[np.zeros(n), -1.0],
            A_ub=need[kept],
            b_ub=bound[kept],
            A_eq=np.column_stack([self.matrix, np.zeros(len(self.right))]),
            b_eq=self.right,
            bounds=[(0.0, 25.0)] * n + [(None, None)],
            options={"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10},
        )
        return float(found.x[-1]) if found.status == 0 else None

    def best(self) -> tuple[float, frozenset[int]] | None:
        """Return the largest smallest margin and which margins hold it (dual > 0), or None."""
        n = self.matrix.shape[1]
        found = linprog(
            np.r_[np.zeros(n), -1.0],
            A_ub=np.column_stack([-self.slope, self.tolerance]),
            b_ub=self.offset,
            A_eq=np.column_stack([self.matrix, np.zeros(len(self.right))]),
            b_eq=self.right,
            bounds=[(0.01, 25.0)] * n + [(None, None)],
            options={"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10},
        )
        if found.status != 0:
            return None
        holding = np.flatnonzero(np.abs(found.ineqlin.marginals) > 1e-7)
        return float(found.x[-1]), frozenset(holding.tolist())

    def evenly_out(self) -> np.ndarray:
        """Return all margins, leximin, by the textbook: fix only what can't be raised alone."""
        count = len(self.offset)
        level, free = np.full(count, -np.inf), np.ones(count, dtype=bool)
        while free.any():
            t = self.highest(level, free)
            assert t is not None
            floor = np.where(free, t - ROOM, level)
            for i in np.flatnonzero(free):
                alone = self.highest(floor, np.arange(count) == i)
                assert alone is not None
                if alone <= t + 1e-4:
                    level[i], free[i] = t - ROOM, False
        return level


def program(
    line: Line, label: str, *, pin: str = "low", side: float = 0.0, c: float | None = None
) -> Program:
    """Return the program of one weight with the pin axis "low" or "high".

    `side` is the sign of the CG where a least top weight needs one; `c` fixes the CG's height, cm,
    and is needed about the CG.
    """
    mass, n = line.weights[label], len(line.solids)
    unit = [about_centre(line.solids, one) for one in np.eye(n)]
    m = np.array([one[0] for one in unit])
    first = np.array([one[1][2] for one in unit])
    across, along = (np.array([one[2][k, k] for one in unit]) for k in (0, 2))
    low, high = line.rg[0], line.rg[0] + line.differential[0]
    spin, swing = (low, high) if pin == "low" else (high, low)
    lift = 0.0 if c is None or line.about == "centre" else c * c
    rows = [m / mass, along / mass, across / mass]
    right = [1.0, spin**2, swing**2 + lift]
    if c is not None:
        rows.append(first / mass)
        right.append(c)
    margins = list(_margins(line, first, side))
    return Program(
        np.array(rows),
        np.array(right),
        np.array([slope for slope, _, _ in margins]),
        np.array([offset for _, offset, _ in margins]),
        np.array([tolerance for _, _, tolerance in margins]),
    )


def _margins(
    line: Line, first: np.ndarray, side: float
) -> Iterator[tuple[np.ndarray, float, float]]:
    for one, (low, high), spread in zip(
        np.eye(len(line.solids)), line.ranges, line.spread, strict=False
    ):
        if low < high:
            yield one, -low, spread
            yield -one, high, spread
    least, most = line.top
    if most is not None:
        for sign in (1.0, -1.0):
            yield sign * first / RADIUS, most * OUNCE, 0.25 * OUNCE
    if least is not None:
        yield side * first / RADIUS, -least * OUNCE, 0.25 * OUNCE

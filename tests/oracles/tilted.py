"""Balls of cores off the pin axis, thrown or sought by scipy's SLSQP, from handbook formulas alone.

Mass, first moments and inertia about the centre are linear in the densities; the rest is numpy's.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from oracles.balls import about_centre
from oracles.lineups import OUNCE, RADIUS, Line
from scipy.optimize import minimize

MET = 1e-8
"""Of the class weight, cm and oz: what SLSQP may leave of an equation."""


@dataclass(frozen=True)
class Tilted:
    """One weight of a line: what one g/cm³ of each solid gives: g (n,), g cm (n, 3), g cm²."""

    line: Line
    label: str
    mass: np.ndarray
    first: np.ndarray
    inertia: np.ndarray

    @classmethod
    def of(cls, line: Line, label: str = "15") -> Tilted:
        """Return the figures of a line's solids."""
        unit = [about_centre(line.solids, one) for one in np.eye(len(line.solids))]
        return cls(line, label, *(np.array([one[k] for one in unit]) for k in range(3)))

    @property
    def ranges(self) -> tuple[np.ndarray, np.ndarray]:
        """The least and the greatest densities (n,)."""
        low, high = np.array(self.line.ranges[: len(self.mass)]).T
        return low, high

    def figures(self, x: np.ndarray) -> np.ndarray:
        """Return low RG, differential (cm) and top weight (oz) of balls (k, n): (k, 3)."""
        m = self.line.weights[self.label]
        c = x @ self.first / m
        about = np.tensordot(x, self.inertia, axes=1) / m
        if self.line.about == "cg":
            c2 = np.sum(c * c, axis=1)[:, None, None]
            about = about - c2 * np.eye(3) + c[:, :, None] * c[:, None, :]
        rg = np.sqrt(np.linalg.eigvalsh(about))
        top = np.linalg.norm(c, axis=1) * m / RADIUS / OUNCE
        return np.column_stack([rg[:, 0], rg[:, 2] - rg[:, 0], top])

    def thrown(self, random: np.random.Generator, count: int) -> np.ndarray:
        """Return densities (k, n) of balls of the class weight within ranges and top weight."""
        low, high = self.ranges
        x = low + random.beta(0.3, 0.3, (count, len(low))) * (high - low)
        j, each = random.integers(0, len(low), count), np.arange(count)
        x[each, j] = 0.0
        x[each, j] = (self.line.weights[self.label] - x @ self.mass) / self.mass[j]
        x = x[np.all((x >= low) & (x <= high), axis=1)]
        most = self.line.top[1]
        return x if most is None else x[self.figures(x)[:, 2] <= most]

    def best(self, rg: float, sign: float, starts: np.ndarray) -> float | None:
        """Return the greatest (1) or least (-1) differential that SLSQP finds at `rg`, cm."""
        m, (low, high), most = self.line.weights[self.label], self.ranges, self.line.top[1]

        def figure(x: np.ndarray, k: int) -> float:
            return float(self.figures(x[None])[0, k])

        rules = [
            {"type": "eq", "fun": lambda x: x @ self.mass / m - 1.0},
            {"type": "eq", "fun": lambda x: figure(x, 0) - rg},
        ]
        if most is not None:
            rules.append({"type": "ineq", "fun": lambda x: most - figure(x, 2)})
        found = []
        for start in starts:
            x = minimize(
                lambda x: -sign * 100.0 * figure(x, 1),
                start,
                method="SLSQP",
                bounds=list(zip(low, high, strict=True)),
                constraints=rules,
                options={"ftol": 1e-12},
            ).x
            off = [abs(rule["fun"](x)) for rule in rules[:2]]
            off += [-rule["fun"](x) for rule in rules[2:]]
            if max(off) <= MET and np.all((x >= low - MET) & (x <= high + MET)):
                found.append(figure(x, 1))
        return max(found, key=lambda value: sign * value, default=None)

"""One line-up's program in a hot loop, four ways on the same rows; and the cheapest mix.

The objectives are checked against each other before anything is timed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import cycle
from typing import Any

import cvxpy as cp
import numpy as np
from benchmarks.measuring import ROOT, Section, least, ratio, spent
from scipy.optimize import linprog

from optimizer.lineup.columns import columns
from optimizer.lineup.engine.linear_solver import MOST, LinearSolver, Rows
from optimizer.lineup.rows import Lineup
from optimizer.mixing.ingredients import Ingredient
from optimizer.mixing.recipe import Recipe
from optimizer.scenario import linear_maps, read_scenario

POINTS = 8
"""Points at which the rows are made, one after the other, as in a search."""
SPREAD = 0.01
"""How far they are apart, as a share of each density's range."""
FILLERS = (("iron", 7.87, 2.0), ("barite", 4.35, 0.9), ("calcite", 2.71, 0.4), ("glass", 0.22, 9.0))
RECIPE = Recipe(
    Ingredient("resin", 1.13, 3.0),
    tuple(Ingredient(*filler) for filler in FILLERS),
    loading=0.45,
    void=0.01,
    shrinkage=0.06,
)


def by_linprog(rows: Rows, lower: np.ndarray, upper: np.ndarray) -> float:
    """Return the objective as scipy finds it, the arrays made anew."""
    n, other = len(lower), np.flatnonzero(~rows.margin)
    k, a = len(other), rows.margin
    margins = np.column_stack([-rows.matrix[a], rows.tolerance[a], np.zeros((a.sum(), 2 * k))])
    elastic = np.column_stack([rows.matrix[other], np.zeros(k), np.eye(k), -np.eye(k)])
    up, low = np.isfinite(rows.upper[other]), np.isfinite(rows.lower[other])
    prices = rows.price[other]
    found = linprog(
        np.r_[np.zeros(n), -1.0, prices, prices],
        A_ub=np.vstack([margins, elastic[up], -elastic[low]]),
        b_ub=np.r_[-rows.lower[a], rows.upper[other][up], -rows.lower[other][low]],
        bounds=[*zip(lower, upper, strict=True), (-MOST, MOST), *[(0.0, None)] * (2 * k)],
    )
    return -float(found.fun)


class Stated:
    """The program as cvxpy states it, its matrix and ends being parameters."""

    def __init__(self, rows: Rows, lower: np.ndarray, upper: np.ndarray) -> None:
        a, n = rows.margin, len(lower)
        self.finite = [np.isfinite(rows.lower) & ~a, np.isfinite(rows.upper) & ~a]
        self.margins = cp.Parameter((int(a.sum()), n)), cp.Parameter(int(a.sum()))
        self.sides = [
            (cp.Parameter((int(f.sum()), n)), cp.Parameter(int(f.sum()))) for f in self.finite
        ]
        x, t, loss = cp.Variable(n), cp.Variable(), 0.0
        held = [x >= lower, x <= upper, t <= MOST, t >= -MOST]
        held.append(self.margins[0] @ x - self.margins[1] >= rows.tolerance[a] * t)
        for (matrix, end), finite, sign in zip(self.sides, self.finite, (1.0, -1.0), strict=True):
            broken = cp.Variable(int(finite.sum()), nonneg=True)
            held.append(sign * (matrix @ x - end) + broken >= 0.0)
            loss = loss + rows.price[finite] @ broken
        self.problem = cp.Problem(cp.Maximize(t - loss), held)

    def best(self, rows: Rows) -> float:
        """Return the objective of these rows."""
        a, ends = rows.margin, (rows.lower, rows.upper)
        self.margins[0].value, self.margins[1].value = rows.matrix[a], rows.lower[a]
        for (matrix, end), finite, at in zip(self.sides, self.finite, ends, strict=True):
            matrix.value, end.value = rows.matrix[finite], at[finite]
        self.problem.solve(solver=cp.HIGHS)
        return float(self.problem.value)


def in_turn(run: Callable[[Any], object], over: Sequence[Any]) -> Callable[[], object]:
    """Return what runs with the next of some arguments each time."""
    arguments = cycle(over)
    return lambda: run(next(arguments))


def line_up() -> Section:
    """Return the table of one line-up's program; the objectives must agree."""
    scenario = read_scenario(ROOT / "scenarios" / "juniper.toml", target_required=True)
    maps = linear_maps(scenario)
    line = Lineup(maps, columns(maps, scenario.sharing))
    lower, upper, random = line.columns.lower, line.columns.upper, np.random.default_rng(1)
    points = [
        np.clip(
            line.columns.middle + SPREAD * random.uniform(-1, 1, len(lower)) * (upper - lower),
            lower,
            upper,
        )
        for _ in range(POINTS)
    ]
    every = [Rows.of(line.margin_rows(x)) for x in points]
    solver, stated = LinearSolver(), Stated(every[0], lower, upper)
    ways: dict[str, Callable[[Rows], float]] = {
        "HiGHS, warm": lambda rows: solver.best(rows, lower, upper).objective,
        "scipy linprog": lambda rows: by_linprog(rows, lower, upper),
        "cvxpy, with parameters": stated.best,
        "cvxpy, built anew": lambda rows: Stated(rows, lower, upper).best(rows),
    }
    objectives = np.array([[run(rows) for rows in every] for run in ways.values()])
    apart = float(np.max(np.ptp(objectives, axis=0)))
    if apart > 1e-5:
        raise SystemExit("the ways to solve a program do not agree")
    runs = {name: in_turn(run, every) for name, run in ways.items()}
    runs["a pass: rows made, and HiGHS"] = in_turn(
        lambda x: solver.best(Rows.of(line.margin_rows(x)), lower, upper), points
    )
    took = least(runs)
    return Section(
        f"One line-up's program: {len(every[0].lower)} rows, {line.columns.count} columns and t",
        ("way", "time", "× HiGHS, warm"),
        [(name, spent(s), ratio(s, took["HiGHS, warm"])) for name, s in took.items()],
        f"Rows of {POINTS} points in turn. Objectives differ by {apart:.0e} tolerances at most.",
    )


def cheapest(density: float) -> float:
    """Return the price of a kg by a linear program over the cured volume fractions."""
    rho = np.array([RECIPE.cured[0], *(ingredient.density for ingredient in RECIPE.fillers)])
    price = np.array([one.price for one in (RECIPE.resin, *RECIPE.fillers)], dtype=float)
    solid = density / (1 - RECIPE.void)
    found = linprog(
        price * rho,
        A_ub=[[0.0, *np.ones(len(RECIPE.fillers))]],
        b_ub=[RECIPE.most_filler],
        A_eq=[np.ones(len(rho)), rho],
        b_eq=[1.0, solid],
    )
    return float(found.fun) / solid


def mix() -> Section:
    """Return the table of what is weighed for a density; the prices must agree."""
    densities = np.linspace(*(end.density for end in RECIPE.ends), 50)[1:-1].tolist()
    apart = max(abs((RECIPE.mix(one).price or 0.0) / cheapest(one) - 1.0) for one in densities)
    if apart > 1e-7:
        raise SystemExit("the corners of a recipe are not as cheap as the program")
    ways = {"corners of the recipe": RECIPE.mix, "scipy linprog": cheapest}
    took = least({name: in_turn(run, densities) for name, run in ways.items()})
    first = took["corners of the recipe"]
    return Section(
        f"The cheapest mix for a density, {len(FILLERS)} fillers",
        ("way", "time", "× corners"),
        [(name, spent(s), ratio(s, first)) for name, s in took.items()],
        f"The prices differ by at most {apart:.0e}.",
    )


def sections() -> Iterator[Section]:
    """Yield the tables."""
    yield line_up()
    yield mix()

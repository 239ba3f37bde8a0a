"""The rows at a point: exact there, tangent around it, and one source for every solver."""

from __future__ import annotations

import numpy as np
import pytest
from optimizer_texts import shipped
from oracles.balls import about_centre
from oracles.lineups import manufactured
from scipy.optimize import linprog

from optimizer.ball.linear_rows import Name
from optimizer.lineup.engine.linear_solver import MOST, LinearSolver, Rows
from optimizer.lineup.engine.stated_program import state_and_solve
from optimizer.lineup.margins import deviations, margins

FACET = "high and intermediate axis"
KINDS = ["aligned", "aligned triaxial", "tilted 15", "triaxial", "off axis"]


def _line(kind, seed=3):
    """A line of two weights with a free target, top weight, pin distance and one shared pour.

    Returned with densities of both weights, at which each weighs what it shall, off the target:
    a free target's column is tangent where the weight is met.
    """
    line, made = manufactured(np.random.default_rng(seed), kind, "cg", intermediate=True)
    heavy = [rho * (1.0 + 0.01 * np.sin(i)) for i, rho in enumerate(made)]
    light = [heavy[0], *(0.95 * rho for rho in heavy[1:])]
    limits = "pin_distance = { min = 10, max = 150, tolerance = 2 }\n"
    limits += (
        "density_step = { max = 1.5, tolerance = 0.03, "
        'between = [{ denser = "block", than = "cover", min = 0.2 }] }'
    )
    free = {
        name: (0.97 * span[0], 1.04 * span[0])
        for name, span in (
            ("rg", line.rg),
            ("differential", line.differential),
            ("intermediate", line.intermediate),
        )
    }
    weights = {
        label: float(about_centre(line.solids, densities)[0])
        for label, densities in (("15", heavy), ("14", light))
    }
    shared = {"cover": '"all"'}
    return line.but(weights=weights, limits=limits, same=shared, **free), (heavy, light)


def _point(one, densities):
    """The columns at these densities, the target's figures in the middle of their spans."""
    x = one.columns.middle.copy()
    for place, some in zip(one.columns.poured, densities, strict=True):
        x[place] = some
    return x


@pytest.mark.parametrize("kind", KINDS)
def test_a_row_is_exact_at_its_own_point(lineup, kind):
    """A margin's row says the measured slack there, an equation's the measured error in RG²."""
    line, densities = _line(kind)
    one = lineup(line)
    x = _point(one, densities)
    rows = {row.name: row for row in one.margin_rows(x)}
    figures = one.columns.target(x)
    wanted = {"low RG": figures[0], "high RG": figures[0] + figures[1]}
    wanted["intermediate RG"] = figures[0] + figures[1] - figures[2]
    for ball in one.balls(x):
        held = [m for m in margins(ball) if m.movable and not m.rule_only]
        assert held
        for margin in held:
            if margin.part == "cover" and ball.map.label != "15":
                continue  # one shared column, one row: the first weight's
            row = rows[Name(margin.bound)]
            assert row.coefficients @ x - row.lower == pytest.approx(margin.slack, abs=1e-9)
        measured = ball.radii.radii[[0, 2, 1]]
        for (name, radius), found in zip(wanted.items(), measured, strict=True):
            if kind == "aligned" and name == "intermediate RG":
                continue  # nothing is asked that symmetry gives
            row = rows[Name(name, weight=ball.map.label)]
            error = (found**2 - radius**2) * ball.properties.mass / ball.map.mass
            assert row.coefficients @ x - row.upper == pytest.approx(error, abs=1e-9)


@pytest.mark.parametrize("kind", KINDS)
def test_a_row_is_tangent_to_what_is_measured(lineup, kind):
    """Central differences of the row's own exact value, over densities and target columns."""
    line, densities = _line(kind)
    one = lineup(line)
    x = _point(one, densities)

    def values(at):
        rows = one.margin_rows(at)
        return np.array([row.coefficients @ at - row.lower for row in rows])

    rows, h = one.margin_rows(x), 1e-5
    tangent = np.array([row.name.of != FACET for row in rows])
    for j in range(one.columns.count):
        step = h * (np.arange(one.columns.count) == j)
        slope = (values(x + step) - values(x - step)) / (2 * h)
        stated = np.array([row.coefficients[j] for row in rows])
        assert np.allclose(slope[tangent], stated[tangent], rtol=2e-5, atol=2e-6)


@pytest.mark.parametrize("kind", ["triaxial", "off axis"])
def test_a_facet_cuts_off_no_ball_that_meets_the_target(lineup, kind):
    """About the centre, where inertias are linear: h² − i² is at least twice any product ÷ mass.

    The oracle measures other balls, turned by the axes of the first: of each the product across its
    low axis, and the facet's own value of the same is never more.
    """
    random = np.random.default_rng(11)
    line, made = manufactured(random, kind, "centre", intermediate=True)
    one = lineup(line)
    x = _point(one, [made])
    facets = [row for row in one.margin_rows(x) if row.name.of == FACET]
    assert len(facets) == 2
    low, _, high = one.maps[0].ball(np.array(made)).radii.axes.T
    middle = np.cross(high, low)
    for _ in range(20):
        other = np.array(made) * random.uniform(0.7, 1.3, len(made))
        _, _, inertia = about_centre(line.solids, other)
        product = 2.0 * abs(middle @ inertia @ high) / line.weights["15"]
        there = _point(one, [other])
        room = [float(row.coefficients @ there - row.lower) for row in facets]
        figures = one.columns.target(there)
        upper = figures[0] + figures[1]
        asked = upper**2 - (upper - figures[2]) ** 2
        assert min(room) == pytest.approx(asked - product, abs=1e-8)
        across = [[v @ inertia @ w for v in (middle, high)] for w in (middle, high)]
        parted = float(np.ptp(np.linalg.eigvalsh(np.array(across)))) / line.weights["15"]
        assert product <= parted + 1e-9


@pytest.mark.parametrize("kind", KINDS)
def test_distance_from_the_target_is_tangent_too(lineup, kind):
    line, densities = _line(kind)
    one = lineup(line)
    x, h = _point(one, densities), 1e-5

    def offs(at):
        figures = one.columns.target(at)
        return [off for ball in one.balls(at) for off in deviations(ball, figures)]

    for j in range(one.columns.count):
        step = h * (np.arange(one.columns.count) == j)
        for k, (up, down, off) in enumerate(
            zip(offs(x + step), offs(x - step), offs(x), strict=True)
        ):
            row = one.columns.scatter(k // 4, off.gradient, off.by_figure)
            slope = (up.off - down.off) / (2 * h)
            assert slope == pytest.approx(row[j], rel=2e-5, abs=2e-6 * (1 + abs(off.asked)))


@pytest.mark.parametrize("kind", ["juniper", *KINDS])
def test_three_solvers_agree_on_the_same_rows(lineup, juniper, kind):
    """HiGHS called directly, cvxpy's statement, and scipy's linprog on the elastic program."""
    one = lineup(juniper if kind == "juniper" else _line(kind)[0])
    x, lower, upper = one.columns.middle, one.columns.lower, one.columns.upper
    rows = Rows.of(one.margin_rows(x))
    warm = LinearSolver().best(rows, lower, upper)
    stated = state_and_solve(rows, lower, upper)
    third = _linprog(rows, lower, upper)
    size = max(1.0, abs(third))
    assert warm.objective == pytest.approx(third, abs=1e-6 * size)
    assert stated.objective == pytest.approx(third, abs=1e-6 * size)
    assert rows.merit(warm.x) == pytest.approx(third, abs=1e-6 * size)


def _linprog(rows, lower, upper):
    """The objective of: maximise t − Σ price·break, as scipy reads it."""
    a, n = rows.margin, len(lower)
    b = np.flatnonzero(~a)
    k = len(b)
    cost = np.r_[np.zeros(n), -1.0, rows.price[b], rows.price[b]]
    margins_ = np.column_stack([-rows.matrix[a], rows.tolerance[a], np.zeros((a.sum(), 2 * k))])
    other = np.column_stack([rows.matrix[b], np.zeros(k), np.eye(k), -np.eye(k)])
    up, low = np.isfinite(rows.upper[b]), np.isfinite(rows.lower[b])
    found = linprog(
        cost,
        A_ub=np.vstack([margins_, other[up], -other[low]]),
        b_ub=np.r_[-rows.lower[a], rows.upper[b][up], -rows.lower[b][low]],
        bounds=[*zip(lower, upper, strict=True), (-MOST, MOST), *[(0, None)] * (2 * k)],
        options={"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10},
    )
    assert found.status == 0
    return -found.fun


@pytest.mark.parametrize("kind", ["juniper", *KINDS])
def test_the_optimum_satisfies_the_kkt_conditions(lineup, juniper, kind):
    """Necessary and sufficient for a linear program: feasible, dual feasible, complementary.

    The program minimises Σ price·break − t: y are the rows' duals, −Aᵀy the reduced costs of the
    columns; t's own condition is Σ tolerance·y = 1.
    """
    one = lineup(juniper if kind == "juniper" else _line(kind)[0])
    lower, upper = one.columns.lower, one.columns.upper
    rows = Rows.of(one.margin_rows(one.columns.middle))
    found = LinearSolver().best(rows, lower, upper)
    y, x, margin = found.duals, found.x, rows.margin
    size = max(1.0, float(np.max(np.abs(y))))
    near = 1e-7

    assert np.all((x >= lower - near) & (x <= upper + near))
    assert np.all(rows.levels(x) >= found.t - 1e-6)

    assert np.all(y[margin] >= -near)
    assert np.all(np.abs(y[~margin]) <= rows.price[~margin] * (1 + near))
    one_sided = ~margin & np.isinf(rows.upper)
    assert np.all(y[one_sided] >= -near * size)
    reduced = -rows.matrix.T @ y
    at_lower, at_upper = x <= lower + near, x >= upper - near
    assert np.all(np.abs(reduced[~at_lower & ~at_upper]) <= near * size)
    assert np.all(reduced[at_lower & ~at_upper] >= -near * size)
    assert np.all(reduced[at_upper & ~at_lower] <= near * size)
    assert rows.tolerance @ y == pytest.approx(1.0, abs=near * size)

    idle = margin & (rows.levels(x) > found.t + 1e-6)
    assert np.all(np.abs(y[idle]) <= near)
    broken = rows.broken(x) > 1e-7
    assert np.allclose(np.abs(y[broken]), rows.price[broken])


def test_rows_of_different_balls_are_never_one_row(lineup):
    """Of a core the same about x and y, each weight's intermediate differential is 0 anywhere.

    The rows of a free one are then alike in both weights, at points where rounding doesn't differ;
    a margin that is held is known by its row's number.
    """
    text = shipped("alder").replace(
        "[weights]", "intermediate_differential = { min = 0.009, max = 0.011 }\n[weights]", 1
    )
    some = lineup(text.replace("rg = 0.003,", "rg = 0.003, intermediate_differential = 0.001,"))
    random, of = np.random.default_rng(2), some.columns
    points = [of.middle + random.uniform(-0.5, 0.5, of.count) * of.spread for _ in range(30)]
    figures = [name for name in map(str, _names(some, points[0])) if "intermediate" in name]
    assert len(figures) == 2 * len(some.maps)
    assert len({tuple(map(str, _names(some, point))) for point in points}) == 1


def _names(some, point):
    return [row.name for row in some.nearest_rows(point)]

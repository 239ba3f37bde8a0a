"""Numbers that are sought, against linear programs, grids of targets, and another search."""

from __future__ import annotations

import re

import numpy as np
import pytest
from optimizer_texts import plain_juniper, read, shipped
from oracles.balls import per_density
from oracles.lineups import OUNCE, RADIUS, Line, manufactured
from scipy.optimize import differential_evolution, linprog

from optimizer.lineup.moulds.starts import Starts
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.proof.farthest import farthest
from shared.errors import InputError

ORDERS = ((2, 0, 1), (2, 1, 0), (0, 1, 2), (0, 2, 1), (1, 0, 2), (1, 2, 0))
TIGHT = {"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10}


def _farthest(line: Line, of: str, sense: str, keep: float) -> float:
    """The most or the least of a number about the centre: linear programs, one a side and order.

    The columns are the densities and the number: high RG squared (cm²) for the differential, the
    class weight (g), or the maximum of the last part's density.
    """
    volume, first, about = per_density(line.solids)
    first = first / RADIUS / OUNCE
    low, high = line.rg[0], line.rg[0] + line.differential[0]
    (mass,) = line.weights.values()
    ranges, spread = np.array(line.ranges), np.array(line.spread)
    way, ends = (-1.0 if sense == "most" else 1.0), []
    for order in ORDERS:
        a, c, b = about[list(order)]
        equal = [[*volume, 0.0], [*(a - low**2 * volume), 0.0], [*(b - high**2 * volume), 0.0]]
        right = [mass, 0.0, 0.0]
        rows = [([*(a - c), 0.0], 0.0), ([*(c - b), 0.0], 0.0)]
        for i, row in enumerate(np.eye(4)):
            rows.append(([*-row, 0.0], -ranges[i, 0] - keep * spread[i]))
            last = of == "density" and i == 3
            most = ([*row, -1.0], 0.0) if last else ([*row, 0.0], ranges[i, 1])
            rows.append((most[0], most[1] - keep * spread[i]))
        if of == "differential":
            equal[2] = [*b, -mass]
        if of == "weight":
            equal[0], right[0] = [*volume, -1.0], 0.0
        for side in (-1.0, 1.0):
            tops = [(side * first, line.top[1]), (-side * first, -line.top[0])]
            every = [*rows, *(([*row, 0.0], end - 0.25 * keep) for row, end in tops)]
            found = linprog(
                [0.0] * 4 + [way],
                A_ub=[row for row, _ in every],
                b_ub=[end for _, end in every],
                A_eq=equal,
                b_eq=right,
                bounds=[(0.0, None)] * 5,
                method="highs-ds",
                options=TIGHT,
            )
            if found.status == 0:
                ends.append(found.x[4])
    best = max(ends) if sense == "most" else min(ends)
    return float(10.0 * (np.sqrt(best) - low) if of == "differential" else best)


def _asked(line: Line, of: str, sense: str, keep: float) -> str:
    """The line with a wide range for the number, in its own units: mm, kg, g/cm³."""
    text = line.text()
    (mass,) = line.weights.values()
    known = {
        "differential": (f"differential = {10 * line.differential[0]}\n", 0.0, 20.0),
        "weight": (f"15 = {mass / 1000}\n", mass / 2000, mass / 500),
        "density": ("density = [1.0, 3.6]\n", 1.0, 9.0),
    }[of]
    old, low, high = known
    goal = f'{{ min = {low}, max = {high}, goal = "{sense}" }}'
    new = f"density = [1.0, {goal}]\n" if of == "density" else old.split("=")[0] + f"= {goal}\n"
    before, found, after = text.rpartition(old)
    assert found
    return f"{before}{new}{after}\n[goal]\nkeep = {keep}\n"


@pytest.mark.parametrize("keep", [0.0, 0.4])
@pytest.mark.parametrize(
    ("of", "sense", "size"),
    [
        ("differential", "most", 1.0),
        ("differential", "least", 1.0),
        ("weight", "most", 1000.0),
        ("weight", "least", 1000.0),
        ("density", "least", 1.0),
    ],
)
def test_about_the_centre_it_is_the_optimum_of_linear_programs(of, sense, size, keep):
    random, compared = np.random.default_rng(len(of + sense)), 0
    for _ in range(4):
        line, _ = manufactured(random, "aligned", "centre")
        line = line.but(top=(0.01, line.top[1] + 0.5))
        result = solve_lineup(read(_asked(line, of, sense, keep)))
        if result.goal.value is None:
            continue  # its room is out of reach
        compared += 1
        expected = max(_farthest(line, of, sense, keep) / size, result.goal.goal.low)
        assert result.goal.reach.value == pytest.approx(expected, rel=2e-6, abs=1e-6)
        known, goal = farthest(result.goal.reach), result.goal.goal
        at_end = expected == pytest.approx(goal.low, abs=1e-9)
        assert (known.relaxation is None) == at_end
        assert goal.way * (known.value - expected) >= -1e-9
    assert compared >= 2


RANGES = {
    "rg": ("rg           = 2.550 ", "rg = { min = 2.4, max = 2.7", 0.001),
    "differential": ("differential = 0.040 ", "differential = { min = 0.01, max = 0.09", 0.0005),
    "13": ("13 = 13.12", "13 = { min = 11, max = 14", 0.02),
}


@pytest.mark.parametrize(
    ("of", "sense", "about"),
    [
        ("rg", "most", "cg"),
        ("rg", "least", "centre"),
        ("differential", "most", "centre"),
        ("differential", "least", "cg"),
        ("13", "least", "cg"),
    ],
)
def test_a_step_short_of_it_can_be_had_and_a_step_beyond_it_cant(of, sense, about):
    """Solved one by one at given targets, as the command without a goal does."""
    plain = plain_juniper().replace('about        = "cg"', f'about = "{about}"')
    old, new, step = RANGES[of]
    assert old in plain
    result = solve_lineup(read(plain.replace(old, f'{new}, goal = "{sense}" }}\n')))
    value = result.goal.value
    assert result.status == "feasible"
    way = result.goal.goal.way
    for k in (-3, -1, 1, 3):
        there = f"{old.partition('=')[0]}= {value + k * way * step:.6f} "
        other = solve_lineup(read(plain.replace(old, there)), exact=True)
        assert other.status == ("feasible" if k < 0 else "infeasible")


LINES = {
    "juniper": ("differential", 0.040, 0.01, 0.09),
    "yew": ("differential", 0.033, 0.02, 0.09),
    "larch-metric": ("rg", 65.0, 62.0, 68.0),
    "rowan": ("rg", 2.570, 2.45, 2.70),
    "aspen": ("differential", 0.038, 0.01, 0.09),
}


@pytest.mark.turns(4)
@pytest.mark.parametrize("sense", ["most", "least"])
@pytest.mark.parametrize("name", LINES)
def test_a_grid_of_targets_solved_one_by_one_ends_where_it_does(name, sense):
    """Of five shipped lines: metric, triaxial, turned, with parts in some weights only."""
    key, given, low, high = LINES[name]
    text, count = re.subn(rf"(?m)^{key} *= [\d].*$", "TARGET", shipped(name))
    assert count == 1
    goal = f'{key} = {{ min = {low}, max = {high}, goal = "{sense}" }}'
    value = solve_lineup(read(text.replace("TARGET", goal))).goal.value
    way = 1.0 if sense == "most" else -1.0
    assert way * (value - given) > 0.0
    for share in (0.5, 0.95, 1.02, 1.1):
        there = text.replace("TARGET", f"{key} = {given + share * (value - given):.7f}")
        found = solve_lineup(read(there), exact=True).status
        assert (found == "feasible") == (share < 1.0)


SHAPES = {
    "juniper": ("diameter = 2.20, height = 5.00", 2.2, 5.0),
    "medlar": ("diameter = 52, height = 120", 52.0, 120.0),
    "alder": ("diameter = 3.60, height = 5.90", 3.6, 5.9),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", SHAPES)
def test_with_a_free_shape_another_search_goes_no_farther(name):
    """SciPy's differential evolution over the shape, the most differential solved at each."""
    drawn, wide, tall = SHAPES[name]
    text = plain_juniper() if name == "juniper" else shipped(name)
    assert drawn in text
    text = re.sub(
        r"(?m)^keep = .*$", "keep = 0", text.replace(drawn, 'diameter = "w", height = "h"')
    )
    goal = 'differential = { min = 0.01, max = 0.09, goal = "most" }'
    text, count = re.subn(r"(?m)^differential *= [\d{].*$", goal, text)
    assert count == 1
    box = [(0.85 * wide, 1.1 * wide), (0.9 * tall, 1.03 * tall)]
    free = "\n".join(
        f"{n} = {{ min = {a}, max = {b} }}" for n, (a, b) in zip("wh", box, strict=True)
    )
    result = solve_lineup(read(f"{text}\n[dimensions]\n{free}\n"), Starts(count=4))
    assert result.goal.value is not None

    def least(x) -> float:
        given = f"\n[dimensions]\nw = {x[0]:.6f}\nh = {x[1]:.6f}\n"
        try:
            found = solve_lineup(read(text + given)).goal
        except InputError:  # a wall is broken
            return 0.0
        return 0.0 if found.reach is None else -found.reach.value

    other = differential_evolution(
        least, box, maxiter=3, popsize=4, rng=1, polish=False, init="sobol"
    )
    assert other.fun < 0.0
    assert result.goal.reach.value >= -other.fun - 2e-6


def test_the_answer_is_the_line_up_of_the_scenario_with_the_number_in_it():
    goal = 'differential = { min = 0.01, max = 0.09, goal = "most" }\n'
    text = plain_juniper().replace("differential = 0.040 ", goal) + "\n[goal]\nkeep = 0.5\n"
    result = solve_lineup(read(text))
    assert result.scenario.goal is None
    assert result.scenario.source_value(("target", "differential")) == result.goal.value
    assert result.scenario.warnings == read(plain_juniper()).warnings
    again = solve_lineup(read(result.scenario.source))
    pairs = zip(result.weights, again.weights, strict=True)
    assert all((a.ball.densities == b.ball.densities).all() for a, b in pairs)
    moved = [m.tolerances for m in result.margins if m.movable]
    assert 0.5 - 1e-6 <= min(moved) < 0.52


def test_room_that_no_number_leaves_is_not_called_found():
    goal = '13 = { min = 11, max = 14, goal = "least" }'
    text = plain_juniper().replace("13 = 13.12", goal) + "\n[goal]\nkeep = 50\n"
    result = solve_lineup(read(text))
    assert result.goal.value is None
    assert result.goal.reach is None
    assert result.accepted

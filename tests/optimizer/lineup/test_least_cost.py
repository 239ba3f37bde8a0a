"""The line-up that costs least, against a plain linear program on the same volumes."""

from __future__ import annotations

import numpy as np
import pytest
from optimizer_texts import read
from oracles.balls import per_density
from oracles.lineups import OUNCE, RADIUS, manufactured
from scipy.optimize import linprog

from optimizer.lineup.pipeline import solve_lineup
from shared.errors import InputError

ORDERS = ((2, 0, 1), (2, 1, 0), (0, 1, 2), (0, 2, 1), (1, 0, 2), (1, 2, 0))
TIGHT = {"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10}
RESIN, HEAVY, LIGHT, LOADING = (1.1, 4.0), (4.4, 1.5), (0.2, 12.0), 0.5
"""Density and price per kg of what every pour is mixed from, and the most filler by volume."""
INGREDIENTS = "".join(
    f'"{name}" = {{ density = {density}, price = {price} }}\n'
    for name, (density, price) in (("r", RESIN), ("h", HEAVY), ("l", LIGHT))
)
RECIPE = f'recipe = {{ resin = "r", heavy = ["h"], light = ["l"], loading = {LOADING} }}'


def _least(line, keep: float) -> float:
    """The least cost about the centre; the columns are the volumes of each part's ingredients."""
    volume, first, about = per_density(line.solids)
    first = first / RADIUS / OUNCE
    low, high = line.rg[0], line.rg[0] + line.differential[0]
    (mass,) = line.weights.values()
    rho = np.array([RESIN[0], HEAVY[0], LIGHT[0]])
    price = np.array([RESIN[1], HEAVY[1], LIGHT[1]])
    costs = np.kron(volume, rho * price / 1000.0)
    mixed = np.kron(np.eye(4), rho)
    full, filler = np.kron(np.eye(4), np.ones(3)), np.kron(np.eye(4), [0.0, 1.0, 1.0])
    ranges, spread = np.array(line.ranges), np.array(line.spread)
    best = np.inf
    for order in ORDERS:
        a, c, b = about[list(order)]
        equal = [volume @ mixed, (a - low**2 * volume) @ mixed, (b - high**2 * volume) @ mixed]
        for side in (-1.0, 1.0):
            rows = [((a - c) @ mixed, 0.0), ((c - b) @ mixed, 0.0)]
            rows += [(side * first @ mixed, line.top[1] - 0.25 * keep)]
            rows += [(-side * first @ mixed, -line.top[0] - 0.25 * keep)]
            rows += list(zip(mixed, ranges[:, 1] - keep * spread, strict=True))
            rows += list(zip(-mixed, -ranges[:, 0] - keep * spread, strict=True))
            rows += [(row, LOADING) for row in filler]
            found = linprog(
                costs,
                A_ub=[row for row, _ in rows],
                b_ub=[end for _, end in rows],
                A_eq=[*equal, *full],
                b_eq=[mass, 0.0, 0.0, *np.ones(4)],
                bounds=[(0.0, 1.0)] * 12,
                method="highs-ds",
                options=TIGHT,
            )
            if found.status == 0:
                best = min(best, found.fun)
    return float(best)


def _text(line, keep: float) -> str:
    text = line.text()
    for name in line.names:
        old = f"[materials.{name}]\n"
        text = text.replace(old, f"{old}{RECIPE}\n")
    return f'{text}\n[ingredients]\n{INGREDIENTS}\n[goal]\nleast = "cost"\nkeep = {keep}\n'


@pytest.mark.parametrize("keep", [0.0, 0.3])
def test_it_is_the_optimum_of_a_linear_program_of_the_ingredients(keep):
    random, compared = np.random.default_rng(5), 0
    for _ in range(9):
        line, _ = manufactured(random, "aligned", "centre")
        line = line.but(
            top=(0.01, line.top[1] + 0.5), ranges=((1.0, 1.3), (0.7, 1.5), (0.8, 2.5), (1.0, 2.7))
        )
        expected = _least(line, keep)
        result = solve_lineup(read(_text(line, keep)))
        assert (result.goal.value is None) == (not np.isfinite(expected))
        if result.goal.value is not None:
            compared += 1
            assert result.goal.value == pytest.approx(expected, rel=2e-4)  # of densities as printed
    assert compared >= 2


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (RECIPE, "density = [1.0, 2.0]", 'material "cover" has no recipe'),
        (", price = 1.5", "", '"h" has no price'),
        ('least = "cost"', 'least = "money"', "is not one of the choices"),
    ],
)
def test_without_prices_it_is_refused(old, new, told):
    line, _ = manufactured(np.random.default_rng(5), "aligned", "centre")
    line = line.but(ranges=((1.0, 1.3), (0.7, 1.5), (0.8, 2.5), (1.0, 2.7)))
    text = _text(line, 0.0)
    if new.startswith("density"):
        text = text.replace(f"{old}\ndensity", "density", 1)
    else:
        text = text.replace(old, new, 1)
    with pytest.raises(InputError, match=told):
        read(text)


def test_a_second_goal_beside_it_is_refused():
    line, _ = manufactured(np.random.default_rng(5), "aligned", "centre")
    line = line.but(ranges=((1.0, 1.3), (0.7, 1.5), (0.8, 2.5), (1.0, 2.7)))
    text = _text(line, 0.0).replace(
        "density = [0.7, 1.5]", 'density = [0.7, { min = 1, max = 1.5, goal = "least" }]'
    )
    with pytest.raises(InputError, match="is sought, too, but one number can be at a time"):
        read(text)

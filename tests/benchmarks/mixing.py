"""What is weighed for a density: the corners of a recipe, beside a linear program (HiGHS)."""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from scipy.optimize import linprog

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from optimizer.mixing.ingredients import Ingredient  # noqa: E402 - after the path
from optimizer.mixing.recipe import Recipe  # noqa: E402

FILLERS = (("iron", 7.87, 2.0), ("barite", 4.35, 0.9), ("calcite", 2.71, 0.4), ("glass", 0.22, 9.0))
RECIPE = Recipe(
    Ingredient("resin", 1.13, 3.0),
    tuple(Ingredient(*one) for one in FILLERS),
    loading=0.45,
    void=0.01,
    shrinkage=0.06,
)
DENSITIES = np.linspace(*(end.density for end in RECIPE.ends), 200)[1:-1].tolist()


def median(run: Callable[[float], float]) -> float:
    """Return the median time of a run over the densities, s."""
    times = []
    for density in DENSITIES:
        start = time.perf_counter()
        run(density)
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def corners(density: float) -> float:
    """Return the price of a kg by the corners."""
    return RECIPE.mix(density).price or 0.0


def program(density: float) -> float:
    """Return the price of a kg by the program over the cured volume fractions."""
    rho = np.array([RECIPE.cured, *(ingredient.density for ingredient in RECIPE.fillers)])
    price = np.array(
        [ingredient.price for ingredient in (RECIPE.resin, *RECIPE.fillers)], dtype=float
    )
    solid = density / (1 - RECIPE.void)
    found = linprog(
        price * rho,
        A_ub=[[0.0, *np.ones(len(RECIPE.fillers))]],
        b_ub=[RECIPE.most_filler],
        A_eq=[np.ones(len(rho)), rho],
        b_eq=[1.0, solid],
        method="highs",
    )
    return float(found.fun) / solid


def main() -> None:
    """Print the figures; where the prices differ the program fails."""
    quick, slow = median(corners), median(program)
    apart = max(abs(corners(density) / program(density) - 1.0) for density in DENSITIES)
    print(f"{'corners of a recipe, 4 fillers':34} {1e3 * quick:8.3f} ms")
    print(f"{'linear program (HiGHS, by scipy)':34} {1e3 * slow:8.3f} ms  {slow / quick:6.1f}×")
    print(f"prices apart by at most {apart:.1e}")
    if apart > 1e-7:
        sys.exit("the corners are not as cheap as the program")


if __name__ == "__main__":
    main()

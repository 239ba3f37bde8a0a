"""The reach of five weights, six densities: all corners against programs in 64 directions.

Both find the farthest point in each direction; they are checked against each other first. Then the
windows of an example with a tilted core, weight by weight, with the error that is told.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from benchmarks.moments import median  # noqa: E402 - after the path

from optimizer.ball.linear_rows import LinearRow  # noqa: E402
from optimizer.ball.weight_class import LinearMap  # noqa: E402
from optimizer.lineup.columns import columns  # noqa: E402
from optimizer.lineup.engine.linear_solver import LinearSolver, Rows  # noqa: E402
from optimizer.lineup.rows import Lineup  # noqa: E402
from optimizer.questions.window.exact.branch import LOW, Branch, branches  # noqa: E402
from optimizer.questions.window.exact.plane_program import PlaneProgram  # noqa: E402
from optimizer.questions.window.off_axis.searched_band import searched_reach  # noqa: E402
from optimizer.questions.window.reach import opened  # noqa: E402
from optimizer.scenario import Scenario, linear_maps, scenario  # noqa: E402
from shared.units import INCH  # noqa: E402

ANGLES = np.arange(64) / 32 * np.pi
DIRECTIONS = np.column_stack([np.cos(ANGLES), np.sin(ANGLES)])
PLUG = """
[[parts]]
name = "plug"
inside = "keel"
shape = { kind = "sphere", diameter = 1.2 }
at = [0, 0, 0.2]
material = "filled"

[limits]
"""


def five_weights() -> Scenario:
    """Return the example about the centre, with a sixth part and a fifth weight."""
    text = (ROOT / "scenarios" / "juniper.toml").read_text(encoding="utf-8")
    text = text.replace('about        = "cg"', 'about        = "centre"')
    text = text.replace("[limits]\n", PLUG, 1).replace("13 = 13.12", "13 = 13.12\n12 = 12.3", 1)
    return scenario(text, file="five.toml", target_required=True)


def by_corners(classes: list[Branch]) -> np.ndarray:
    """Return the farthest points (weights, 64), cm², from all corners."""
    found = []
    for branch in classes:
        slices = branch.slices()
        assert slices is not None
        points = np.column_stack([slices.s, slices.w])
        found.append(np.max(points @ DIRECTIONS.T, axis=0))
    return np.array(found)


def by_programs(
    programs: list[tuple[Rows, np.ndarray, np.ndarray]], solver: LinearSolver
) -> np.ndarray:
    """Return the same by one warm program a direction."""
    found = []
    for rows, lower, upper in programs:
        here = []
        for direction in DIRECTIONS:
            rows.matrix[-1, -2:] = direction
            here.append(solver.best(rows, lower, upper).t)
        found.append(here)
    return np.array(found)


def stated(
    linear_map: LinearMap, branch: Branch, solver: LinearSolver
) -> tuple[Rows, np.ndarray, np.ndarray]:
    """Return the program of a weight, its last row waiting for a direction."""
    of = columns((linear_map,), {})
    rows = [row for row, _ in PlaneProgram([branch], of, solver).rows(np.zeros(1))]
    aim = LinearRow("aim", np.zeros(of.figures + 2), 0.0, np.inf, tolerance=1.0)
    most = linear_map.radius**2
    lower = np.r_[of.lower[: of.figures], 0.0, 0.0]
    upper = np.r_[of.upper[: of.figures], most, 2 * most]
    return Rows.of([*rows, aim]), lower, upper


def tilted() -> Scenario:
    """Return the example with three different diameters, its block tilted by 20 degrees."""
    text = (ROOT / "scenarios" / "yew.toml").read_text(encoding="utf-8")
    at = "at       = [0, 0, 0.25]"
    text = text.replace(at, at + "\nrotate   = [20, 0, 0]", 1)
    return scenario(text, file="tilted.toml", target_required=True)


def by_search(some: Scenario) -> None:
    """Print what each weight's window takes by search, and what its lines may be off."""
    print(f"windows of {some.name} with its block tilted, by search")
    solver = LinearSolver()
    for linear_map in (opened(linear_map) for linear_map in linear_maps(some)):
        start = time.perf_counter()
        lineup = Lineup((linear_map,), columns((linear_map,), {}))
        reach = searched_reach(lineup, solver, LOW)
        spent = time.perf_counter() - start
        assert reach.whole
        told = reach.error / INCH
        print(
            f"{linear_map.label:20} {spent:8.2f} s, off by at most {told:.6f} in as far as checked"
        )


def main() -> None:
    """Print the figures."""
    some, solver = five_weights(), LinearSolver()
    maps = [opened(linear_map) for linear_map in linear_maps(some)]
    classes = [next(branches(linear_map)) for linear_map in maps]
    programs = [stated(linear_map, b, solver) for linear_map, b in zip(maps, classes, strict=True)]
    off = float(np.max(np.abs(by_corners(classes) - by_programs(programs, solver))))
    print(f"farthest points of {len(maps)} weights, {len(maps[0].pours)} densities, 64 directions")
    corners = median(lambda: by_corners(classes))
    warm = median(lambda: by_programs(programs, solver))
    print(f"{'all corners':20} {1e3 * corners:8.2f} ms {1.0:6.1f}×")
    print(f"{'HiGHS, warm':20} {1e3 * warm:8.2f} ms {warm / corners:6.1f}×")
    print(f"they differ by {off:.1e} cm²")
    if off > 1e-6:
        sys.exit("the two do not agree")
    by_search(tilted())


if __name__ == "__main__":
    main()

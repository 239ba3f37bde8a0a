"""The reach of five weights, six densities: all corners against programs in 64 directions.

Both find the farthest point in each direction; they are checked against each other first.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from benchmarks.measuring import ROOT, Section, least, ratio, spent

from optimizer.ball.linear_rows import LinearRow
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.columns import columns
from optimizer.lineup.engine.linear_solver import LinearSolver, Rows
from optimizer.questions.window.exact.branch import Branch, branches
from optimizer.questions.window.exact.plane_program import PlaneProgram
from optimizer.questions.window.reach import opened
from optimizer.scenario import Scenario, linear_maps, scenario

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


def sections() -> Iterator[Section]:
    """Yield the table; the two must agree."""
    some, solver = five_weights(), LinearSolver()
    maps = [opened(linear_map) for linear_map in linear_maps(some)]
    classes = [next(branches(linear_map)) for linear_map in maps]
    programs = [stated(linear_map, b, solver) for linear_map, b in zip(maps, classes, strict=True)]
    apart = float(np.max(np.abs(by_corners(classes) - by_programs(programs, solver))))
    if apart > 1e-6:
        raise SystemExit("the corners and the programs do not agree")
    ways = {
        "all corners": lambda: by_corners(classes),
        "programs, HiGHS warm": lambda: by_programs(programs, solver),
    }
    took = least(ways)
    yield Section(
        f"Farthest points of {len(maps)} weights, {len(maps[0].pours)} densities, 64 directions",
        ("way", "time", "× corners"),
        [(name, spent(s), ratio(s, took["all corners"])) for name, s in took.items()],
        f"They differ by at most {apart:.0e} cm².",
    )

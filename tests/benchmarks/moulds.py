"""The search for a mould beside differential evolution, on the same exact inner program.

Six lines, 3 to 5 weights, 4 to 10 free dimensions, two of them with groups of moulds, one with a
rack. Differential evolution (scipy, default settings) is given at least so many evaluations, each
the best densities of one mould by the engine's own climb; what is counted are linear programs.

    PYTHONPATH=tests python -m benchmarks.moulds [--seeds 20] [--evaluations 6600] [--only NAME]
"""

from __future__ import annotations

import argparse
import itertools
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace

import numpy as np
from benchmarks.measuring import ROOT
from scipy.optimize import differential_evolution

from geometry.walls.thinnest import wall
from optimizer.lineup.engine.climbing import Engine
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.moulds.chosen import with_chosen
from optimizer.lineup.moulds.search import MouldSearch
from optimizer.lineup.moulds.starts import Starts, groups
from optimizer.lineup.rows import Lineup
from optimizer.scenario import Scenario, moulds, scenario
from shared.errors import UnbuildableError

ELDER = (ROOT / "scenarios" / "elder.toml").read_text(encoding="utf-8")
PAIRS = '[["16", "15"], ["14", "13"]]'

FREE = {
    "bed": "min = 7.20, max = 7.70",
    "belly": "min = 2.80, max = 4.00",
    "tall": "min = 5.20, max = 6.60",
    "lift": "min = 0.00, max = 0.50",
    "band": "min = 4.20, max = 5.40",
    "thick": "min = 0.50, max = 1.00",
    "round": "min = 1.60, max = 2.60",
    "long": "min = 3.80, max = 5.40",
    "rise": "min = 0.00, max = 0.50",
}
DRAWN = {
    "bed": 7.48, "belly": 3.30, "tall": 6.10, "lift": 0.30, "band": 4.60,
    "thick": 0.80, "round": 2.20, "long": 5.00, "rise": 0.20,
}  # fmt: skip


def line(differential: float, free: dict[str, str], weights: str, about: str = "cg") -> Scenario:
    """Return Elder's shapes with these dimensions free, all others as drawn."""
    text = ELDER.replace("= 0.048", f"= {differential}").replace('"cg"', f'"{about}"')
    text = text.replace("diameter = 7.480", 'diameter = "bed"')
    text = text.replace(
        "diameter = 4.80, thickness = 0.80", 'diameter = "band", thickness = "thick"'
    )
    text = text.replace("diameter = 2.20, height = 5.00", 'diameter = "round", height = "long"')
    text = text.replace("[0, 0, 0.20]", '[0, 0, "rise"]')
    named = [f"{name} = {free.get(name, value)}" for name, value in DRAWN.items()]
    head, _, rest = text.partition("[weights]\n")
    body = rest[rest.index("[materials") :]
    text = f"{head}[weights]\n{weights}\n[dimensions]\n" + "\n".join(named) + f"\n\n{body}"
    return scenario(text, file="line.toml", target_required=True)


def spans(*names: str, **same: str) -> dict[str, str]:
    """Return these dimensions free, some of them alike in groups of weights only."""
    alike = {name: f", same = {same[name]}" for name in same}
    return {name: f"{{ {FREE[name]}{alike.get(name, '')} }}" for name in (*names, *same)}


FOUR = "16 = 15.90\n15 = 15.12\n14 = 14.12\n13 = 13.12"
RACK = {"tall": "{ one_of = [5.8, 6.2, 6.5] }", "band": "{ one_of = [4.6, 5.2] }"}
LINES = {
    "four": lambda: line(0.046, spans("belly", "tall", "lift", "band"), FOUR.rpartition("\n")[0]),
    "five": lambda: line(0.050, spans("bed", "belly", "tall", "lift", "band"), FOUR),
    "nine": lambda: line(0.050, spans(*FREE), f"{FOUR}\n12 = 12.40"),
    "pairs": lambda: line(0.048, spans("lift", "band", belly=PAIRS, tall=PAIRS), FOUR, "centre"),
    "own": lambda: line(0.048, spans("bed", "belly", "tall", lift='"none"', band=PAIRS), FOUR),
    "rack": lambda: line(0.047, spans("bed", "belly", "lift", "rise") | RACK, FOUR),
}


class Inner:
    """The best densities of a mould: its smallest margin, or the price of what is broken."""

    def __init__(self, lineup: Lineup) -> None:
        self.lineup, self.solver = lineup, LinearSolver()

    def __call__(self, dimensions: np.ndarray) -> float:
        """Return minus that margin at the dimensions (d,), cm."""
        of = self.lineup.columns
        low, high, x = of.lower.copy(), of.upper.copy(), of.middle.copy()
        low[of.moulds : of.figures] = high[of.moulds : of.figures] = dimensions
        x[of.moulds : of.figures] = dimensions
        engine = Engine(self.lineup.margin_rows, low, high, of.middle, of.spread, self.solver)
        try:
            peak = engine.climb(x)
        except UnbuildableError:
            return 1e9
        return -peak.rows.merit(peak.x)


@contextmanager
def least_walls_only() -> Iterator[None]:
    """Let moulds tell only the thinnest place of a wall: no one asks which way it moves."""
    told = moulds.close_walls
    moulds.close_walls = lambda part, other, *, nested, reach: [wall(part, other, nested=nested)]  # noqa: ARG005
    try:
        yield
    finally:
        moulds.close_walls = told


def evolved(
    asked: Scenario,
    evaluations: int,
    seed: int,
    told: Callable[[float], None] = lambda _margin: None,
) -> tuple[float, int, int]:
    """Return the best margin of differential evolution, its evaluations and linear programs."""
    choices = list(itertools.product(*(rack.values for rack in asked.rack)))
    inner = []
    for choice in choices:
        chosen = {
            rack.name: {class_drawing.label: value for class_drawing in asked.classes}
            for rack, value in zip(asked.rack, choice, strict=True)
        }
        one = with_chosen(asked, chosen)
        if one is not None:
            (lineup,) = groups(one)
            inner.append(Inner(lineup))
    of = inner[0].lineup.columns
    box = list(zip(of.lower[of.moulds : of.figures], of.upper[of.moulds : of.figures], strict=True))
    box += [(0.0, len(inner) - 1e-9)] if len(inner) > 1 else []

    def cost(x: np.ndarray) -> float:
        which = int(x[-1]) if len(inner) > 1 else 0
        margin = -inner[which](x[: of.figures - of.moulds])
        told(margin)
        return -margin

    passes = int(np.ceil(evaluations / (15 * len(box)))) - 1
    with least_walls_only():
        found = differential_evolution(cost, box, maxiter=passes, tol=0.0, polish=False, rng=seed)
    return -float(found.fun), int(found.nfev), sum(one.solver.solved for one in inner)


def walked(asked: Scenario, seed: int) -> tuple[float, int]:
    """Return the best margin that the search finds, before rounding, and its linear programs."""
    search = MouldSearch(asked, replace(Starts(), seed=seed))
    search.picked()
    return search.rank[1] if search.rank[0] else -np.inf, search.programs


def main() -> None:
    """Print the table."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--seeds", type=int, default=20)
    options.add_argument("--evaluations", type=int, default=6600)
    options.add_argument("--only", choices=LINES, nargs="*", default=list(LINES))
    asked = options.parse_args()
    print(
        f"{'line':6} {'weights':>7} {'columns':>7} | {'evolved':>8} {'evals':>6} {'programs':>8} "
        f"{'s':>5} | {'walked: least':>13} {'median':>8} {'best':>8} {'programs':>8} {'s':>5} | "
        f"{'as good':>7} {'programs ÷':>10}"
    )
    for name in asked.only:
        one = LINES[name]()
        began = time.perf_counter()
        best, evaluations, programs = evolved(one, asked.evaluations, seed=1)
        evolving = time.perf_counter() - began
        began = time.perf_counter()
        ours = [walked(one, seed) for seed in range(asked.seeds)]
        walking = (time.perf_counter() - began) / asked.seeds
        levels = np.array([level for level, _ in ours])
        few = float(np.median([count for _, count in ours]))
        good = int(np.sum(levels >= best - 1e-3))
        dims = len(one.free) + len(one.rack)
        print(
            f"{name:6} {len(one.classes):7} {dims:7} | {best:8.4f} {evaluations:6} {programs:8} "
            f"{evolving:5.0f} | {levels.min():13.4f} {np.median(levels):8.4f} {levels.max():8.4f} "
            f"{few:8.0f} {walking:5.1f} | {good:3}/{asked.seeds:<3} {programs / few:10.1f}",
            flush=True,
        )


if __name__ == "__main__":
    main()

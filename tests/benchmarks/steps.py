"""Line-ups on whole steps: how long they take, and how often the first program has the best."""

from __future__ import annotations

from dataclasses import replace
from time import perf_counter

import numpy as np
from benchmarks.measuring import ROOT
from oracles.lineups import manufactured
from oracles.steps import pointed

from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.result import LineupResult
from optimizer.questions.schedule.steps.counting import Counts
from optimizer.questions.schedule.steps.steps import _columns, _groups, on_steps
from optimizer.questions.schedule.steps.whole import WholeProgram
from optimizer.scenario import scenario

JUNIPER = ROOT / "scenarios" / "juniper.toml"
KINDS = ("aligned", "aligned triaxial", "tilted 15", "triaxial", "off axis")
COUNT = 20


def solved(text: str, step: float) -> LineupResult:
    """Return a line-up whose pours all have this step."""
    some = scenario(text, file="line.toml", target_required=True)
    return solve_lineup(replace(some, pours=tuple(replace(p, step=step) for p in some.pours)))


def first_is_best(result: LineupResult, off: float) -> bool:
    """Whether the first program's answer is as good as the best that is found."""
    (lineup,) = _groups(result)
    counts = Counts(lineup, result.scenario, _columns(lineup, result))
    answer = WholeProgram(counts, counts.candidate(counts.x), 3).best([], np.inf)
    return answer.x is not None and counts.candidate(answer.x).off <= off + 1e-6


def example() -> None:
    """Print the example, four weights of five densities, with and without a shared cover."""
    text = JUNIPER.read_text(encoding="utf-8")
    shared = text.replace('"shell"\n', '"shell"\nsame_density = "all"\n')
    print("the example: step, g/cm3; largest deviation, tolerances; proven; s to find, to prove")
    for name, one in (("each its own", text), ("one cover", shared)):
        for step in (0.002, 0.005, 0.01, 0.02, 0.05):
            result, start = solved(one, step), perf_counter()
            groups = on_steps(result).groups
            took = perf_counter() - start
            off = max(group.off for group in groups)
            start = perf_counter()
            proven = all(group.none_nearer for group in groups)
            by = perf_counter() - start
            print(f"{name:>14} {step:6.3f} {off:7.3f} {proven!s:>6} {took:6.2f} {by:6.2f}")


def random_lines() -> None:
    """Print, of random lines of one weight and four densities, what is proven and found at once."""
    print(f"{COUNT} random lines each: step, g/cm3; proven; best at once (±3); s at the most")
    for made in (pointed, lambda *given, **told: manufactured(*given, **told)[0]):
        name = "pointed" if made is pointed else "near-round"
        for kind in KINDS:
            for step in (0.01, 0.05):
                random, proven, at_once, within, longest = np.random.default_rng(1), 0, 0, 0, 0.0
                for _ in range(COUNT):
                    result = solved(made(random, kind, "cg", intermediate=False).text(), step)
                    start = perf_counter()
                    (group,) = on_steps(result).groups
                    longest = max(longest, perf_counter() - start)
                    proven += group.none_nearer is not None
                    if group.reach == 3:
                        within += 1
                        at_once += first_is_best(result, group.off)
                print(
                    f"{name:>14} {kind:>17} {step:5.2f} {proven:4d} {at_once:4d}/{within} "
                    f"{longest:6.2f}"
                )


if __name__ == "__main__":
    example()
    random_lines()

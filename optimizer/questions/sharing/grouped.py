"""The line-up of a grouping of places, whichever parts and weights are poured alike."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from itertools import pairwise

from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.engine.search import best_found, first_start, search_rounds
from optimizer.lineup.group import Solution
from optimizer.lineup.pipeline import as_result
from optimizer.lineup.rows import Lineup
from optimizer.questions.sharing.pours import Point
from optimizer.scenario import Scenario
from shared.errors import SolverError


def grouped(scenario: Scenario, lineup: Lineup, groups: Iterable[Iterable[int]]) -> Point | None:
    """Return the point of a grouping of the places of a whole line, if the engine finds one.

    Places are numbered ball by ball. Its sharing has what `same_density` can ask for.
    """
    columns = [int(j) for poured in lineup.columns.poured for j in poured]
    at = [(pour.part, m.label) for m in lineup.maps for pour in m.pours]
    alike = [{columns[place] for place in group} for group in groups]
    pairs = [pair for group in alike for pair in pairwise(sorted(group))]
    tied = replace(lineup, columns=lineup.columns.tied(pairs))
    sharing = {}
    for part in dict.fromkeys(part for part, _ in at):
        own = (
            [at[p][1] for p, j in enumerate(columns) if j in g and at[p][0] == part] for g in alike
        )
        sharing[part] = tuple(tuple(labels) for labels in own if len(labels) > 1)
    solver = LinearSolver()
    start = solver.best(first_start(tied)[1], *tied.columns.box).x
    best = best_found(tied, solver, search_rounds(tied, start))
    if not best.good:
        return None
    try:
        solution = Solution(tied, best.x, best.x, "feasible", best.starts)
        result = as_result(scenario, [solution], solver, exact=True)
    except SolverError:
        return None
    return Point(sharing, result)

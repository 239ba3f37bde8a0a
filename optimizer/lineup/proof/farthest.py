"""That no line-up goes farther toward a goal, for a given mould."""

from __future__ import annotations

from dataclasses import dataclass, replace

from optimizer.ball.bounds import Bound
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.goal_rows import Sought
from optimizer.lineup.goals import Reach
from optimizer.lineup.proof.proof import Relaxation
from optimizer.lineup.rows import Lineup

SHORT = (1e-4, 1e-3, 1e-2, 1e-1)
"""Of the number's tolerance: how much farther is tried to be proven impossible, the least first."""


@dataclass(frozen=True, eq=False)
class Farthest:
    """What is proven of a goal, in the text's unit, by a `relaxation`; None if nothing is.

    No line-up keeps the room that is asked for beyond `value`.
    """

    value: float
    relaxation: Relaxation | None


def farthest(reach: Reach) -> Farthest:
    """Return what is proven of how far the weights that stop first can go."""
    lineup, sought = reach.lineup, reach.lineup.sought
    if sought is None:
        raise ValueError("no number is sought")
    goal, here = sought.goal, float(reach.x[lineup.goal_column])
    best = sought.high if goal.sense == "most" else sought.low
    if goal.way * here >= goal.way * best:
        return Farthest(best / sought.size, None)
    for share in SHORT:
        least = here + goal.way * share * sought.unit
        if goal.way * least >= goal.way * best:
            break
        maps = [_beyond(linear_map, sought, least) for linear_map in lineup.maps]
        asked = Relaxation(Lineup.of(maps, lineup.sharing), LinearSolver(), goal.keep)
        if asked.verdict().proven:
            return Farthest(least / sought.size, asked)
    return Farthest(best / sought.size, None)


def _beyond(linear_map: LinearMap, sought: Sought, least: float) -> LinearMap:
    """Return a weight class whose number is `least` or nearer to the goal.

    A limit is put there: those that are tighter still allow no more.
    """
    ends = (least, sought.high) if sought.goal.sense == "most" else (sought.low, least)

    def moved(bound: Bound) -> Bound:
        if bound not in sought.bounds:
            return bound
        if bound.side == "both":
            return replace(bound, low=ends[0], high=ends[1])
        return bound.moved(least - bound.value)

    target = {
        figure: replace(span, low=ends[0], high=ends[1]) if figure.key == name else span
        for name in [sought.goal.name if sought.goal.path[0] == "target" else ""]
        for figure, span in linear_map.target.items()
    }
    return replace(linear_map, target=target, bounds=tuple(map(moved, linear_map.bounds)))

"""Targets that a whole line may share, found in several ways, and whether there are none.

They come from the least move of all figures from the nearest line-up, the line-up found with the
figures left free, and, where it is exact, the window that all weights share.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from optimizer.ball.figures import DIFFERENTIAL, LOW_RG, TARGETED
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.claims import without
from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.engine.search import best_found, search_rounds
from optimizer.lineup.proof.proof import Relaxation
from optimizer.lineup.rows import Lineup
from optimizer.questions.why_not.changes.moves import Move
from optimizer.questions.window.reach import Reach, flat, opened
from optimizer.questions.window.shared_reach import LineReach
from optimizer.scenario import Scenario
from shared.arrays import Array


def freed_start(lineup: Lineup, solver: LinearSolver) -> tuple[Array | None, bool]:
    """Return the columns of a line-up with every figure of the target free, None if none is found.

    And whether it is proven that there is none. Rules on the target's figures don't apply.
    """
    target = [bound for bound in lineup.maps[0].bounds if bound.side == "both"]
    free = without(lineup, [bound.everywhere for bound in target if bound.figure in TARGETED])
    best = best_found(free, solver, search_rounds(free, free.columns.middle))
    if best.good:
        return best.x, False
    return None, Relaxation(free, solver).verdict().proven


def shared_window(maps: Sequence[LinearMap], asked: Scenario, solver: LinearSolver) -> Reach | None:
    """Return what all weights share, rules ignored; None where that takes a long search."""
    free = tuple(
        replace(opened(m), bounds=tuple(bound for bound in m.bounds if bound.rule is None))
        for m in maps
    )
    return LineReach(asked, solver).common(free) if all(map(flat, free)) else None


def window_moves(reach: Reach, figures: Sequence[Move]) -> Iterator[tuple[float, ...]]:
    """Yield how far the figures (cm) must move to points of a window, the nearest first.

    Nothing is yielded where a figure can't move, or an intermediate differential is asked for.
    """
    if [move.bound.figure for move in figures if move.bound] != [LOW_RG, DIFFERENTIAL]:
        return
    asked = np.array([move.value for move in figures])
    units = np.array([move.tolerance or 1.0 for move in figures])
    offs = [point - asked for band in reach.bands for point in _points(band.outline)]
    for off in sorted(offs, key=lambda off: float(np.max(np.abs(off) / units)))[:3]:
        yield tuple(off.tolist())


def _points(outline: Array) -> Iterator[Array]:
    """Yield points near an outline (k, 2), a little toward its middle."""
    middle = outline.mean(axis=0)
    for a, b in pairwise([*outline, outline[0]]):
        for share in (0.0, 0.25, 0.5, 0.75):
            yield 0.02 * middle + 0.98 * (a + share * (b - a))

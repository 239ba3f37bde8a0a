"""A named dimension of the drawing as a move: the least that is enough, with new densities."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.moulds.starts import groups
from optimizer.lineup.moulds.walk import walk
from optimizer.questions.why_not.changes.least_moves import Loosened
from optimizer.questions.why_not.changes.moves import Move
from optimizer.scenario import Scenario, read_again
from optimizer.scenario.dimensions import part_lengths
from shared.arrays import Array
from shared.errors import UnbuildableError

REACH = 0.25
"""Of its value: the farthest that a dimension is moved, either way."""
LEAST_REACH = 0.5
"""cm. The reach is at least this: a value may be 0."""


@dataclass(frozen=True, eq=False)
class Redrawing:
    """A move of one dimension, and the scenario with that dimension free."""

    move: Move
    opened: Scenario


def redrawings(asked: Scenario) -> Iterator[Redrawing]:
    """Yield the move of each dimension that has one value for all weights, the ball's own apart."""
    unit = asked.reading.length
    used = part_lengths(tomllib.loads(asked.source), core=True)
    for name, value in asked.text.dimensions.items():
        if not isinstance(value, float) or name not in used:
            continue
        reach = max(REACH * abs(value), LEAST_REACH / unit)
        span = {name: (value - reach, value + reach)}
        opened = read_again(asked.written, asked.chosen, span)
        path = ("dimensions", name)
        yield Redrawing(Move("dimension", name, path, value * unit, 0, "length", None), opened)


def least_redrawing(
    redrawing: Redrawing, nearest: Mapping[str, Array], solver: LinearSolver
) -> float | None:
    """Return how far the dimension must move (cm, signed), or None if that isn't enough.

    It must be enough for the weights that have it and those tied to them; it can't help the others.
    `nearest` are densities to start from, by weight label.
    """
    lineup = next(
        group for group in groups(redrawing.opened) if group.drawing(str(redrawing.move.about))
    )
    of = lineup.columns
    move = redrawing.move.linked(of.moulds)
    x = of.middle.copy()
    for k, label in enumerate(lineup.labels):
        x[of.poured[k]] = nearest[label]
    loosened = Loosened(lineup, [move])
    engine = loosened.engine(solver)
    moulds = np.append(of.mould, False)
    for y, rows in loosened.starts([x]):
        try:
            peak = walk(engine, y, moulds, rows)
        except UnbuildableError:
            continue
        if peak.meets_targets:
            return float(peak.x[-1])
    return None

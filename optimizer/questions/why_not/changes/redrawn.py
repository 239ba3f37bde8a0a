"""A named dimension of the drawing as a move: the least that is enough, with new densities."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping

import numpy as np

from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.moulds.starts import groups
from optimizer.lineup.moulds.walk import walk
from optimizer.questions.why_not.changes.least_moves import Loosened
from optimizer.questions.why_not.changes.moves import Move
from optimizer.scenario import Scenario, read_again
from optimizer.scenario.dimensions import lengths_set_in, part_lengths
from shared.arrays import Array
from shared.errors import UnbuildableError

REACH = 0.25
"""Of its value: the farthest that a dimension is moved, either way."""
LEAST_REACH = 0.5
"""cm. The reach is at least this: a value may be 0."""


def redrawings(asked: Scenario) -> Iterator[Move]:
    """Yield the move of each dimension with one value for all weights.

    Those of the ball itself stay, and those of a plug and its hosts, which have no gradient.
    """
    content = tomllib.loads(asked.source)
    used = part_lengths(content, core=True) - {name for _, name, _ in lengths_set_in(content)}
    for name, value in asked.text.dimensions.items():
        if isinstance(value, float) and name in used:
            path, size = ("dimensions", name), value * asked.reading.length
            yield Move("dimension", name, path, size, 0, "length", None)


def least_redrawing(
    asked: Scenario, move: Move, nearest: Mapping[str, Array], solver: LinearSolver
) -> float | None:
    """Return how far the dimension must move (cm, signed), or None if that isn't enough.

    It must be enough for the weights that have it and those tied to them; it can't help the others.
    `nearest` are densities to start from, by weight label.
    """
    name, unit = str(move.about), asked.reading.length
    value, reach = move.value / unit, max(REACH * abs(move.value), LEAST_REACH) / unit
    opened = read_again(asked.written, asked.chosen, {name: (value - reach, value + reach)})
    lineup = next(group for group in groups(opened) if group.drawing(name))
    of = lineup.columns
    x = of.middle.copy()
    for k, label in enumerate(lineup.labels):
        x[of.poured[k]] = nearest[label]
    loosened = Loosened(lineup, [move.linked(of.moulds)])
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

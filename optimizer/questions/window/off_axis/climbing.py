"""Where a figure is greatest under curved rows, from a start that is nearly there or far away.

From afar a program of the tangents says where to go, its step is brought back onto the rows, and
the rows that hold it are tried as those of the optimum (after Fletcher and Sainz de la Maza,
"Nonlinear programming and nonsmooth optimization by successive linear programming", Mathematical
Programming 43, 1989; from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TypeAlias

import numpy as np

from optimizer.ball.linear_rows import LinearRow, Name
from optimizer.lineup.engine.climbing import Engine
from optimizer.lineup.engine.linear_solver import Optimum, Rows
from optimizer.questions.window.off_axis.bound import Held, equation
from optimizer.questions.window.off_axis.settling import Settled, Settling
from shared.arrays import Array
from shared.tolerances import LEAST_DUAL

PROGRAMS = 60
"""Linear programs from one start at the most."""
PASSES = 40
"""Programs by which the engine brings a start within the limits."""
NEAR, FAR = 0.02, 0.3
"""g/cm³ and cm. How far the first program goes from a neighbour's optimum, or from elsewhere."""
SHORT = 1e-7
"""cm. A gain less than this is none."""
AIM = 0.01
"""cm. The unit of the figure that is raised."""

Start: TypeAlias = tuple[Array, Held | None]
"""Columns to start from, and what is thought to hold the optimum near by; None for a far start."""


def reached(asked: Settling, starts: Sequence[Start]) -> Iterator[Settled]:
    """Yield the optima that are reached.

    A near start takes the longer way only if there is no other.
    """
    near = [(x, held) for x, held in starts if held is not None]
    ways = (
        (asked.settled(x, held) for x, held in near),
        (_climbed(asked, x, frozenset()) for x, held in starts if held is None),
    )
    found = [one for way in ways for one in way if one is not None]
    yield from found or (one for x, held in near if (one := _climbed(asked, x, held)) is not None)


def _climbed(asked: Settling, x: Array, held: Held) -> Settled | None:
    """Return the optimum that programs lead to, or None where the rows can't be met."""
    at = asked.restored(x, held)
    if at is None and held:
        at = asked.restored(x)
    if at is None:
        engine = Engine(
            lambda there: next(asked.sheets(there)),
            asked.lower,
            asked.upper,
            x,
            np.ones(len(x)),
            asked.solver,
            PASSES,
        )
        at = asked.restored(engine.climb(x).x)
    return None if at is None else _risen(asked, at, NEAR if held else FAR)


def _risen(asked: Settling, x: Array, reach: float) -> Settled:
    """Return where programs lead from `x`, each step brought back onto the rows."""
    last: Held | None = None
    for _ in range(PROGRAMS):
        if float(asked.aim @ x) >= asked.most:
            break
        there, held = max(
            (_program(asked, rows, x, reach) for rows in asked.sheets(x)),
            key=lambda found: float(asked.aim @ found[0]),
        )
        promised = float(asked.aim @ (there - x))
        over = promised <= SHORT / 10 or reach < SHORT
        if held == last or over:
            found = asked.settled(x, held)
            if found is not None and float(asked.aim @ (found.x - x)) >= -SHORT:
                return found
        if over:
            break
        last = held
        back = asked.restored(there, held)
        rise = -np.inf if back is None else float(asked.aim @ (back - x))
        if rise < 0.25 * promised:
            reach /= 4
        elif rise > 0.75 * promised:
            reach *= 2
        if back is not None and rise > 0.0:
            x = back
    ways = [_program(asked, rows, x, NEAR)[0] for rows in asked.sheets(x)]
    more = max(float(asked.aim @ (there - x)) for there in ways)
    return Settled(x, frozenset(), max(min(more, asked.most - float(asked.aim @ x)), 0.0))


def _program(
    asked: Settling, rows: Sequence[LinearRow], x: Array, reach: float
) -> tuple[Array, Held]:
    """Return the best point by the tangents within `reach` of `x`, and what holds it."""
    aim = LinearRow(Name("aim"), asked.aim, 0.0, np.inf, tolerance=AIM)
    lower, upper = np.maximum(asked.lower, x - reach), np.minimum(asked.upper, x + reach)
    found: Optimum = asked.solver.best(Rows.of([*rows, aim]), lower, upper)
    bears = np.abs(found.duals[:-1]) > LEAST_DUAL
    some = zip(rows, bears, strict=True)
    return found.x, frozenset(row.name for row, bear in some if bear and not equation(row))

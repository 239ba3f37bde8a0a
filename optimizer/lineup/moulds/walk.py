"""From mould to mould: the engine's own program, with the free dimensions on a trust region.

A climb solves the densities of each mould; one program over densities and dimensions then says how
to change the mould. A step is taken if the merit at the new mould, with its densities solved in
turn, rises.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from optimizer.lineup.columns import Flags
from optimizer.lineup.engine.climbing import WORTH, Engine, Peak
from optimizer.lineup.engine.linear_solver import Rows
from shared.arrays import Array
from shared.errors import UnbuildableError

FIRST = 0.25
"""The largest first step, as a share of each dimension's range."""
LEAST = 1e-9
"""Share of a range: when steps are limited to less than this, the walk ends."""
PROGRAMS = 500
"""The most linear programs of a walk, which then ends at its next mould; most take 15 to 150. They
are counted, not timed, so that the answer is the same on every machine."""
CRAWL, CRAWLING = 2e-4, 5
"""The least gain, in tolerances, of so many steps together; otherwise the walk ends. Along a curved
ridge, where two margins alternate, steps stay short. Rounding the mould moves a margin by more."""


def walk(
    engine: Engine,
    x: Array,
    moulds: Flags,
    rows: Rows | None = None,
    report: Callable[[Peak], None] = lambda _peak: None,
    *,
    reach: float = FIRST,
) -> Peak:
    """Return the best mould and densities reached from `x`; `moulds` masks the dimensions' columns.

    `rows` replace x's own in the first program. `report` hears of each step; the first goes no
    farther than `reach`, a share of each range. Raises UnbuildableError if `x` itself is no mould.
    """
    before = engine.solver.solved
    span = np.where(moulds, engine.upper - engine.lower, np.inf)
    here = _settled(engine, x, moulds, rows)
    past = list[float]()
    while engine.solver.solved - before < PROGRAMS:
        merit = here.rows.merit(here.x)
        room = np.where(moulds, reach * span, np.inf)
        optimum = engine.solver.best(
            here.rows,
            np.maximum(engine.lower, here.x - room),
            np.minimum(engine.upper, here.x + room),
        )
        promised = optimum.objective - merit
        past.append(merit)
        crawls = promised < CRAWL and merit - past[max(len(past) - CRAWLING, 0)] < CRAWL
        if promised <= WORTH or reach < LEAST or (crawls and len(past) > CRAWLING):
            break
        try:
            there = _settled(engine, optimum.x, moulds)
            rise = there.rows.merit(there.x) - merit
        except UnbuildableError:
            rise = -np.inf
        if rise < 0.25 * promised:
            reach /= 4
        elif rise > 0.75 * promised:
            reach = min(2 * reach, 1.0)
        if rise > 0.0:
            here = there
            report(here)
    return here


def _settled(engine: Engine, x: Array, moulds: Flags, rows: Rows | None = None) -> Peak:
    """Return the best densities for the mould of `x`."""
    x = np.clip(x, engine.lower, engine.upper)
    held = replace(
        engine,
        lower=np.where(moulds, x, engine.lower),
        upper=np.where(moulds, x, engine.upper),
    )
    return held.climb(x, rows)

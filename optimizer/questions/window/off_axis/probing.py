"""What weights can reach where it can't be told exactly: found by search, not proven.

Slices of equal low RG (`slicing.py`) make a band. Every point of it is a ball (or a line-up)
measured exactly; that there are no others beyond is not proven.
"""

from __future__ import annotations

from collections.abc import Container
from dataclasses import replace

import numpy as np

from optimizer.ball.bounds import Bound
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.engine.linear_solver import LinearSolver, Rows
from optimizer.lineup.rows import Lineup
from optimizer.questions.window.exact.bands import Band, Line
from optimizer.questions.window.exact.chords import COARSE, Lost
from optimizer.questions.window.exact.pieces import laid_out
from optimizer.questions.window.exact.slices import Chain, chain
from optimizer.questions.window.off_axis.slicing import AIM, MET, SIGNS, Slicing
from optimizer.questions.window.off_axis.thrown_balls import crowd
from optimizer.questions.window.reach import Reach
from shared.arrays import Array, frozen
from shared.errors import SolverError

KNOTS = 9
"""Low RGs at which the differential is sought first."""
REDRAWN = 6
"""Times that a band is drawn at the most."""
ERROR = 0.9 * COARSE
"""cm. Lines are drawn to this, as far as it can be estimated."""
DEEPEST = 10
"""Times a stretch between two low RGs is halved at the most."""
NEAR = 0.02
"""g/cm³ and cm. How near the end of a slice a program looks for more."""
INSIDE = 2e-6
"""cm by which the least and the greatest low RG are drawn in, so that they are met by both ends."""


def probed(lineup: Lineup, solver: LinearSolver, pin: int) -> Reach | None:
    """Return what an `opened` line-up was found to reach; None where the search lost its way.

    Of cores with all parts on the pin axis, while that axis has the `pin`-th RG (0 low).

    A limit that speaks of axes holds only balls whose axes mean something. What it leaves are two
    sets of balls, each with an edge where the two lowest RGs are AXIS_GAP apart; so each is asked
    by itself; of several weights at once, all apart or all near.
    """
    some = crowd(lineup.maps, pin)
    sets = [Slicing(lineup, solver, some, pin)]
    if some.partial:
        silent = replace(
            lineup, maps=tuple(_without(linear_map, some.partial) for linear_map in lineup.maps)
        )
        sets = [Slicing(lineup, solver, some.apart(1.0), pin, 1.0)]
        sets.append(Slicing(silent, solver, some.apart(-1.0), pin, -1.0))
    try:
        reaches = [_reach(slicing) for slicing in sets]
    except Lost:
        return None
    error = max(reach.error for reach in reaches)
    bands = laid_out((band for reach in reaches for band in reach.bands), ERROR)
    return Reach(bands, error, proven=False)


def _without(linear_map: LinearMap, some: Container[Bound]) -> LinearMap:
    return replace(
        linear_map, bounds=tuple(bound for bound in linear_map.bounds if bound not in some)
    )


def _reach(slicing: Slicing) -> Reach:
    """Return what was found of one set of balls; raise Lost where the search lost its way."""
    far, some = list(slicing.far()), slicing.crowd
    low, high = (
        slicing.best(0, sign, [*far, *slicing.starts(some.outermost(sign))]) for sign in SIGNS
    )
    if low is None or high is None:
        return Reach((), 0.0, proven=False)
    first, last = (float(end.x[slicing.lineup.columns.figures]) for end in (low, high))
    rgs = np.array([first])
    if last - first > 4 * INSIDE:
        rgs = np.linspace(first + INSIDE, last - INSIDE, KNOTS)
    slicing.knots(rgs, (low, high))
    band, error = _drawn(slicing, rgs)
    return Reach((band,), max(error, _promised(slicing)), proven=False)


def _drawn(slicing: Slicing, rgs: Array) -> tuple[Band, float]:
    """Return the band over some low RGs, and how far it may be off (cm).

    Drawn anew as long as a slice or a ball of the crowd shows that something was missed.
    """
    for _ in range(REDRAWN):
        found = chain(rgs**2, slicing.ends, ERROR, DEEPEST, proven=False)
        while slicing.revised():
            found = chain(rgs**2, slicing.ends, ERROR, DEEPEST, proven=False)
        band, error = _band(found), found.error + INSIDE
        off, rg, ball = slicing.crowd.farthest(band)
        if off <= error or not rgs[0] < rg < rgs[-1]:
            break
        slicing.fill(rg, slicing.starts(ball))
        rgs = np.sort(np.append(rgs, rg))
    return band, max(error, off)


def _promised(slicing: Slicing) -> float:
    """Return what programs near the ends of the slices still promise, cm.

    Raises SolverError where a ball does not measure what is claimed, or breaks a limit.
    """
    most = 0.0
    for rg, ends in slicing.known.items():
        for sign, x in zip(SIGNS, (end.x for end in ends), strict=True):
            engine = slicing.engine(1, sign, rg)
            rows = Rows.of(engine.rows_at(x))
            off = float(np.max(rows.broken(x)))
            if off > MET:
                label = slicing.lineup.labels[0]
                raise SolverError(f"{label}: a point of the window is {off:.2g} off")
            lower, upper = np.maximum(engine.lower, x - NEAR), np.minimum(engine.upper, x + NEAR)
            best = slicing.solver.best(rows, lower, upper)
            most = max(most, AIM * (best.objective - rows.merit(x)))
    return most


def _band(found: Chain) -> Band:
    low, high = (Line(points[:, 1], ((),) * (len(points) - 1)) for points in found.lines)
    return Band(frozen(np.sqrt(found.s)), low, high)

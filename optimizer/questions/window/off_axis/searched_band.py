"""What weights can reach where no exact method applies: found by search, not proven.

Slices of equal low RG (`slice_search.py`) make a band. Every point of it is a ball (or a line-up)
measured exactly; that there are none beyond is not proven.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.rows import Lineup
from optimizer.questions.window.exact.bands import Band, Line
from optimizer.questions.window.exact.branch import LOW
from optimizer.questions.window.exact.chains import chain
from optimizer.questions.window.exact.disjoint_bands import laid_out
from optimizer.questions.window.exact.shared_bands import COARSE, Lost
from optimizer.questions.window.off_axis.slice_search import AIM, MET, SIGNS, SliceSearch
from optimizer.questions.window.off_axis.thrown_balls import thrown_balls
from optimizer.questions.window.reach import LOST, Reach
from shared.arrays import Array, frozen
from shared.errors import SolverError

KNOTS = 9
"""Low RGs at which the differential is sought first."""
REDRAWN = 6
"""Times a band is drawn at most."""
ERROR = 0.9 * COARSE
"""cm. The accuracy of lines, as far as it can be estimated."""
DEEPEST = 10
"""Times a stretch between two low RGs is halved at most."""
NEAR = 0.02
"""g/cm³ and cm. How far from the end of a slice a program looks for more."""
INSIDE = 2e-6
"""cm by which the least and the greatest low RG are drawn in, so that both lines exist there."""


def searched_reach(lineup: Lineup, solver: LinearSolver, pin: int) -> Reach:
    """Return what an `opened` line-up was found to reach; LOST where the search lost its way.

    With all parts on the pin axis, only balls count whose pin axis has the `pin`-th RG (0 low).

    A limit that depends on axes applies only to balls whose axes are well defined. The balls then
    form two sets that meet where the two lowest RGs are AXIS_GAP apart; each set is searched by
    itself. Of several weights, all are apart or all are near.
    """
    balls = thrown_balls(lineup.maps, pin)
    searches = [SliceSearch(lineup, solver, balls, pin)]
    if balls.partial:
        maps = tuple(
            replace(m, bounds=tuple(b for b in m.bounds if b not in balls.partial))
            for m in lineup.maps
        )
        silent = replace(lineup, maps=maps)
        searches = [
            SliceSearch(lineup, solver, balls.apart(1.0), pin, 1.0),
            SliceSearch(silent, solver, balls.apart(-1.0), pin, -1.0),
        ]
    try:
        reaches = [_reach(search) for search in searches]
    except Lost:
        return LOST
    error = max(reach.error for reach in reaches)
    bands = laid_out((band for reach in reaches for band in reach.bands), ERROR)
    return Reach(bands, error, proven=False, off_pin=bool(bands) and pin != LOW)


def _reach(search: SliceSearch) -> Reach:
    """Return what was found of one set of balls; raise Lost where the search lost its way."""
    far, balls = list(search.far()), search.balls
    low, high = (
        search.best(0, sign, [*far, *search.starts(balls.outermost(sign))]) for sign in SIGNS
    )
    if low is None or high is None:
        return Reach((), 0.0, proven=False)
    first, last = (float(end.x[search.lineup.columns.figures]) for end in (low, high))
    rgs = np.array([first])
    if last - first > 4 * INSIDE:
        rgs = np.linspace(first + INSIDE, last - INSIDE, KNOTS)
    search.knots(rgs, (low, high))
    band, error = _drawn(search, rgs)
    return Reach((band,), max(error, _promised(search)), proven=False)


def _drawn(search: SliceSearch, rgs: Array) -> tuple[Band, float]:
    """Return the band over some low RGs, and how far it may be off (cm).

    It is drawn again as long as a slice or a thrown ball shows that something was missed.
    """
    for _ in range(REDRAWN):
        curve = chain(rgs**2, search.ends, ERROR, DEEPEST, proven=False)
        while search.revised():
            curve = chain(rgs**2, search.ends, ERROR, DEEPEST, proven=False)
        low, high = (Line(points[:, 1], ((),) * (len(points) - 1)) for points in curve.lines)
        band, error = Band(frozen(np.sqrt(curve.s)), low, high), curve.error + INSIDE
        off, rg, ball = search.balls.farthest(band)
        if off <= error or not rgs[0] < rg < rgs[-1]:
            break
        search.fill(rg, search.starts(ball))
        rgs = np.sort(np.append(rgs, rg))
    return band, max(error, off)


def _promised(search: SliceSearch) -> float:
    """Return how much more linear programs near the ends of the slices still promise, cm.

    Raises SolverError where a ball does not measure as claimed, or breaks a limit.
    """
    most = 0.0
    for rg, ends in search.known.items():
        for sign, end in zip(SIGNS, ends, strict=True):
            engine, x, rows = search.engine(1, sign, rg), end.x, end.rows
            off = float(np.max(rows.broken(x)))
            if off > MET:
                label = search.lineup.labels[0]
                raise SolverError(f"{label}: a point of the window is {off:.2g} off")
            lower, upper = np.maximum(engine.lower, x - NEAR), np.minimum(engine.upper, x + NEAR)
            best = search.solver.best(rows, lower, upper)
            most = max(most, AIM * (best.objective - rows.merit(x)))
    return most

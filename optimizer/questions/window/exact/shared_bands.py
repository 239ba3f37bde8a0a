"""What several weights can share, by linear programs in the plane of the two squared RGs.

With one density poured in several weights the whole line is one polytope, too large to enumerate.
About the centre its projection on the plane of u = RG_low² and v = RG_high² is a polygon: two
programs find its ends, and the normal of each chord finds the corner beyond it, or that there is
none (two programs a corner). About the CG it is no polygon, and the least and the greatest v are
sought at a series of u, by tangents: found, not proven.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product
from operator import itemgetter

import numpy as np

from optimizer.questions.window.exact.bands import Band, Line
from optimizer.questions.window.exact.chains import Chain, chain
from optimizer.questions.window.exact.makers import Makers
from optimizer.questions.window.exact.plane_program import Corner, PlaneProgram
from optimizer.questions.window.exact.polytope_slices import Mix, Slices
from shared.arrays import Array, frozen
from shared.errors import SolverError

BEYOND = 1e-9
"""cm² along a unit normal: a corner must lie farther beyond a chord than this."""
MEASURED = 1e-6
"""cm. How closely each ball must measure the RGs that all share."""
COARSE = 2e-5 * 2.54
"""cm (0.00002 in). The accuracy of lines, as far as it can be estimated."""
KNOTS = 13
"""The first slices about the CG."""
INSIDE = 1e-8
"""cm² by which slices stay inside the least and the greatest u."""
LEFT, RIGHT, DOWN, UP = np.array([(-1.0, 0.0), (1.0, 0.0), (0.0, -1.0), (0.0, 1.0)])


class Lost(Exception):  # noqa: N818 - a turn in the search, not a fault
    """Nothing was found at a low RG between two that are reachable."""


def polygon_band(program: PlaneProgram) -> tuple[Band, float] | None:
    """Return the band about the centre and how far its lines may be off (cm), or None if empty."""
    first = program.farthest(LEFT)
    if first is None:
        return None
    corners, makers = _corners(program, first)
    first_ends = np.arange(len(makers))
    edges = np.column_stack([first_ends, (first_ends + 1) % len(corners)])
    at = np.array([corner.at for corner in corners])
    densities = np.array([corner.densities for corner in corners])
    slices = Slices(densities, at[:, 0], np.zeros(len(at)), at[:, 1], edges)
    curve = chain(slices.knots, slices.ends)
    outline = _Edges(at, edges, makers)
    middles = ((curve.s[1:] + curve.s[:-1]) / 2).tolist()
    ends = outline.upright(float(curve.s[0])), outline.upright(float(curve.s[-1]))

    def made(k: int, side: int) -> Makers:
        return outline.over(middles[k], side)

    return _band(program, curve, made, ends), curve.error


def tangent_band(
    program: PlaneProgram, error: float = COARSE, deepest: int = 12
) -> tuple[Band, float] | None:
    """Return the band about the CG as found, and an estimate of its lines' error (cm), or None.

    Raises Lost where no line-up is found at a low RG between two that are reachable.
    """
    starts = [np.zeros(len(program.branches))]
    ends = [_best(program, way, starts) for way in (LEFT, RIGHT)]
    if ends[0] is None or ends[1] is None:
        return None
    low, high = float(ends[0].at[0]), float(ends[1].at[0])
    wide = high - low > 4 * INSIDE
    knots = np.linspace(low + INSIDE, high - INSIDE, KNOTS) if wide else np.array([low])
    last = [ends[0].c, ends[0].c]
    far = [ends[0].c, ends[1].c]  # near an end, tangents at a neighbour's heights may leave nothing

    def slice_(u: float) -> tuple[Mix, Mix]:
        corners = [_best(program, w, last, u) or _best(program, w, far, u) for w in (DOWN, UP)]
        mixes = []
        for k, corner in enumerate(corners):
            if corner is None:
                raise Lost
            last[k] = corner.c
            mixes.append(Mix(float(corner.at[1]), corner.densities, corner.makers))
        return mixes[0], mixes[1]

    curve = chain(knots, lambda keys: list(map(slice_, keys)), error, deepest, proven=False)

    def made(k: int, side: int) -> Makers:
        a, b = ((curve.low, curve.high)[side][i].makers for i in (k, k + 1))
        return tuple(claim for claim in a if claim in b) or a

    return _band(program, curve, made, ((), ())), curve.error


def _best(
    program: PlaneProgram, way: Array, starts: Sequence[Array], u: float | None = None
) -> Corner | None:
    """Return the farthest corner found from any of the heights of the CGs in `starts`."""
    corners = [corner for c in starts if (corner := program.farthest(way, c, u))]
    return max(corners, key=lambda corner: float(way @ corner.at), default=None)


def _corners(program: PlaneProgram, first: Corner) -> tuple[list[Corner], list[Makers]]:
    """Return the corners, counter-clockwise, and what makes the edge after each."""
    last = _sure(program, RIGHT)
    if float(np.max(np.abs(first.at - last.at))) <= 10 * BEYOND:
        down, up = _sure(program, DOWN), _sure(program, UP)
        if float(np.max(np.abs(up.at - down.at))) <= 10 * BEYOND:
            return [first], []
        first, last = down, up
    both = [*_between(program, first, last), *_between(program, last, first)]
    return [corner for corner, _ in both], [by for _, by in both]


def _between(program: PlaneProgram, a: Corner, b: Corner) -> list[tuple[Corner, Makers]]:
    """Return the corners from `a` to `b` (left out) on the right of the chord, with their edges."""
    run = b.at - a.at
    normal = np.array([run[1], -run[0]]) / float(np.linalg.norm(run))
    beyond = _sure(program, normal)
    known = min(float(np.linalg.norm(beyond.at - end.at)) for end in (a, b)) <= BEYOND
    if known or float(normal @ (beyond.at - a.at)) <= BEYOND:
        return [(a, beyond.makers)]
    return [*_between(program, a, beyond), *_between(program, beyond, b)]


def _sure(program: PlaneProgram, way: Array) -> Corner:
    corner = program.farthest(way)
    if corner is None:
        raise SolverError("a window that was there is empty")
    return corner


def _measure(program: PlaneProgram, curve: Chain) -> None:
    """Raise SolverError where a ball does not measure as claimed."""
    for u, *mixes in zip(curve.s.tolist(), curve.low, curve.high, strict=True):
        for mix, (k, branch) in product(mixes, enumerate(program.branches)):
            radii = branch.map.ball(program.columns.densities(k, mix.densities)).radii
            off = max(abs(radii.low - np.sqrt(u)), abs(radii.high - np.sqrt(mix.square)))
            if off > MEASURED:
                raise SolverError(f"{branch.map.label}: the window measures {off:.2g} cm off")


def _band(
    program: PlaneProgram,
    curve: Chain,
    made: Callable[[int, int], Makers],
    ends: tuple[Makers, Makers],
) -> Band:
    """Return the band of a chain; `made` names what makes a piece (its number, its side)."""
    _measure(program, curve)
    low, high = (
        Line(points[:, 1], tuple(made(k, side) for k in range(len(points) - 1)))
        for side, points in enumerate(curve.lines)
    )
    return Band(frozen(np.sqrt(curve.s)), low, high, ends)


@dataclass(frozen=True, eq=False)
class _Edges:
    """The edges (e, 2) of a polygon with corners `at` (k, 2), and what makes them."""

    at: Array
    edges: np.ndarray
    makers: Sequence[Makers]

    def over(self, u: float, side: int) -> Makers:
        """Return what makes the lowest (side 0) or the highest (1) edge over `u`."""
        over: list[tuple[float, Makers]] = []
        for (i, j), by in zip(self.edges, self.makers, strict=True):
            (ua, va), (ub, vb) = self.at[i], self.at[j]
            if min(ua, ub) < u < max(ua, ub):
                over.append((float(va + (vb - va) * (u - ua) / (ub - ua)), by))
        over.sort(key=itemgetter(0))
        return over[-side][1] if over else ()

    def upright(self, u: float) -> Makers:
        """Return what makes the upright edge at `u`, if there is one."""
        for (i, j), by in zip(self.edges, self.makers, strict=True):
            if float(np.max(np.abs(self.at[[i, j], 0] - u))) <= 10 * BEYOND:
                return by
        return ()

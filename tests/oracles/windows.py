"""Independent windows of aligned ellipsoid balls: the oracle's figures, and scipy's linprog.

All parts on the pin axis: the mass and the inertias about the centre are linear in the densities.
About the centre the farthest point of (RG_low², RG_high²) in a direction is one linear program for
each choice of weights whose pin axis has the high RG; about the CG a point is reachable if some
height of the CG gives densities within their ranges, with the pin axis low or high.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from oracles.balls import about_centre
from oracles.lineups import OUNCE, RADIUS, Line
from scipy.optimize import linprog
from scipy.sparse import identity, kron

TIGHT = {"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10}


@dataclass(frozen=True)
class Figures:
    """What one g/cm³ of each solid (n,) gives: g, g cm along the pin, g cm² about x and z."""

    mass: np.ndarray
    first: np.ndarray
    across: np.ndarray
    along: np.ndarray


def figures(line: Line) -> Figures:
    """Return the figures of a line's solids."""
    unit = [about_centre(line.solids, one) for one in np.eye(len(line.solids))]
    return Figures(
        np.array([one[0] for one in unit]),
        np.array([one[1][2] for one in unit]),
        np.array([one[2][0, 0] for one in unit]),
        np.array([one[2][2, 2] for one in unit]),
    )


def farthest(line: Line, directions: np.ndarray, same: Sequence[int] = ()) -> np.ndarray | None:
    """Return the greatest direction · (u, v), cm², that all weights share about the centre.

    `same` are the solids that have one density in all weights. None where there is nothing.
    """
    choices = product((False, True), repeat=len(line.weights))
    some = [_farthest(line, directions, same, choice) for choice in choices]
    known = [one for one in some if one is not None]
    return np.max(known, axis=0) if known else None


def alike_in_all(line: Line, directions: np.ndarray) -> np.ndarray | None:
    """Return the same where the pin axis has the low RG in all weights, or the high one in all."""
    count = len(line.weights)
    some = [_farthest(line, directions, (), [high] * count) for high in (False, True)]
    known = [one for one in some if one is not None]
    return np.max(known, axis=0) if known else None


def _farthest(
    line: Line, directions: np.ndarray, same: Sequence[int], pin_high: Sequence[bool]
) -> np.ndarray | None:
    """Return the same where the pin axis has the high RG in some of the weights.

    `directions` (d, 2) are asked at once: a program of d blocks, each best for itself.
    """
    one, n, labels = figures(line), len(line.solids), list(line.weights)
    count = n * len(labels)
    equal, right, bound, most = [], [], [], []

    def row(k: int, slope: np.ndarray, u: float = 0.0, v: float = 0.0) -> np.ndarray:
        whole = np.zeros(count + 2)
        whole[k * n : k * n + n] = slope
        whole[-2:] = u, v
        return whole

    for k, label in enumerate(labels):
        m = line.weights[label]
        low, high = (one.across, one.along) if pin_high[k] else (one.along, one.across)
        equal += [row(k, one.mass / m), row(k, low / m, u=-1.0), row(k, high / m, v=-1.0)]
        right += [1.0, 0.0, 0.0]
        for i in same if k else ():
            tie = row(k, np.eye(n)[i])
            tie[i] = -1.0
            equal.append(tie)
            right.append(0.0)
        if line.top[1] is not None:
            for sign in (1.0, -1.0):
                bound.append(row(k, sign * one.first / RADIUS))
                most.append(line.top[1] * OUNCE)
    bound.append(row(0, np.zeros(n), u=1.0, v=-1.0))
    most.append(0.0)
    d = len(directions)
    aims = np.hstack([np.zeros((d, count)), directions])
    found = linprog(
        -aims.ravel(),
        A_ub=kron(identity(d), np.array(bound)),
        b_ub=np.tile(most, d),
        A_eq=kron(identity(d), np.array(equal)),
        b_eq=np.tile(right, d),
        bounds=[*list(line.ranges[:n]) * len(labels), (0, None), (0, None)] * d,
        options=TIGHT,
    )
    if found.status != 0:
        return None
    return np.sum(aims * found.x.reshape(d, -1), axis=1)


def room(line: Line, label: str, rg: float, differential: float) -> float:
    """Return by how much (in widths) every density is in its range, at a point about the CG.

    The best ball of all heights of the CG; negative where the point is out of reach.
    """
    low, high = np.array(line.ranges).T
    every = _every_height(line, label, rg, differential)
    inside = (np.minimum(x - low, high - x) / (high - low) for x in every)
    return max(float(np.max(np.min(each, axis=1))) for each in inside)


def alike(line: Line, rg: float, differential: float, solid: int) -> bool:
    """Whether every weight has a ball at a point about the CG, with one density of a solid.

    As the height of a weight's CG rises, that density moves: between two heights of the grid with
    both balls within their ranges it takes all values between theirs.
    """
    low, high = np.array(line.ranges).T
    common: list[tuple[float, float]] = [(-np.inf, np.inf)]
    for label in line.weights:
        own = []
        for x in _every_height(line, label, rg, differential):
            inside = np.all((x >= low) & (x <= high), axis=1)
            both = inside[1:] & inside[:-1]
            own += np.sort(np.column_stack([x[:-1, solid], x[1:, solid]])[both], axis=1).tolist()
        common = [
            (max(a, c), min(b, d))
            for a, b in common
            for c, d in _merged(own)
            if max(a, c) <= min(b, d)
        ]
    return bool(common)


def _merged(ends: Sequence[Sequence[float]]) -> list[tuple[float, float]]:
    merged: list[tuple[float, float]] = []
    for low, high in sorted(map(tuple, ends)):
        if merged and low <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(high, merged[-1][1]))
        else:
            merged.append((low, high))
    return merged


def _every_height(line: Line, label: str, rg: float, differential: float) -> list[np.ndarray]:
    """Return the densities (40 001, 4) of the balls at a point, with the pin axis low, and high.

    Of four solids: weight, both inertias and the height c of the CG make four equations, so each c
    within the top weight has one ball.
    """
    one, m = figures(line), line.weights[label]
    top = (line.top[1] or 64.0) * OUNCE * RADIUS / m
    c = np.linspace(-top, top, 40_001)
    rows = np.array([one.mass, one.first, one.along, one.across]) / m
    every = []
    for along, across in ((rg, rg + differential), (rg + differential, rg)):
        right = [np.ones_like(c), c, np.full_like(c, along**2), across**2 + c * c]
        every.append(np.linalg.solve(rows, np.array(right)).T)
    return every


def sampled(line: Line, label: str, random: np.random.Generator, count: int) -> np.ndarray:
    """Return (low RG, differential) about the line's point of random balls (k, 2), cm.

    Balls of the class weight within every range and top weight: corners of the box and points
    between them, brought to the weight along one density.
    """
    one, m, n = figures(line), line.weights[label], len(line.solids)
    low, high = np.array(line.ranges[:n]).T
    part = random.beta(0.3, 0.3, (count, n))
    x = low + part * (high - low)
    j = random.integers(0, n, count)
    each = np.arange(count)
    x[each, j] = 0.0
    x[each, j] = (m - x @ one.mass) / one.mass[j]
    x = x[np.all((x >= low) & (x <= high), axis=1)]
    c = x @ one.first / m
    least, most = ((0.0 if o is None else o) for o in line.top)
    kept = np.abs(c) * m / RADIUS >= least * OUNCE
    if line.top[1] is not None:
        kept &= np.abs(c) * m / RADIUS <= most * OUNCE
    lift = c * c * float(line.about == "cg")
    rgs = np.sqrt(np.sort([x @ one.along / m, x @ one.across / m - lift], axis=0))
    return np.column_stack([rgs[0], rgs[1] - rgs[0]])[kept]


def outside(outline: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Return how far points (k, 2) are outside of an outline (m, 2), 0 inside; by ray casting."""
    a, b = outline, np.roll(outline, -1, axis=0)
    x, y = points[:, :1], points[:, 1:]
    spans = (a[:, 1] > y) != (b[:, 1] > y)
    rise = np.where(b[:, 1] == a[:, 1], 1.0, b[:, 1] - a[:, 1])
    at = a[:, 0] + (y - a[:, 1]) * (b[:, 0] - a[:, 0]) / rise
    inside = np.sum(spans & (x < at), axis=1) % 2 == 1
    run = b - a
    size = np.maximum(np.sum(run**2, axis=1), 1e-30)
    t = np.clip(np.sum((points[:, None] - a) * run, axis=2) / size, 0.0, 1.0)
    gap = np.min(np.linalg.norm(points[:, None] - a - t[:, :, None] * run, axis=2), axis=1)
    return np.where(inside, 0.0, gap)

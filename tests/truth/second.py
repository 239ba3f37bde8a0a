"""A second opinion on a line that is called infeasible, by scipy and the oracle alone.

`impossible` proves it: on the pin axis, boxes of the CG's height and of the low RG, each a linear
program. `line_up` looks for one that there must not be: least squares from many starts.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import permutations
from typing import Final

import numpy as np
from scipy.optimize import least_squares, linprog
from truth.line import OUNCE, Line, Span, figures

INSIDE: Final = 0.98
"""Of a tolerance: a line-up that is found must be so far inside."""
DEEP: Final = 9


def impossible(line: Line, *, exact: bool) -> str | None:
    """Return the label of a weight that is proven to have no ball, on the pin axis; else None."""
    if not line.on_axis:
        return None
    for label in line.weights:
        if all(_empty(line, label, order, exact) for order in _orders(line)):
            return label
    return None


def _orders(line: Line) -> list[tuple[int, ...]]:
    """Return which axes may be low, intermediate and high."""
    J = line.moments
    if np.all(np.abs(J[:, 0, 0] - J[:, 1, 1]) <= 1e-7 * np.max(J[:, 0, 0])):
        return [(2, 0, 1), (0, 1, 2)]
    return list(permutations(range(3)))


def _empty(line: Line, label: str, order: tuple[int, ...], exact: bool) -> bool:
    """Say whether no ball of a weight has its axes in this order, by splitting boxes."""
    reach = line.radius if line.about == "cg" else 0.0
    rg = _band(line, "rg", exact)
    boxes = [(0, (-0.2 * reach, 0.2 * reach), rg)]
    if line.about == "cg":
        boxes += [(0, (-reach, -0.2 * reach), rg), (0, (0.2 * reach, reach), rg)]
    while boxes:
        depth, (a, b), (r, s) = boxes.pop()
        if _no_ball(line, label, order, ((a, b), (r, s)), exact):
            continue
        if depth >= DEEP or len(boxes) > 60:
            return False
        if line.about == "cg" and (b - a) > 0.002 * reach and (depth % 2 == 0 or s - r < 1e-4):
            boxes += [(depth + 1, (a, (a + b) / 2), (r, s)), (depth + 1, ((a + b) / 2, b), (r, s))]
        elif s - r > 1e-6:
            boxes += [(depth + 1, (a, b), (r, (r + s) / 2)), (depth + 1, (a, b), ((r + s) / 2, s))]
        else:
            return False
    return True


def _band(line: Line, key: str, exact: bool) -> tuple[float, float]:
    """Return what a figure of the target may be, a little more than that."""
    low, high = line.target[key]
    give = 1e-6 * high + 1e-5 + (0.0 if exact else line.allowed[key])
    return max(low - give, 0.0), high + give


def _no_ball(
    line: Line,
    label: str,
    order: tuple[int, ...],
    box: tuple[Span, Span],
    exact: bool,
) -> bool:
    """Say whether no ball has its CG's height and its low RG in a box, by one linear program."""
    c, rg = box
    J = line.moments
    m, first = J[:, 3, 3], J[:, 2, 3]
    squares = np.array([J[:, 0, 0], J[:, 1, 1], J[:, 2, 2]])
    inertia = squares.sum(axis=0) - squares
    low_c2 = 0.0 if c[0] <= 0 <= c[1] else min(c[0] ** 2, c[1] ** 2)
    high_c2 = max(c[0] ** 2, c[1] ** 2)
    low, middle, high = order
    lifts = [(0.0, 0.0) if axis == 2 else (low_c2, high_c2) for axis in range(3)]
    d = _band(line, "differential", exact)
    rows: list[np.ndarray] = []

    def at_most(axis: int, radius: float) -> None:  # I − m c² ≤ m r², some c² in its span
        rows.append(inertia[axis] - m * (radius**2 + lifts[axis][1]))

    def at_least(axis: int, radius: float) -> None:
        rows.append(-inertia[axis] + m * (radius**2 + lifts[axis][0]))

    at_most(low, rg[1])
    at_least(low, rg[0])
    at_most(high, rg[1] + d[1])
    at_least(high, rg[0] + d[0])
    at_least(middle, rg[0])
    at_most(middle, rg[1] + d[1])
    if "intermediate_differential" in line.target:
        e = _band(line, "intermediate_differential", exact)
        at_most(middle, rg[1] + d[1] - e[0])
        at_least(middle, max(rg[0] + d[0] - e[1], 0.0))
    if line.about == "cg":
        rows += [first - c[1] * m, -first + c[0] * m]
    weight = line.weights[label]
    give = 1e-6 * weight + (STATED_G * m.sum() if exact else line.allowed["weight"])
    A, b = [np.array(rows) / m.sum()], [np.zeros(len(rows))]
    A.append(np.array([m, -m]) / m.sum())
    b.append(np.array([weight + give, give - weight]) / m.sum())
    if "max" in line.limits.get("top_weight", {}):
        most = line.limits["top_weight"]["max"] * 1.0001 * OUNCE * line.radius
        A.append(np.array([first, -first]) / m.sum())
        b.append(np.array([most, most]) / m.sum())
    if "density_step" in line.limits:
        for i, h in enumerate(line.hosts):
            if h is not None:
                row = np.zeros(len(m))
                row[i], row[h] = 1.0, -1.0
                A.append(np.array([row, -row]))
                b.append(np.full(2, line.limits["density_step"]["max"] * 1.0001))
    bounds = [(lo * (1 - 1e-5) - 1e-4, hi * (1 + 1e-5) + 1e-4) for lo, hi in line.materials]
    found = linprog(np.zeros(len(m)), A_ub=np.vstack(A), b_ub=np.concatenate(b), bounds=bounds)
    return bool(found.status == 2)


STATED_G: Final = 1e-4


def line_up(line: Line, seed: int, starts: int) -> np.ndarray | None:
    """Return densities (weights, n) within tolerances and limits that the search finds, or None."""
    random = np.random.default_rng(seed)
    coupled = bool(line.same) or any(low < high for low, high in line.target.values())
    labels = list(line.weights)
    groups = [labels] if coupled else [[label] for label in labels]
    rows = []
    for group in groups:
        one = _sought(line, group, random, starts)
        if one is None:
            return None
        rows += list(one)
    return np.array(rows)


def _sought(
    line: Line, labels: list[str], random: np.random.Generator, starts: int
) -> np.ndarray | None:
    low, high = np.array(line.materials).T
    n, k = len(low), len(labels)
    same = sorted(line.same)
    own = [i for i in range(n) if i not in line.same]
    free = [key for key, (a, b) in line.target.items() if a < b]
    ends = (
        np.concatenate([low[same], *[low[own]] * k, [line.target[key][0] for key in free]]),
        np.concatenate([high[same], *[high[own]] * k, [line.target[key][1] for key in free]]),
    )
    moving = ends[1] > ends[0]

    def whole(v: np.ndarray) -> tuple[np.ndarray, dict[str, float]]:
        full = ends[0].copy()
        full[moving] = v
        x = np.empty((k, n))
        x[:, same] = full[: len(same)]
        x[:, own] = full[len(same) : len(same) + k * len(own)].reshape(k, -1)
        return x, dict(zip(free, full[len(full) - len(free) :] if free else [], strict=True))

    mass = np.array([line.weights[label] for label in labels])

    def off(v: np.ndarray) -> np.ndarray:
        x, wanted = whole(v)
        return np.concatenate(list(_short(line, x, mass, wanted)))

    for _ in range(starts):
        if not np.any(moving):
            x, _ = whole(np.empty(0))
            return x if np.max(off(np.empty(0))) <= 0 else None
        start = random.uniform(ends[0][moving], ends[1][moving])
        found = least_squares(off, start, bounds=(ends[0][moving], ends[1][moving]), max_nfev=60)
        if np.max(found.fun) <= 0.01:
            return whole(found.x)[0]
    return None


def _short(
    line: Line, x: np.ndarray, mass: np.ndarray, wanted: dict[str, float]
) -> Iterator[np.ndarray]:
    """Yield by how many tolerances balls are beyond 0.98 of one, and limits broken."""
    got = figures(line, x)
    yield np.maximum(np.abs(got["mass"] - mass) / line.allowed["weight"] - INSIDE, 0)
    for key, (target, _) in line.target.items():
        value = wanted.get(key, target)
        yield np.maximum(np.abs(got[key] - value) / line.allowed[key] - INSIDE, 0)
    for key, limit in line.limits.items():
        if key == "wall":
            continue
        scale = limit["tolerance"]
        if key == "density_step":
            pairs = [(i, h) for i, h in enumerate(line.hosts) if h is not None]
            for i, h in pairs:
                yield np.maximum(np.abs(x[:, i] - x[:, h]) - limit["max"] + 1e-4, 0) / scale
            continue
        value = got[key] if key == "top_weight" else got[key] / 2.54
        if "max" in limit:
            yield np.maximum(value - limit["max"] + 1e-4 * scale, 0) / scale * 10
        if "min" in limit:
            yield np.maximum(limit["min"] + 1e-4 * scale - value, 0) / scale * 10

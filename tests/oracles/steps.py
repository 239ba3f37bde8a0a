"""Every line-up on the steps, tried one by one, from handbook formulas alone.

Mass, first moments and inertia about the centre are linear in the densities; the rest is numpy's.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import numpy as np
from oracles.balls import Ellipsoid, about_centre, weight_and_radii
from oracles.lineups import INCH, OUNCE, RADIUS, TILTS, Line

TOLERANCES = {"weight": 30.0, "rg": 0.008, "differential": 0.0025}
"""What a line's text declares: g, cm, cm; the intermediate differential's is the differential's."""


def grid(x: float, step: float, reach: int, span: tuple[float, float]) -> np.ndarray:
    """Whole steps at most `reach` of them from `x`, within the span: exact decimals."""
    counts = range(int(np.floor(x / step)) - reach - 1, int(np.ceil(x / step)) + reach + 2)
    values = [round(count * step, 10) for count in counts]
    low, high = span
    return np.array(
        [v for v in values if abs(v - x) <= reach * step + 1e-9 and low <= v <= high], dtype=float
    )


def measured(line: Line, label: str, balls: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The largest deviation in tolerances (k,), inf outside of top weight, of densities (k, n).

    And how far top weight is within its limits, oz (k,).
    """
    unit = [about_centre(line.solids, one) for one in np.eye(len(line.solids))]
    mass, first, inertia = (
        np.tensordot(balls, np.array([one[k] for one in unit]), axes=1) for k in range(3)
    )
    if line.about == "cg":
        square = np.sum(first * first, axis=1)[:, None, None] * np.eye(3)
        inertia = inertia - (square - first[:, :, None] * first[:, None, :]) / mass[:, None, None]
    rg = np.sqrt(np.linalg.eigvalsh(inertia) / mass[:, None])
    off = [
        (mass - line.weights[label]) / TOLERANCES["weight"],
        (rg[:, 0] - line.rg[0]) / TOLERANCES["rg"],
        (rg[:, 2] - rg[:, 0] - line.differential[0]) / TOLERANCES["differential"],
    ]
    if line.intermediate is not None:
        asked = line.intermediate[0]
        off.append((rg[:, 2] - rg[:, 1] - asked) / TOLERANCES["differential"])
    if line.offset is not None:
        off.append((np.linalg.norm(first, axis=1) / mass - line.offset[0]) / line.offset_allowed)
    top = np.linalg.norm(first, axis=1) / RADIUS / OUNCE
    low, high = line.top
    room = np.minimum(top - (low or -np.inf), (np.inf if high is None else high) - top)
    return np.max(np.abs(off), axis=0), room


def least(line: Line, label: str, choices: Sequence[np.ndarray]) -> float:
    """The least of the largest deviations of all choices of densities, inf where none is kept."""
    balls = np.array(list(product(*choices)))
    if not len(balls):
        return np.inf
    off, room = measured(line, label, balls)
    return float(np.min(np.where(room >= -1e-9, off, np.inf)))


def pointed(random: np.random.Generator, kind: str, about: str, *, intermediate: bool) -> Line:
    """A line of one weight like those on sale: a slim, dense block, 0.02 in or more between RGs.

    `kind` is one of those of `manufactured`, whose blocks come to less.
    """
    while True:
        girth, tall, up = random.uniform((3.0, 5.6, -0.3), (3.8, 6.8, 0.9))
        wide = girth * (random.uniform(1.05, 1.3) if "triaxial" in kind else 1.0)
        rotate = TILTS.get(kind, (0.0, 0.0, 0.0))
        at = (*(random.uniform(-0.5, 0.5, 2) if kind == "off axis" else (0.0, 0.0)), up)
        block = Ellipsoid((girth, wide, tall), at, rotate, host=1)
        insert = Ellipsoid(tuple(0.6 * axis for axis in block.axes), at, rotate, host=2)
        mantle = Ellipsoid((random.uniform(9.2, 9.8),) * 3, host=0)
        solids = (Ellipsoid((RADIUS,) * 3), mantle, block, insert)
        densities = random.uniform((1.1, 0.5, 1.5, 1.5), (1.25, 0.9, 2.6, 3.4))
        mass, (low, middle, high), cg = weight_and_radii(solids, densities, about)
        top = float(np.linalg.norm(cg)) * mass / RADIUS / OUNCE
        if high - low >= 0.02 * INCH and top <= 4.0:
            break
    inner = (high - middle,) * 2 if intermediate else None
    line = Line(solids, {"15": float(mass)}, (low, low), (high - low,) * 2, inner, about)
    return line.but(top=(0.0, 4.0))

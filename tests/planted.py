"""Planted line-ups, solved back: a test asks it of some of them, the benchmark of all."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from oracles.balls import weight_and_radii
from oracles.cores import balanced, radii, turned
from oracles.lineups import INCH, POUND
from oracles.upright import upright

from optimizer.ball.weight_class import Ball
from optimizer.lineup.pipeline import solve_lineup
from optimizer.lineup.result import LineupResult
from optimizer.scenario import scenario

ON_TARGET = 0.00005 * INCH
"""cm: what a stated density's rounding may do to an RG or a differential."""


def solved(text: str) -> LineupResult:
    """The line-up of a scenario."""
    return solve_lineup(scenario(text, file="planted.toml", target_required=True))


def missed_uprights(about: str, count: int) -> Iterator[str]:
    """Yield what is wrong with line-ups planted with no intermediate differential.

    Five densities for five equations: what is found is the ball that was planted, but for rounding.
    """
    random = np.random.default_rng(7)
    for number in range(count):
        line, _ = upright(random, about)
        result = solved(line.text())
        if result.status != "feasible":
            yield f"{number} is {result.status}"
            continue
        densities = result.weights[0].ball.densities.tolist()
        mass, found, _ = weight_and_radii(line.solids, densities, about)
        wanted = line.rg[0] + np.array([0.0, 1.0, 1.0]) * line.differential[0]
        if abs(mass - line.weights["15"]) > 0.001 * POUND or np.any(off(found, wanted)):
            yield f"{number} misses its target: {found} cm, not {wanted}"


def missed_turned(about: str, count: int) -> Iterator[str]:
    """Yield what is wrong with line-ups of stretched and rotated turned blocks.

    The axes are held against the oracle's at the same densities and at those that were planted. A
    change ΔI of the inertia turns an axis by sin θ ≤ ‖ΔI‖ ÷ gap (Davis and Kahan, 1970; from
    memory), the gap from its inertia in the one tensor to the others' in the other.
    """
    random = np.random.default_rng(23)
    for number in range(count):
        text, matrices, planted = turned(random, about)
        result = solved(text)
        if result.status != "feasible":
            yield f"{number} is {result.status}"
            continue
        ball = result.weights[0].ball
        poured = balanced(matrices, ball.densities.tolist(), about)
        made = balanced(matrices, planted, about)
        if abs(poured[0] - made[0]) > 0.001 * POUND or np.any(off(radii(*poured), radii(*made))):
            yield f"{number} misses its target: {radii(*poured)} cm, not {radii(*made)}"
        own = ball.properties.mass * ball.radii.axes @ np.diag(ball.radii.radii**2)
        for tensor in (poured[1], made[1]):
            yield from (
                f"{number}: axis {k} is turned by {sine:.3g}, more than {most:.3g}"
                for k, (sine, most) in enumerate(turns(own @ ball.radii.axes.T, ball, tensor))
                if sine > most
            )


def off(found: np.ndarray, wanted: np.ndarray) -> np.ndarray:
    """Whether RGs (3,) and their differences are not those that are wanted."""
    apart = np.subtract.outer(found, found) - np.subtract.outer(wanted, wanted)
    return np.append(abs(apart).ravel() > 2 * ON_TARGET, abs(found[0] - wanted[0]) > ON_TARGET)


def turns(own: np.ndarray, ball: Ball, tensor: np.ndarray) -> Iterator[tuple[float, float]]:
    """Yield for each axis of the ball the sine of its angle from that of `tensor`, and a bound."""
    inertia, axes = np.linalg.eigh(tensor)
    change = float(np.linalg.norm(own - tensor, 2)) + 1e-13 * float(inertia[2])
    here = np.linalg.eigvalsh(own)
    for k in range(3):
        gap = float(np.min(np.abs(np.delete(here, k) - inertia[k])))
        yield float(np.linalg.norm(np.cross(axes[:, k], ball.radii.axes[:, k]))), change / gap

"""What no line-up exceeds in room, against other programs: none does, and one comes to it."""

from __future__ import annotations

import numpy as np
import pytest
from oracles.balls import about_centre, per_density
from oracles.lineups import OUNCE, RADIUS, manufactured
from scipy.optimize import linprog, root

from optimizer.lineup.engine.linear_solver import LinearSolver
from optimizer.lineup.proof.ceiling import ceilings

ORDERS = ((2, 0, 1), (2, 1, 0), (0, 1, 2), (0, 2, 1), (1, 0, 2), (1, 2, 0))


def _ceiling(result) -> float:
    """The ceiling of a line that isn't coupled: of its one weight."""
    (ceiling,) = ceilings(result, LinearSolver())
    return ceiling.level


def _most_room(line) -> float:
    """The most room, in tolerances, about the centre: scipy's linear programs, one a side.

    There x, y and z are the principal axes, inertias are linear in the densities, and so is the
    imbalance on either side of the centre. The columns are the densities and the room.
    """
    volume, first, about = per_density(line.solids)
    first = first / RADIUS / OUNCE
    low, high = line.rg[0], line.rg[0] + line.differential[0]
    (mass,) = line.weights.values()
    ranges, spread = np.array(line.ranges), np.array(line.spread)
    best = -np.inf
    for order in ORDERS:
        a, c, b = about[list(order)]
        equal = [volume, a - low**2 * volume, b - high**2 * volume]
        for side in (-1.0, 1.0):
            least, most = line.top
            rows = [(a - c, 0.0, 0.0), (c - b, 0.0, 0.0)]
            rows += [(side * first, 0.25, most), (-side * first, 0.25, -least)]
            rows += [
                (x, t, high) for x, t, high in zip(np.eye(4), spread, ranges[:, 1], strict=True)
            ]
            rows += [
                (-x, t, -end) for x, t, end in zip(np.eye(4), spread, ranges[:, 0], strict=True)
            ]
            found = linprog(
                [0.0] * 4 + [-1.0],
                A_ub=[[*x, t] for x, t, _ in rows],
                b_ub=[end for _, _, end in rows],
                A_eq=[[*x, 0.0] for x in equal],
                b_eq=[mass, 0.0, 0.0],
                bounds=[(0.0, None)] * 4 + [(None, None)],
                method="highs-ds",
                options={
                    "primal_feasibility_tolerance": 1e-10,
                    "dual_feasibility_tolerance": 1e-10,
                },
            )
            if found.status == 0:
                best = max(best, -found.fun)
    return best


@pytest.mark.parametrize("kind", ["aligned", "aligned triaxial"])
def test_about_the_centre_it_is_the_optimum_of_linear_programs(solved, kind):
    random = np.random.default_rng(len(kind))
    compared = 0
    for _ in range(8):
        line, _ = manufactured(random, kind, "centre")
        line = line.but(top=(0.01, line.top[1]))
        result = solved(line)
        if result.status == "feasible":
            compared += 1
            assert _ceiling(result) == pytest.approx(_most_room(line), abs=1e-6)
    assert compared >= 6


def _best_found(line, starts) -> float:
    """The most room of many line-ups: four densities for three figures leave one free.

    All its values are tried, then those around the best; the others are scipy's roots.
    """
    unit = [about_centre(line.solids, row) for row in np.eye(4)]
    volume, first = (np.array([moments[i] for moments in unit]) for i in (0, 1))
    about = np.array([np.diag(inertia) for _, _, inertia in unit])
    (mass,) = line.weights.values()
    wanted = np.array([1.0, line.rg[0], line.rg[0] + line.differential[0]])
    ranges, spread = np.array(line.ranges), np.array(line.spread)

    def off(x, third):
        rho = np.array([x[0], x[1], third, x[2]])
        m, c = rho @ volume, (rho @ first)[2] / (rho @ volume)
        radii = np.sqrt(np.sort((rho @ about) / m - np.array([c, c, 0.0]) ** 2))
        return np.array([m / mass, radii[0], radii[2]]) - wanted

    def room(third) -> float:
        most = -np.inf
        for start in starts:
            with np.errstate(invalid="ignore"):
                x = root(off, np.array(start)[[0, 1, 3]], args=(third,), tol=1e-12).x
                good = min(x) > 0.0 and np.max(np.abs(off(x, third))) < 1e-9
            if good:
                rho = np.array([x[0], x[1], third, x[2]])
                top = abs((rho @ first)[2]) / RADIUS / OUNCE
                inside = np.minimum(rho - ranges[:, 0], ranges[:, 1] - rho) / spread
                tops = (top - line.top[0]) / 0.25, (line.top[1] - top) / 0.25
                most = max(most, min(np.min(inside), *tops))
        return most

    low, high = line.ranges[2]
    best = -np.inf
    for _ in range(4):
        thirds = np.linspace(low, high, 40)
        rooms = [room(third) for third in thirds]
        at = int(np.argmax(rooms))
        best = max(best, rooms[at])
        low, high = thirds[max(0, at - 1)], thirds[min(39, at + 1)]
    return best


@pytest.mark.parametrize("kind", ["aligned", "aligned triaxial"])
def test_about_the_cg_none_of_many_line_ups_has_more(solved, kind):
    random = np.random.default_rng(len(kind))
    compared = 0
    for _ in range(5):
        line, made = manufactured(random, kind, "cg")
        line = line.but(top=(0.01, line.top[1]))
        result = solved(line)
        if result.status == "feasible":
            compared += 1
            starts = made, result.groups[0].x[:4], random.uniform(*np.transpose(line.ranges))
            most, level = _best_found(line, starts), _ceiling(result)
            assert most <= level + 1e-6
            assert most >= level - 1e-4  # it is no higher than it need be
    assert compared >= 4

"""Every way to share densities between neighbouring weights, each solved by scipy on its own.

About the centre, all parts on the pin axis and the low RG about it: then a line-up is one linear
program.
"""

from __future__ import annotations

from itertools import combinations, product

import numpy as np
from oracles.lineups import Line
from oracles.programs import Program, program
from scipy.linalg import block_diag
from scipy.optimize import linprog

Choice = frozenset[tuple[int, int]]
"""(part, k): the part has one density in weights k and k + 1."""


def smallest_margins(line: Line) -> dict[Choice, float]:
    """Return the largest smallest margin, in tolerances, of every choice that can be poured."""
    programs = [program(line, label) for label in line.weights]
    links = list(product(range(len(line.solids)), range(len(line.weights) - 1)))
    found: dict[Choice, float] = {}
    for count in range(len(links) + 1):
        for choice in map(frozenset, combinations(links, count)):
            if all(choice - {link} in found for link in choice):  # else it can't be poured either
                level = _level(programs, choice)
                if level is not None:
                    found[choice] = level
    return found


def _level(programs: list[Program], choice: Choice) -> float | None:
    """Return the smallest margin of a choice, None if it can't be poured."""
    n = programs[0].matrix.shape[1]
    same = np.zeros((len(choice), n * len(programs)))
    for row, (part, k) in zip(same, choice, strict=True):
        row[[n * k + part, n * (k + 1) + part]] = 1.0, -1.0
    equal = np.vstack([block_diag(*(one.matrix for one in programs)), same])
    slope = block_diag(*(one.slope for one in programs))
    tolerance = np.concatenate([one.tolerance for one in programs])
    right = np.concatenate([*(one.right for one in programs), np.zeros(len(choice))])
    done = linprog(
        np.r_[np.zeros(slope.shape[1]), -1.0],
        A_ub=np.column_stack([-slope, tolerance]),
        b_ub=np.concatenate([one.offset for one in programs]),
        A_eq=np.column_stack([equal, np.zeros(len(equal))]),
        b_eq=right,
        bounds=[(0.0, 25.0)] * slope.shape[1] + [(0.0, None)],
    )
    return float(done.x[-1]) if done.status == 0 else None

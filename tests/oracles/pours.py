"""The fewest pours of a line by brute force: all ways to group its places, each solved by scipy.

About the centre, all parts on the pin axis: then a line-up is one linear program for each choice of
the weights whose pin is on the low axis. Groupings are made coarser, two groups at a time: what
can't be poured can't be poured with more alike.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations, product

import numpy as np
from oracles.lineups import Line
from oracles.programs import Program, program
from scipy.linalg import block_diag
from scipy.optimize import linprog

Grouping = frozenset[frozenset[int]]


def fewest_pours(line: Line, materials: Sequence[str]) -> int:
    """Return the fewest groups of places with a line-up; `materials` are those of the parts.

    Places are numbered weight by weight. Those of a material with a fixed density are one; so are
    those of a part that is to have one density in all weights.
    """
    n, count = len(line.solids), len(line.weights)
    of = [materials[place % n] for place in range(n * count)]
    given = {of[i]: line.ranges[i][0] for i in range(n) if line.ranges[i][0] == line.ranges[i][1]}
    keys = [
        of[p] if of[p] in given else line.names[p % n] if line.names[p % n] in line.same else p
        for p in range(n * count)
    ]
    start = frozenset(
        frozenset(p for p in range(n * count) if keys[p] == key) for key in dict.fromkeys(keys)
    )
    pins = [
        [pin for pin in ("low", "high") if _poured([program(line, label, pin=pin)], line, ())]
        for label in line.weights
    ]
    lines = [
        [program(line, label, pin=pin) for label, pin in zip(line.weights, choice, strict=True)]
        for choice in product(*pins)
    ]
    able = {start}
    assert any(_poured(each, line, start) for each in lines), "a line without a line-up"
    while True:
        coarser = {
            (grouping - {a, b}) | {a | b}
            for grouping in able
            for a, b in combinations(grouping, 2)
            if of[min(a)] == of[min(b)]
        }
        coarser = {g for g in coarser if any(_poured(each, line, g) for each in lines)}
        if not coarser:
            return len(next(iter(able)))
        able = coarser


def _poured(programs: Sequence[Program], line: Line, grouping: Grouping | tuple[()]) -> bool:
    n = len(line.solids)
    same = []
    for first, *others in (sorted(group) for group in grouping):
        for place in others:
            row = np.zeros(n * len(programs))
            row[[first, place]] = 1.0, -1.0
            same.append(row)
    equal = block_diag(*(one.matrix for one in programs))
    found = linprog(
        np.zeros(n * len(programs)),
        A_ub=-block_diag(*(one.slope for one in programs)),
        b_ub=np.concatenate([one.offset for one in programs]),
        A_eq=np.vstack([equal, *same]),
        b_eq=np.concatenate([*(one.right for one in programs), np.zeros(len(same))]),
        bounds=[span for _ in programs for span in line.ranges[:n]],
    )
    return found.status == 0

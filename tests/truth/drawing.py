"""Random lines as a user would write them, about half of them planted.

Planted: densities are drawn, the oracle measures the balls, and what it measured is asked for. So a
line-up is known to exist, whatever a solver says. The others ask for something else.
"""

from __future__ import annotations

from random import Random
from typing import Final

import numpy as np
from scipy.optimize import least_squares
from truth.line import FIGURES, INCH, POUND, Line, figures
from truth.parts import in_millimetres, parts


def line(seed: int, number: int) -> Line:
    """Return a line by its number: the same again for the same seed."""
    random = Random(f"line {seed} {number}")
    while True:
        if drawn := _drawn(random, number):
            return drawn


def _drawn(random: Random, number: int) -> Line | None:
    units = {
        "length": random.choice(("in", "mm")), "weight": random.choice(("lb", "kg")),
        "density": random.choice(("g/cm3", "kg/m3")), "rg": random.choice(("in", "mm")),
    }  # fmt: skip
    badly = random.random() < 0.12
    count = random.choice((1, 2, 3, 3, 4, 4, 4, 5, 5, 5, 6, 6, 7, 8, 9, 10, 12))
    tree = parts(random, count, on_axis=random.random() < 0.6, tiny=badly)
    n = len(tree.parts)
    drawn = tree.parts if units["length"] == "in" else [in_millimetres(one) for one in tree.parts]
    base = np.array(
        [random.uniform(1.0, 1.3), random.uniform(0.5, 1.5)][:n]
        + [random.uniform(0.6, 3.6) for _ in range(n - 2)]
    )
    if badly and n > 2:
        for _ in range(random.choice((1, 2))):
            base[random.randrange(1, n)] = random.choice((0.06, 19.0))
    made = Line(
        f"Line {number}", units, drawn, [(1.0, 1.0)] * n, [0.02] * n, {}, {}, {},
        random.choice(("cg", "cg", "centre")),
    )  # fmt: skip
    if np.any(made.moments[:, 3, 3] <= 0):
        return None
    asked = ["rg", "differential"]
    if n > 3:
        asked += [
            key for key, share in ((FIGURES[2], 0.15), (FIGURES[3], 0.1)) if random.random() < share
        ]
    planted = _planted(random, made, base, asked)
    made.planted = planted
    _ask(random, made, asked, tree.gap, badly=badly)
    if random.random() < 0.5:
        for _ in range(random.choice((1, 1, 2))):
            random.choice(MOVES)(random, made)
        made.planted, made.kind = None, "moved"
    if badly:
        made.kind += ", badly scaled"
    made.read_back()
    return made


def _planted(random: Random, made: Line, base: np.ndarray, asked: list[str]) -> np.ndarray:
    """Return densities (weights, n) with the same figures in every weight.

    A ball with all its densities scaled has the same RGs: from there, others are sought.
    """
    n, count = len(base), random.choice((1, 1, 2, 2, 3, 3, 4, 4, 5, 6, 8, 12))
    wanted = figures(made, base[None])
    if n > len(asked) + 1 and random.random() < 0.5:
        made.same = set(random.sample(range(n), random.choice((1, 1, 2))))
    rows = [base]
    for scale in sorted((random.uniform(0.6, 1.0) for _ in range(count - 1)), reverse=True):
        free = [i for i in range(n) if i not in made.same]
        start = base * scale
        start[list(made.same)] = base[list(made.same)]
        start[free] *= [random.uniform(0.93, 1.07) for _ in free]

        def off(x: np.ndarray, start: np.ndarray = start, free: list[int] = free) -> np.ndarray:
            whole = start.copy()
            whole[free] = x
            got = figures(made, whole[None])
            return np.array([got[key][0] - wanted[key][0] for key in asked])

        found = None
        if len(free) > len(asked):
            found = least_squares(
                off, np.clip(start[free], 0.0501, 24), bounds=(0.05, 25.0),
                xtol=1e-15, ftol=1e-15, gtol=1e-15,
            )  # fmt: skip
        if found is not None and np.max(np.abs(found.fun)) < 1e-10:
            row = start.copy()
            row[free] = found.x
        elif made.same:
            continue
        else:
            row = base * scale
        if np.min(row) < 0.05:
            continue
        rows.append(row)
    return np.array(rows)


def _ask(random: Random, made: Line, asked: list[str], gap: float, *, badly: bool) -> None:
    """State what the planted balls measure, and limits that they keep."""
    x = made.planted
    assert x is not None
    got = figures(made, x)
    made.digits = random.choice((None, None, 6, 5))
    for number, mass in enumerate(got["mass"]):
        made.weights[f"{mass / POUND:.3f} {'ABCDEFGHIJKLM'[number]}"] = float(mass)
    for key in asked:
        value = float(got[key][0])
        made.target[key] = (value, value)
        if random.random() < 0.12:
            made.target[key] = (
                value * random.uniform(0.97, 1),
                value * random.uniform(1.001, 1.03),
            )
    factor = random.choice((1e-3, 0.03, 1)) if badly else random.choice((0.3, 1, 1, 1, 2))
    made.allowed = {"weight": 0.06 * POUND * factor, "rg": 0.003 * INCH * factor,
        "differential": 0.001 * INCH * factor}  # fmt: skip
    made.allowed |= {
        key: (0.001 if key != "cg_offset" else 0.003) * INCH * factor for key in asked[2:]
    }
    for part in range(x.shape[1]):
        low, high = float(np.min(x[:, part])), float(np.max(x[:, part]))
        tight = random.choice((0.002, 0.05, 0.2, 0.4))
        span = (
            max(low * (1 - random.random() * tight), 0.05),
            high * (1 + random.random() * tight),
        )
        if low == high and random.random() < 0.25:
            span = (low, low)
        made.materials[part] = span
        made.spread[part] = random.choice((0.01, 0.02, 0.03))
        if badly and random.random() < 0.4:
            made.spread[part] = random.choice((1.01e-5 * span[0], 0.95 * span[0]))
            made.spread[part] = random.choice(
                (made.spread[part], *[made.spread[part]] * 9, 1e-6, 10.0)
            )
    top, pin = got["top_weight"], got["pin_distance"] / INCH
    inner = got["intermediate_differential"] / INCH
    step = max(
        (abs(x[:, i] - x[:, h]).max() for i, h in enumerate(made.hosts) if h is not None),
        default=0.0,
    )
    some = {
        "top_weight": {"max": float(top.max()) * 1.05 + 0.01, "tolerance": 0.25},
        "pin_distance": {"max": float(pin.max()) * 1.05 + 0.02, "tolerance": 0.2},
        "density_step": {"max": float(step) * 1.02 + 0.01, "tolerance": 0.02},
        "intermediate_differential": {"max": float(inner.max()) * 1.05 + 1e-4, "tolerance": 0.0005},
        "wall": {"min": 0.3 * min(gap, 1.0), "tolerance": 0.02},
    }  # fmt: skip
    if random.random() < 0.5 and top.min() > 0.1:
        some["top_weight"]["min"] = float(top.min()) * 0.9
    made.limits = {key: limit for key, limit in some.items() if random.random() < 0.35}
    made.exact = random.random() < 0.15
    J = made.moments
    round_ = made.on_axis and np.all(abs(J[:, 0, 0] - J[:, 1, 1]) < 1e-9 * J[0, 0, 0])
    made.rulebook = bool(round_ and x.max() < 3.6 and random.random() < 0.4)


def _rg(random: Random, made: Line) -> None:
    factor = 1 + random.choice((-1, 1)) * random.choice((0.003, 0.01, 0.03, 0.08))
    made.target["rg"] = tuple(factor * end for end in made.target["rg"])


def _differential(random: Random, made: Line) -> None:
    factor, more = random.choice((0.3, 0.7, 1.3, 2.0)), random.choice((0.0, 0.01, 0.03))
    made.target["differential"] = tuple(factor * end + more for end in made.target["differential"])


def _mass(random: Random, made: Line) -> None:
    label = random.choice(list(made.weights))
    made.weights[label] *= 1 + random.choice((-1, 1)) * random.choice((0.01, 0.05, 0.15))


def _range(random: Random, made: Line) -> None:
    part = random.randrange(len(made.materials))
    low, high = made.materials[part]
    factor = random.uniform(0.85, 1.15)
    low = max(low, 0.06)
    made.materials[part] = (low * factor, (low + (high - low) * random.random()) * factor)


def _limit(random: Random, made: Line) -> None:
    made.limits["top_weight"] = {"max": random.choice((0.05, 0.5, 2.0)), "tolerance": 0.25}
    if random.random() < 0.5:
        made.limits["density_step"] = {"max": random.choice((0.2, 0.6)), "tolerance": 0.02}


MOVES: Final = (_rg, _rg, _differential, _differential, _mass, _range, _limit)

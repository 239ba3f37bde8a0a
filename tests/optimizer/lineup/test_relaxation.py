"""No ball that keeps what is asked lies outside a row or a bound of the relaxation.

Balls are drawn, measured by the oracle, and asked for; some claims are spoiled and then waived. So
the ball meets all that is left, whatever a solver says, and so must its columns in the relaxation.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
import pytest
from oracles.balls import about_centre, weight_and_radii
from oracles.lineups import NAMES, OUNCE, RADIUS, Line, solids
from scipy.optimize import root

from optimizer.linear.targets import NAMES as FIGURES
from optimizer.lineup.proof import Relaxation
from optimizer.lineup.rows import Lineup
from optimizer.lineup.solve import LinearSolver, Rows
from optimizer.scenario import linear_maps, scenario
from optimizer.studies.claims import FIXED, WEIGHT, Asked, Claim
from shared.errors import InputError

ROUNDING = 1e-8
"""In the rows' own units (cm², cm, ratios, tolerances): a hundredth of what proves a box empty."""
LEAST, MOST = 0.05, 25.0
"""g/cm³: what may be poured at all."""


@dataclass(frozen=True)
class Balls:
    """A line, one ball for each of its weights (their densities), and what it does not keep."""

    line: Line
    made: tuple[np.ndarray, ...]
    waived: frozenset[Claim]

    def lineup(self) -> Lineup:
        """What is left to be asked, as a line-up."""
        some = scenario(self.line.text(), file="line.toml", target_required=True)
        return Asked(linear_maps(some), some.limits, some.sharing, {}).without(self.waived)


def _densities(random: np.random.Generator) -> np.ndarray:
    """Four densities: usual ones, or any from the lightest to the heaviest."""
    if random.random() < 0.5:
        return random.uniform((1.0, 0.5, 0.8, 1.0), (1.3, 1.5, 2.9, 3.6))
    return np.exp(random.uniform(np.log(1.1 * LEAST), np.log(0.9 * MOST), 4))


def _alike(random: np.random.Generator, line: Line, first: np.ndarray) -> np.ndarray:
    """Other densities of the same low and high RG, the cover's the same: scipy's, or `first`."""
    wanted = weight_and_radii(line.solids, first, line.about)[1][[0, 2]]
    block = first[2] * random.uniform(0.8, 1.2)

    def off(x: np.ndarray) -> np.ndarray:
        some = weight_and_radii(line.solids, (first[0], x[0], block, x[1]), line.about)[1]
        return some[[0, 2]] - wanted

    with np.errstate(invalid="ignore"):
        found = root(off, first[[1, 3]], tol=1e-13)
    other = np.array([first[0], found.x[0], block, found.x[1]])
    good = np.all((other > LEAST) & (other < MOST)) and np.max(np.abs(off(found.x))) < 1e-12
    return other if good else first


def _drawn(random: np.random.Generator, kind: str, about: str, *, weights: int = 1) -> Balls:
    """Balls, and a line round them; any claim may be spoiled and waived."""
    line = Line(solids(random, kind), {}, (0.0, 0.0), (0.0, 0.0), None, about)
    made = [_densities(random)]
    inner = random.random() < 0.5
    shared = weights > 1 and random.random() < 0.5 and not (inner and kind == "aligned triaxial")
    if shared:
        made.append(_alike(random, line, made[0]))
    elif weights > 1:  # RGs don't change with the scale
        made.append(made[0] * random.uniform(max(0.8, LEAST / min(made[0])), 1.0))
    labels = ("15", "14")[: len(made)]
    waived: set[Claim] = set()

    def spoiled(claim: Claim, often: float = 0.3) -> bool:
        if random.random() < often:
            waived.add(claim)
        return claim in waived

    masses, radii, _ = zip(*(weight_and_radii(line.solids, x, about) for x in made), strict=True)
    asked = [
        float(m) * (random.uniform(0.3, 3.0) if spoiled(Claim(WEIGHT, weight=label)) else 1.0)
        for label, m in zip(labels, masses, strict=True)
    ]
    low, middle, high = radii[0].tolist()
    figures = []
    for name, value in zip(FIGURES, (low, high - low, high - middle), strict=True):
        off = spoiled(Claim(name))
        centre = max(0.001, value + random.uniform(-0.5, 0.5)) if off else value
        near = random.random(2) * random.choice([0.0, 0.02, 1.0]) * centre
        figures.append((centre - near[0], centre + near[1]) if near.any() else (centre, centre))
    ranges = [
        _range(random, name, [x[i] for x in made], labels, spoiled)
        for i, name in enumerate(NAMES[:4])
    ]
    line = line.but(
        weights=dict(zip(labels, asked, strict=True)),
        rg=figures[0],
        differential=figures[1],
        intermediate=figures[2] if inner else None,
        ranges=ranges,
        same={"cover": '"all"'} if shared else {},
    )
    if not inner:
        waived.discard(Claim(FIGURES[2]))
    return Balls(_limited(random, line, made, spoiled), tuple(made), frozenset(waived))


def _range(random, name, values, labels, spoiled):
    """A density range that holds the `values`, but at the ends that are spoiled for all weights."""
    a, b = random.choice([1e-4, 0.1, 1.0]) * random.random(2)
    low, high = max(LEAST, min(values) - a), min(MOST, max(values) + b)
    if min(values) == max(values) and random.random() < 0.2:
        fixed = values[0] if not spoiled(Claim(FIXED, name), 0.5) else random.uniform(LEAST, 3.0)
        return (fixed, fixed)
    if random.random() < 0.3 and high + 0.3 < MOST:  # all of them below the range
        [spoiled(Claim("density min", name, label), 1.0) for label in labels]
        return (high, high + 0.3)
    return (low, high)


def _limited(random, line, made, spoiled):
    """The line with limits on imbalance and intermediate differential, kept by a hair or waived."""
    masses, _, cgs = zip(*(weight_and_radii(line.solids, x, "cg") for x in made), strict=True)
    tops = [float(abs(c[2])) * m / RADIUS / OUNCE for m, c in zip(masses, cgs, strict=True)]
    labels = tuple(line.weights)
    if max(tops) < 50.0 and random.random() < 0.7:
        low, high = max(0.0, min(tops) - 1e-6), max(tops) + 1e-6
        if random.random() < 0.3:
            low, high = high, high + 1.0
            [spoiled(Claim("top weight min", None, label), 1.0) for label in labels]
        line = line.but(top=(low, high))
    limits = []
    ways = {bool(c[2] > 0.0) for c in cgs}
    if len(ways) == 1 and min(abs(c[2]) for c in cgs) > 1e-9 and random.random() < 0.5:
        up = ways.pop()
        limits.append(f"pin_distance = {{ {'max = 1.0' if up else 'min = 100.0'} }}")
    inner = []
    for x in made:
        _, (_, middle, high), _ = weight_and_radii(line.solids, x, line.about)
        inner.append(10.0 * (high - middle))
    if random.random() < 0.5:
        most = max(inner) + random.choice([1e-6, 1.0, 300.0])
        if random.random() < 0.3:
            most = 0.5 * min(inner)
            for label in labels:
                spoiled(Claim("intermediate differential max", None, label), 1.0)
        limits.append(f"intermediate_differential = {{ max = {most} }}")
    if max(max(x) for x in made) < 3.8 and random.random() < 0.5:
        limits.append('rulebook = "usbc"')
    return line.but(limits="\n".join(limits))


def _asked(random, kind, about, weights) -> tuple[Balls, Lineup]:
    """Balls and what is left to be asked of them; such as no reader takes for slips are drawn."""
    while True:
        balls = _drawn(random, kind, about, weights=weights)
        try:
            return balls, balls.lineup()
        except InputError as error:
            if not re.search("no RG of a ball|is above the differential", str(error)):
                raise


class Point:
    """The balls as the relaxation's columns, from the oracle's figures alone."""

    def __init__(self, balls: Balls, lineup: Lineup) -> None:
        line, columns = balls.line, lineup.columns
        n, k = columns.figures, len(lineup.maps)
        self.x = np.zeros(n + 2 * k + 3)
        self.c, self.axes = [], []
        for j, (rho, one) in enumerate(zip(balls.made, lineup.maps, strict=True)):
            mass, radii, cg = weight_and_radii(line.solids, rho, line.about)
            scale = one.mass / mass
            self.x[columns.poured[j]] = scale * rho
            self.x[n + j], self.x[n + k + j] = cg[2] ** 2, scale
            self.x[-3:] = radii[[0, 2, 1]] ** 2
            _, first, inertia = about_centre(line.solids, rho)
            lever = first[2] ** 2 / mass if line.about == "cg" else 0.0
            self.axes.append((np.diag(inertia) - lever * np.array([1.0, 1.0, 0.0])) / mass)
            self.c.append(float(cg[2]))

    def inside(self, box) -> bool:
        """Whether the balls are among those that a box is of."""
        c = all(a <= c <= b for c, (a, b) in zip(self.c, box.c, strict=True))
        ordered = all(
            order is None or bool(np.all(np.diff(axes[list(order)]) >= -1e-9))
            for axes, order in zip(self.axes, box.orders, strict=True)
        )
        return c and ordered and box.u[0] - 1e-9 <= self.x[-3] <= box.u[1] + 1e-9


@pytest.mark.parametrize("weights", [1, 2])
@pytest.mark.parametrize("about", ["cg", "centre"])
@pytest.mark.parametrize("kind", ["aligned", "aligned triaxial"])
def test_no_valid_ball_is_outside_any_row_or_bound(kind, about, weights):
    """Of the whole box, and of a chain of ever smaller ones that hold the ball."""
    random = np.random.default_rng([len(kind), len(about), weights])
    for number in range(25):
        balls, lineup = _asked(random, kind, about, weights)
        if weights > 1 and any(claim.limit == WEIGHT for claim in balls.waived):
            continue
        relaxation, point = Relaxation(lineup, LinearSolver()), Point(balls, lineup)
        box = relaxation._whole()
        for _ in range(14):
            lower, upper = relaxation._bounds(box)
            assert np.all(point.x >= lower - ROUNDING * (1.0 + np.abs(lower))), (number, balls)
            assert np.all(point.x <= upper + ROUNDING * (1.0 + np.abs(upper))), (number, balls)
            rows = list(relaxation._rows(box))
            broken = Rows.of(rows).broken(point.x)
            scale = 1.0 + np.abs(Rows.of(rows).matrix) @ np.abs(point.x)
            worst = int(np.argmax(broken / scale))
            assert broken[worst] <= ROUNDING * scale[worst], (number, rows[worst], balls)
            parts = relaxation._split(box, random.uniform(lower, upper))
            holding = [part for part in parts if point.inside(part)]
            assert bool(holding) == bool(parts), (number, balls)
            if not parts:
                break
            box = holding[int(random.integers(len(holding)))]
        assert not relaxation.verdict().proven, (number, balls)

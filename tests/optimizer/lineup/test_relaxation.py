"""No ball that keeps what is asked lies outside a row or a bound of the relaxation.

Balls are drawn, measured by the oracle, and asked for; some claims are spoiled and then waived. So
the ball meets all that is left, whatever a solver says, and so must its columns in the relaxation.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import pytest
from asked import Called, claims_called, every_claim
from oracles.balls import about_centre, weight_and_radii
from oracles.lineups import NAMES, OUNCE, RADIUS, TILTS, Line, solids
from scipy.optimize import root
from whole import in_shares

from optimizer.ball.figures import RADII
from optimizer.lineup.claims import without
from optimizer.lineup.engine.linear_solver import LinearSolver, Rows
from optimizer.lineup.proof.proof import Relaxation
from optimizer.lineup.proof.relaxation import Outer
from optimizer.lineup.rows import Lineup
from optimizer.scenario import linear_maps, scenario
from shared.errors import InputError

ROUNDING = 1e-8
"""In the rows' own units (cm², cm, ratios, tolerances): a hundredth of what proves a box empty."""
LEAST, MOST = 0.05, 25.0
"""g/cm³: what may be poured at all."""


@dataclass(frozen=True)
class Balls:
    """A line, one ball for each of its weights (their densities), and what it does not keep.

    `aim` (3,) are the figures that the line shares, cm; `within` their tolerances every ball is.
    """

    line: Line
    made: tuple[np.ndarray, ...]
    waived: frozenset[Called]
    aim: np.ndarray
    within: bool

    def lineup(self) -> Lineup:
        """What is left to be asked, as a line-up."""
        some = scenario(self.line.text(), file="line.toml", target_required=True)
        asked = Lineup.of(linear_maps(some), some.sharing)
        return replace(without(asked, claims_called(asked, self.waived)), within=self.within)


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


def _second(random, line, first, *, shared: bool, exact: bool) -> np.ndarray:
    """The densities of another weight: of the same RGs where they must be, the cover's `shared`."""
    if not exact:
        other = np.clip(first * random.uniform(0.9, 1.1, 4), LEAST, MOST)
        other[0] = first[0] if shared else other[0]
        return other
    if shared:
        return _alike(random, line, first)
    return first * random.uniform(max(0.8, LEAST / min(first)), 1.0)  # RGs don't change with scale


def _drawn(random: np.random.Generator, kind: str, about: str, weights: int, within: bool) -> Balls:
    """Balls, and a line round them; any claim may be spoiled and waived."""
    line = Line(solids(random, kind), {}, (0.0, 0.0), (0.0, 0.0), None, about)
    made, inner = [_densities(random)], random.random() < 0.5
    shared = random.random() < 0.5 and (within or not inner or kind == "aligned")
    for _ in range(weights - 1):
        made.append(_second(random, line, made[0], shared=shared, exact=not within))
    labels = ("15", "14")[:weights]
    waived: set[Called] = set()

    def spoiled(claim: Called, often: float = 0.3) -> bool:
        if random.random() < often:
            waived.add(claim)
        return claim in waived

    masses, radii, _ = zip(*(weight_and_radii(line.solids, x, about) for x in made), strict=True)
    own = np.array([(low, high - low, high - middle) for low, middle, high in radii])
    aim, allowed = own[0].copy(), np.array(line.allowed)
    asked = [
        float(m)
        * (random.uniform(0.3, 3.0) if spoiled(Called("class weight", weight=label)) else 1.0)
        for label, m in zip(labels, masses, strict=True)
    ]
    if within:  # each tolerance as little as the balls need, or up to twice that
        aim = np.abs(np.mean(own, axis=0) + random.normal(size=3) * random.choice([1e-3, 0.1]))
        allowed[1:] = np.max(np.abs(own - aim), axis=0)
        allowed[0] = 0.01 * random.random() * min(masses)
        asked = [m + allowed[0] * random.uniform(-1.0, 1.0) for m in asked]
        allowed = 1e-9 + allowed * random.choice([1.0, 2.0], 4)
    figures = []
    for name, value in zip((figure.words for figure in RADII), aim.tolist(), strict=True):
        off = spoiled(Called(name))
        centre = max(0.001, value + random.uniform(-0.5, 0.5)) if off else value
        a, b = random.random(2) * random.choice([0.0, 0.02, 1.0]) * centre
        figures.append((centre - a, centre + b))
    names = enumerate(NAMES[:4])
    ranges = [_range(random, name, [x[i] for x in made], labels, spoiled) for i, name in names]
    line = line.but(
        weights=dict(zip(labels, asked, strict=True)),
        rg=figures[0],
        differential=figures[1],
        intermediate=figures[2] if inner else None,
        allowed=tuple(allowed.tolist()),
        ranges=ranges,
        same={"cover": '"all"'} if shared and weights > 1 else {},
    )
    if not inner:
        waived.discard(Called(RADII[2].words))
    line = _limited(random, line, made, spoiled)
    return Balls(line, tuple(made), frozenset(waived), aim, within)


def _range(random, name, values, labels, spoiled):
    """A density range that holds the `values`, but at the ends that are spoiled for all weights."""
    a, b = random.choice([1e-4, 0.1, 1.0]) * random.random(2)
    low, high = max(LEAST, min(values) - a), min(MOST, max(values) + b)
    if min(values) == max(values) and random.random() < 0.2:
        fixed = (
            values[0]
            if not spoiled(Called("fixed density", name), 0.5)
            else random.uniform(LEAST, 3.0)
        )
        return (fixed, fixed)
    if random.random() < 0.3 and high + 0.3 < MOST:  # all of them below the range
        [spoiled(Called("density min", name, label), 1.0) for label in labels]
        return (high, high + 0.3)
    return (low, high)


def _limited(random, line, made, spoiled):
    """The line with limits on imbalance and intermediate differential, kept by a hair or waived."""
    masses, _, cgs = zip(*(weight_and_radii(line.solids, x, "cg") for x in made), strict=True)
    tops = [float(np.linalg.norm(c)) * m / RADIUS / OUNCE for m, c in zip(masses, cgs, strict=True)]
    labels = tuple(line.weights)
    if max(tops) < 50.0 and random.random() < 0.7:
        low, high = max(0.0, min(tops) - 1e-6), max(tops) + 1e-6
        if random.random() < 0.3:
            low, high = high, high + 1.0
            [spoiled(Called("top weight min", None, label), 1.0) for label in labels]
        line = line.but(top=(low, high))
    limits = []
    away = [10.0 * RADIUS * float(np.arctan2(np.hypot(c[0], c[1]), c[2])) for c in cgs]
    ways = {bool(c[2] > 0.0) for c in cgs}
    if len(ways) == 1 and min(abs(c[2]) for c in cgs) > 1e-9 and random.random() < 0.5:
        near = f"max = {max(away) + 1e-6}" if random.random() < 0.5 else f"min = {min(away) - 1e-6}"
        limits += [f"pin_distance = {{ {near} }}"] * (min(away) > 1e-5 or "max" in near)
    inner = []
    for x in made:
        _, (_, middle, high), _ = weight_and_radii(line.solids, x, line.about)
        inner.append(10.0 * (high - middle))
    if random.random() < 0.5:
        most = max(inner) + random.choice([1e-6, 1.0, 300.0])
        if random.random() < 0.3:
            most = 0.5 * min(inner)
            for label in labels:
                spoiled(Called("intermediate differential max", None, label), 1.0)
        limits.append(f"intermediate_differential = {{ max = {most} }}")
    if max(max(x) for x in made) < 3.8 and random.random() < 0.5:
        limits.append('rulebook = "usbc"')
    return line.but(limits="\n".join(limits))


REFUSED = "be the RG of a ball|is above the differential|is (not )?less than"


def _asked(random, *how) -> tuple[Balls, Lineup]:
    """Balls and what is left to be asked of them; such as no reader takes for slips are drawn."""
    while True:
        balls = _drawn(random, *how)
        try:
            return balls, balls.lineup()
        except InputError as error:
            if not re.search(REFUSED, str(error)):
                raise


class Point:
    """The balls as the relaxation's columns, from the oracle's figures alone."""

    def __init__(self, balls: Balls, lineup: Lineup, outer: Outer) -> None:
        line, columns, self.outer, self.c = balls.line, lineup.columns, outer, []
        self.solids, self.made, self.aim = line.solids, balls.made, balls.aim
        self.arm = lineup.maps[0].arm
        low, apart, inner = balls.aim
        self.figures = (low, apart, inner if line.intermediate else 0.0)
        self.inertia, lever, more = [], [], []
        for rho, linear_map in zip(balls.made, lineup.maps, strict=True):
            mass, first, inertia = about_centre(line.solids, rho)
            c = first / mass
            away = (c @ c * np.eye(3) - np.outer(c, c)) * (line.about == "cg")
            self.inertia.append(inertia / mass - away)
            self.c += c.tolist() if outer.OWN else [float(c[2])]
            share = mass / linear_map.mass
            lever.append(share * (c @ c if outer.OWN else c[2] ** 2))
            x, y, z = c
            least, _, greatest = np.linalg.eigvalsh(self.inertia[-1])
            more += [share * one for one in (x * x, y * y, x * y, x * z, y * z, least, greatest)]
        shared = np.array([low, max(0.0, low + apart - self.figures[2]), low + apart])
        extra = more if outer.OWN else []
        self.x = np.concatenate([np.zeros(columns.figures), lever, shared**2, extra])
        for places, rho in zip(columns.poured, balls.made, strict=True):
            self.x[places] = rho

    @property
    def values(self) -> dict:
        """The first ball's figures, by key and part, in a bound's units."""
        _, first, _ = about_centre(self.solids, self.made[0])
        low, apart, _ = self.aim
        return {
            ("rg", None): low,
            ("differential", None): apart,
            ("intermediate_differential", None): self.aim[2],
            ("top_weight", None): float(np.linalg.norm(first)) / self.arm,
            **{("density", name): x for name, x in zip(NAMES, self.made[0], strict=False)},
        }

    def inside(self, box) -> bool:
        """Whether the balls are among those that a box is of."""
        ranges, values = (*box.c, *box.figures), (*self.c, *self.figures)
        held = all(a - 1e-9 <= x <= b + 1e-9 for x, (a, b) in zip(values, ranges, strict=True))
        return held and (self._coned(box) if self.outer.OWN else self._ordered(box))

    def _ordered(self, box) -> bool:
        return all(
            order is None or bool(np.all(np.diff(np.diag(inertia)[list(order)]) >= -1e-9))
            for inertia, order in zip(self.inertia, box.orders, strict=True)
        )

    def _coned(self, box) -> bool:
        """Whether the axes lie in the cones, and the products of inertia in their ranges."""
        products = [p for _, own in self.turned for p in own]
        axes = [n for own, _ in self.turned for n in own]
        return all(
            a - 1e-9 <= x <= b + 1e-9 for x, (a, b) in zip(products, box.products, strict=True)
        ) and all(
            cone is None or _within_cone(np.roll(n, -cone.face), cone)
            for n, cone in zip(axes, box.cones, strict=True)
        )

    @cached_property
    def turned(self) -> list[tuple[np.ndarray, list[float]]]:
        """For each class its low and its high axis, and products of inertia, in its frame."""
        return [
            (
                np.linalg.eigh(inertia)[1].T[[0, 2]] @ frame.T,
                [frame[i] @ inertia @ frame[j] for i, j in ((0, 1), (0, 2), (1, 2))],
            )
            for inertia, frame in zip(self.inertia, self.outer.frames, strict=True)
        ]


def _within_cone(n: np.ndarray, cone) -> bool:
    """Whether a direction lies in a cone, its first coordinate along the cone's own vector."""
    sides = ((n[1], cone.s), (n[2], cone.t))
    return n[0] != 0.0 and all(a - 1e-9 <= x / n[0] <= b + 1e-9 for x, (a, b) in sides)


def _missed(points: np.ndarray, relaxation: Relaxation, box) -> str:
    """Say which bound or row of a box some points (n, c) lie outside of; nothing if none."""
    (lower, upper), rows = relaxation.outer.bounds(box), list(relaxation.outer.rows(box))
    stacked = Rows.of(rows)
    short = np.maximum(lower - points, points - upper) / (1.0 + np.abs(points))
    if np.max(short) > ROUNDING:
        return f"column {np.argmax(np.max(short, axis=0))}, by {np.max(short)}"
    broken = np.array([stacked.broken(point) for point in points])
    off = np.max(broken / (1.0 + np.abs(points) @ np.abs(stacked.matrix.T)), axis=0)
    worst = int(np.argmax(off))
    return f"{rows[worst].name}, by {off[worst]}" if off[worst] > ROUNDING else ""


KINDS = ("aligned", "aligned triaxial", *TILTS)


@pytest.mark.turns(4)
@pytest.mark.parametrize("within", [False, True])
@pytest.mark.parametrize("weights", [1, 2])
@pytest.mark.parametrize("about", ["cg", "centre"])
@pytest.mark.parametrize("kind", KINDS)
def test_no_valid_ball_is_outside_any_row_or_bound(kind, about, weights, within):
    """Of the whole box, and of a chain of ever smaller ones that hold the ball."""
    random = np.random.default_rng([len(kind), len(about), weights, within])
    for number in range(24 if kind.startswith("aligned") else 8):
        balls, lineup = _asked(random, kind, about, weights, within)
        relaxation = Relaxation(lineup, LinearSolver())
        point, (box, _) = Point(balls, lineup, relaxation.outer), relaxation.start
        for _ in range(14 if kind.startswith("aligned") else 24):
            assert not (missed := _missed(point.x[None], relaxation, box)), (number, missed, balls)
            at = random.uniform(*relaxation.outer.bounds(box))
            relaxation.outer.cut(at)  # rows that hold for any ball, from any point
            parts = [part for part, _ in relaxation.split(box, [], at)]
            holding = [part for part in parts if point.inside(part)]
            assert bool(holding) == bool(parts), (number, balls)
            if not parts:
                break
            box = holding[int(random.integers(len(holding)))]
        if number % 4 == 0:  # the rows say more, and sooner
            assert not relaxation.verdict().proven, (number, balls)


LINES, EACH = 168, 720
"""120,960 balls, of lines of every kind; 109,147 of them keep what is left to be asked."""


@in_shares(12)
def test_no_ball_of_many_is_outside_any_row_or_bound(share):
    """Balls round one, some within every limit; with none, one, all or some claims waived.

    Each box that holds some is split where chance will have it. What is left to be asked is checked
    on the oracle's figures.
    """
    tried = 0
    for number in share(range(LINES)):
        random = np.random.default_rng([number, 20])
        kind, about = KINDS[number % len(KINDS)], ("cg", "centre")[number // len(KINDS) % 2]
        balls, lineup = _crowd(random, kind, about, number)
        relaxation = Relaxation(lineup, LinearSolver())
        points = [Point(ball, lineup, relaxation.outer) for ball in balls]
        points = [p for p in points if _keeps(lineup, p)]
        (box, _), tried = relaxation.start, tried + len(points)
        for _ in range(12):
            if not points:
                break
            stacked = np.array([point.x for point in points])
            assert not (missed := _missed(stacked, relaxation, box)), (number, missed)
            at = random.uniform(*relaxation.outer.bounds(box))
            at[: lineup.columns.figures] = stacked[0, : lineup.columns.figures]
            relaxation.outer.cut(at)
            parts = [part for part, _ in relaxation.split(box, [], at)]
            if not parts:
                break
            held = [[point for point in points if point.inside(part)] for part in parts]
            assert {*map(id, points)} == {id(p) for some in held for p in some}, (number, box)
            largest = max(range(len(parts)), key=lambda i: len(held[i]))
            box, points = parts[largest], held[largest]
    assert tried > 0.7 * EACH * LINES / share.every


def _crowd(random, kind: str, about: str, number: int) -> tuple[list[Balls], Lineup]:
    """Balls near one another, each its own aim, and what is left to be asked of them."""
    line = Line(solids(random, kind), {}, (0.0, 0.0), (0.0, 0.0), None, about)
    middle, spread = _densities(random), random.choice([1e-3, 0.02, 0.2])
    made = np.clip(middle * np.exp(spread * random.normal(size=(EACH, 4))), 2 * LEAST, MOST / 2)
    waived_weight = number % 4 == 2
    measured = [weight_and_radii(line.solids, x, about) for x in made]
    masses = np.array([mass for mass, *_ in measured])
    if not waived_weight:
        made *= (masses[0] / masses)[:, None]
    own = np.array([(low, high - low, high - middle) for _, (low, middle, high), _ in measured])
    (rg, differential, inner) = (tuple(np.quantile(x, (0.02, 0.98)).tolist()) for x in own.T)
    offsets = [np.linalg.norm(c) * m / RADIUS / OUNCE for m, _, c in measured]
    top = max(0.0, float(np.quantile(offsets, 0.02))), float(np.quantile(offsets, 0.98))
    asked = inner if number % 3 == 0 else None
    most = 10.0 * float(np.quantile(own[:, 2], 0.97)) + 1e-6
    limit = f"intermediate_differential = {{ max = {most} }}"
    line = line.but(
        weights={"15": float(masses[0])},
        rg=rg,
        differential=differential,
        intermediate=asked,
        ranges=[(float(a), float(b)) for a, b in np.quantile(made, (0.005, 0.995), axis=0).T],
        limits=limit * (number % 5 < 3),
    )
    if top[1] < 50.0:
        line = line.but(top=top)
    try:
        some = scenario(line.text(), file="line.toml", target_required=True)
    except InputError as error:
        if not re.search(REFUSED, str(error)):
            raise
        return _crowd(random, kind, about, number)
    lineup = Lineup.of(linear_maps(some), some.sharing)
    every = list(dict.fromkeys(every_claim(lineup)))
    free = [claim for claim in every if claim.figure.key != "weight"]
    some_claims = {0: [], 1: [free[int(random.integers(len(free)))]], 2: every}.get(
        number % 4, [claim for claim in free if random.random() < 0.5]
    )
    balls = [Balls(line, (x,), frozenset(), aim, False) for x, aim in zip(made, own, strict=True)]
    return balls, without(lineup, some_claims)


def _keeps(lineup: Lineup, point: Point) -> bool:
    """Whether a ball is within the bounds that are left, by the oracle's figures."""
    linear_map, values = lineup.maps[0], point.values
    return all(
        bound.low - 1e-12 <= values[bound.figure.key, bound.of] <= bound.high + 1e-12
        for bound in linear_map.bounds
        if (bound.figure.key, bound.of) in values
    )

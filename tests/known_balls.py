"""Balls drawn at random, as the oracle makes them, and questions that they meet: exact numbers.

Roots are taken to DIGITS digits, so what is said of an RG holds to ROUNDING.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import isqrt
from random import Random

import numpy as np
from oracles.balls import Ellipsoid, about_centre

from optimizer.certificate.box import Box
from optimizer.certificate.forms import FEATURES
from optimizer.certificate.question import Ball, Question

DIGITS = 30
ROUNDING = Fraction(1, 10**18)
"""g, cm: what the roots leave open, in figures of up to 10⁶."""
RADIUS = 10.9
NEVER = Fraction(1, 10**6)
"""g/cm³. No part weighs nothing."""


def fraction(number: float, digits: int = 12) -> Fraction:
    """A number with so many digits after its point."""
    return Fraction(round(number * 10**digits), 10**digits)


def root(square: Fraction) -> Fraction:
    """A square root, to DIGITS digits."""
    scale = 100**DIGITS
    return Fraction(isqrt(square.numerator * scale // square.denominator), 10**DIGITS)


def solids(random: Random, shape: str) -> list[Ellipsoid]:
    """A cover and up to two more, on the pin axis unless the shape is "off axis"."""
    off_axis = shape == "off axis"
    girth, wide, tall = (random.uniform(1.0, 6.0) for _ in range(3))
    x, up = random.uniform(-1, 1) * off_axis, random.uniform(-3, 3)
    turned = (random.uniform(0, 90) * off_axis, 10.0 * off_axis, 0.0)
    block = Ellipsoid((girth, girth if shape == "round" else wide, tall), (x, 0.0, up), turned, 0)
    every = [Ellipsoid((RADIUS,) * 3), block]
    if random.random() < 0.6:
        share = random.uniform(0.3, 0.8)
        lift = 0.0 if off_axis else random.uniform(-0.1, 0.1) * tall
        inner = tuple(share * axis for axis in block.axes)
        every.append(Ellipsoid(inner, (x, 0.0, up + lift), turned, 1))
    return every


def moments(every: list[Ellipsoid], j: int) -> list[Fraction]:
    """The moments of part `j` at density 1: second moments from the oracle's inertia."""
    mass, first, inertia = about_centre(every, [float(i == j) for i in range(len(every))])
    second = np.trace(inertia) / 2 * np.eye(3) - inertia
    at = [(0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2)]
    values = [mass, *first, *(second[a] for a in at)]
    return [fraction(0.0 if abs(v) < 1e-9 else float(v)) for v in values]


@dataclass(frozen=True)
class Known:
    """A question and balls that meet it: the value of every feature, of their figures and CGs.

    `squares` are each ball's RGs squared about x, y and z where the question asks for them.
    """

    question: Question
    value: dict[tuple[str, int], Fraction]
    c: tuple[Fraction, ...]
    squares: tuple[tuple[Fraction, ...], ...]
    figures: tuple[Fraction, Fraction, Fraction]
    densities: tuple[Fraction, ...]
    solids: tuple[Ellipsoid, ...]

    def inside(self, box: Box) -> bool:
        """Whether the balls are among those of a box."""
        pairs = [*zip(self.c, box.c, strict=True), *zip(self.densities, box.densities, strict=True)]
        pairs += zip(self.figures[: 2 + self.question.asked], box.figures, strict=False)
        ordered = (
            order is None or list(order) == sorted(order, key=lambda a, k=k: self.squares[k][a])
            or self._ties(k, order)
            for k, order in enumerate(box.orders)
        )  # fmt: skip
        low, apart, _ = self.figures
        lines = [(1, box.below)] * bool(box.below) + [(-1, box.above)] * bool(box.above)
        sided = (sign * (line[0] * low + line[1] - apart) >= 0 for sign, line in lines)
        return all(a <= x <= b for x, (a, b) in pairs) and all(ordered) and all(sided)

    def _ties(self, k: int, order: tuple[int, ...]) -> bool:
        low, middle, high = (self.squares[k][axis] for axis in order)
        return low <= middle <= high


SHAPES = ("round", "triaxial", "off axis")


def drawn(random: Random, shape: str | None = None) -> Known:
    """Balls, and a question round them, some of it waived: nothing, one claim, all, or any."""
    shape = shape or random.choices(SHAPES, (4, 5, 1))[0]
    every = solids(random, shape)
    within, asked = random.random() < 0.4, random.random() < 0.5
    count = random.choice((1, 1, 2))
    about_cg = random.random() < 0.7
    true = [dict(zip(FEATURES, moments(every, j), strict=True)) for j in range(len(every))]
    errors = [fraction(random.choice((0.0, 1e-9, 1e-6)) * RADIUS**order) for order in range(3)]
    told = [_mismeasured(random, part, errors, shape) for part in true]
    aligned = shape != "off axis"
    ball = Ball.read({
        "radius": float(RADIUS), "aligned": aligned,
        "errors": errors, "moments": [list(part.values()) for part in told],
    })  # fmt: skip
    first = [fraction(random.uniform(0.3, 4.0), 6) for _ in every]
    made = [first]
    for _ in range(count - 1):
        scale = fraction(random.uniform(0.8, 1.2), 4)
        off = 0.1 if within else 0.0
        made.append([x * scale * fraction(1 + random.uniform(-off, off), 4) for x in first])
    value, c, squares = {}, [], []
    for k, x in enumerate(made):
        for of in FEATURES:
            value[of, k] = sum((r * part[of] for r, part in zip(x, true, strict=True)), Fraction(0))
        mass = value["m", k]
        value["p", k] = sum(value[of, k] ** 2 for of in "xyz") / mass
        c.append(value["z", k] / mass)
        second = [value[2 * of, k] for of in "xyz"]
        lifted = [value["p", k] * about_cg, value["p", k] * about_cg, Fraction(0)]
        squares.append(
            tuple((sum(second) - own - p) / mass for own, p in zip(second, lifted, strict=True))
        )
    own = [_figures(square) for square in squares]
    shared = tuple(
        max(Fraction(0), own[0][i] + (fraction(random.uniform(-0.1, 0.1)) if within else 0))
        for i in range(3)
    )
    off = tuple(max(abs(x[i] - shared[i]) for x in own) * within for i in range(3))
    waived = random.choice(("none", "one", "all", "any"))
    one, names = random.randrange(12), iter(range(12))

    def kept() -> bool:
        number = next(names)
        return {"none": True, "one": number != one, "all": False}.get(waived, random.random() < 0.5)

    figures = [_round(random, x) if kept() else (Fraction(0), Fraction(100)) for x in shared]
    densities = [_round(random, x, NEVER) for x in (x for ball in made for x in ball)]
    size = len(every)
    columns = [tuple(range(k * size, (k + 1) * size)) for k in range(count)]
    level = fraction(random.choice((0.0, 0.0, 1.5, random.random())))
    offsets = [root(value["p", k] / value["m", k]) for k in range(count)]
    keeps = [kept() for _ in range(6)]
    limits = [
        each
        for k in range(count)
        for each in _limits(random, value, made, own, k, keeps=keeps, level=level)
    ]
    least = min(offsets) if random.random() < 0.3 else 0
    question = Question.read(
        {
            "balls": ["a"] * count, "columns": columns, "densities": densities, "limits": limits,
            "about_cg": [about_cg] * count, "figures": figures, "off": off, "asked": asked,
            "offset": [
                max(Fraction(0), least - ROUNDING),
                max(offsets) + fraction(random.random()) if kept() else None,
            ],
            "level": level,
        },
        {"a": ball},
    )  # fmt: skip
    low, apart, inner = shared
    value |= {("shared", 0): low**2, ("shared", 2): (low + apart) ** 2}
    if asked:  # else no row knows the intermediate RG
        value["shared", 1] = max(Fraction(0), low + apart - inner) ** 2
    every_density = tuple(x for ball in made for x in ball)
    value |= {("density", j): x for j, x in enumerate(every_density)}
    return Known(question, value, tuple(c), tuple(squares), shared, every_density, tuple(every))


def _mismeasured(random, part, errors, shape):
    """Moments as told, off by what the errors allow; alike about x and y where they are."""
    told, turn = dict(part), fraction(random.uniform(-1, 1), 3)
    for of, value in part.items():
        share = turn if of in ("xx", "yy") else fraction(random.uniform(-1, 1), 3)
        if value or shape == "off axis":
            told[of] = value + errors[0 if of == "m" else len(of)] * share
    return told


def _figures(squares):
    low, middle, high = (root(square) for square in sorted(squares))
    return low, high - low, high - middle


def _round(random, x, least=Fraction(0)):
    """A range that holds a number, at one of its ends or amid it."""
    below, above = (
        fraction(random.choice((0.0, 0.0, 1e-3, 0.3)) * random.random()) for _ in range(2)
    )
    return max(min(least, x), x - below), x + above


def _limits(random, value, made, own, k, *, keeps, level):
    """Limits that a ball keeps, some by a hair, with the room that is asked."""
    mass, moment = value["m", k], root(sum(value[of, k] ** 2 for of in "xyz"))
    densities = made[k]
    off_axis = any(value[of, k] for of in "xy")
    known = [
        ("mass", [], mass),
        ("density", [len(densities) - 1], densities[-1]),
        ("step", [0, 1], densities[0] - densities[1]),
        ("imbalance", [], moment),
        ("intermediate", [], own[k][2]),
        ("mark", [], None),
    ]
    for keep, (of, at, true) in zip(keeps, known, strict=True):
        tolerance = fraction(random.choice((0.0, 0.1)))
        room = tolerance * level
        ends = [34, 35] if value["z", k] < 0 else [0, 1]
        if of != "mark":
            low, high = _round(random, true, Fraction(-(10**6)))
            ends = [low - room - ROUNDING, high + room + ROUNDING]
        elif off_axis or not moment:
            continue
        if random.random() < 0.4:
            ends[random.randrange(2)] = None
        if keep:
            limit = {"k": k, "of": of, "at": at, "least": ends[0], "most": ends[1]}
            yield limit | ({} if of == "mark" else {"tolerance": tolerance})

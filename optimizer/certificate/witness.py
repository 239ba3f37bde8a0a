"""A line-up that meets a question: its figures, measured from its densities.

Square roots aren't rational, so figures are measured between bounds. A target can't be met to the
last digit by densities with finitely many: a witness may miss a bound by NEAR.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from math import atan2, hypot, isqrt
from typing import NamedTuple

from optimizer.certificate.forms import FEATURES, ONE, ZERO, NotProven, exact
from optimizer.certificate.question import Question

NEAR = Fraction(1, 500_000)
"""By which a figure may miss its bound: cm of an RG, a CG or a distance, relative for a mass."""
DIGITS = 12
"""Of a square root."""


class Figures(NamedTuple):
    """Of one ball: g, cm, g cm; RGs about the point that is asked."""

    mass: Fraction
    radii: tuple[Fraction, ...]
    first: tuple[Fraction, Fraction, Fraction]

    @property
    def offset(self) -> Fraction:
        """How far its CG is from its centre, cm."""
        return root(sum((f * f for f in self.first), ZERO)) / self.mass


def check_witness(question: Question, densities: Sequence[object]) -> tuple[Figures, ...]:
    """Check that a line-up meets a question. Raises NotProven where it doesn't."""
    x = [exact(density) for density in densities]
    if len(x) != len(question.densities):
        raise NotProven("a line-up with other densities than the question's")
    for j, (density, (low, high)) in enumerate(zip(x, question.densities, strict=True)):
        step = question.steps.get(j)
        if not low <= density <= high or (step and density % step):
            raise NotProven(f"a density of {float(density):g} g/cm³ that isn't allowed")
    every = tuple(measured(question, k, x) for k in range(len(question.balls)))
    for k, figures in enumerate(every):
        for what, value, ends in _asked(question, k, figures, x):
            if not _near(value, *ends, what):
                raise NotProven(f"a ball whose {what} is {float(value):.7g}")
    _share(question, every)
    return every


def measured(question: Question, k: int, x: Sequence[Fraction]) -> Figures:
    """Return the figures of a ball of class `k` at these densities."""
    pairs = list(zip(question.columns[k], question.balls[k].parts, strict=True))
    of = {name: sum((x[j] * part[name] for j, part in pairs), ZERO) for name in FEATURES}
    mass, first = of["m"], (of["x"], of["y"], of["z"])
    if mass <= 0:
        raise NotProven("a ball that weighs nothing")
    second = [[of["".join(sorted(a + b))] for b in "xyz"] for a in "xyz"]
    trace = second[0][0] + second[1][1] + second[2][2]
    square = sum((f * f for f in first), ZERO) * question.about_cg[k]
    matrix = [
        [
            ((trace - square / mass) * (a == b) - second[a][b]) / mass
            + first[a] * first[b] / mass**2 * question.about_cg[k]
            for b in range(3)
        ]
        for a in range(3)
    ]
    return Figures(mass, _radii(matrix, question.balls[k].radius), first)


def _radii(matrix: Sequence[Sequence[Fraction]], most: Fraction) -> tuple[Fraction, ...]:
    """Return the square roots of the eigenvalues of a symmetric matrix, the least first."""
    found = []
    for place in range(3):
        low, high = ZERO, 2 * most
        while high - low > Fraction(1, 10**DIGITS):
            middle = (low + high) / 2
            below = _below(matrix, middle * middle) > place
            low, high = (low, middle) if below else (middle, high)
        found.append((low + high) / 2)
    return tuple(found)


def _below(matrix: Sequence[Sequence[Fraction]], at: Fraction) -> int:
    """Return how many eigenvalues are below `at`.

    The characteristic polynomial of the matrix less `at` has real roots only, so that Descartes'
    rule of signs counts those below 0.
    """
    (a, d, e), (_, b, f), (_, _, c) = matrix
    a, b, c = a - at, b - at, c - at
    minors = a * b - d * d + a * c - e * e + b * c - f * f
    determinant = a * (b * c - f * f) - d * (d * c - f * e) + e * (d * f - b * e)
    signs = [s > 0 for s in (1, a + b + c, minors, determinant) if s]
    return sum(one != other for one, other in pairwise(signs))


def _asked(
    question: Question, k: int, figures: Figures, x: Sequence[Fraction]
) -> Iterator[tuple[str, Fraction, tuple[Fraction | None, Fraction | None]]]:
    """Yield what is asked of a ball by itself: its name, its value, and between what it must be."""
    _, middle, high = figures.radii
    (least, most), offset = question.offset, figures.offset
    yield "CG offset", offset, (least, most)
    for limit in question.limits:
        if limit.k == k:
            ends = question.ends(limit)
            if limit.of == "mass":
                yield "mass", figures.mass, ends
            elif limit.of in ("density", "step"):
                densities = [x[question.columns[k][part]] for part in limit.at]
                yield limit.of, densities[0] - sum(densities[1:], ZERO), ends
            elif limit.of == "imbalance":
                yield limit.of, offset * figures.mass, ends
            elif limit.of == "intermediate":
                yield "intermediate differential", high - middle, ends
            elif limit.of == "mark":
                angle = atan2(hypot(*map(float, figures.first[:2])), float(figures.first[2]))
                yield "pin distance", question.balls[k].radius * Fraction(angle), ends
            else:
                raise NotProven(f"{limit.of[:40]!r} is no kind of limit")


def _share(question: Question, every: Sequence[Figures]) -> None:
    """Check that the balls share a target within its ranges, each as near as is asked."""
    names = ("low RG", "differential", "intermediate differential")
    own = [(low, high - low, high - middle) for low, middle, high in (f.radii for f in every)]
    for i, name in enumerate(names[: 2 + question.asked]):
        values, (low, high) = [each[i] for each in own], question.figures[i]
        off = question.off[i] + NEAR
        if max(max(values) - off, low) > min(min(values) + off, high):
            told = ", ".join(f"{float(value):.7g}" for value in values)
            raise NotProven(f"balls whose {name}, {told} cm, isn't the line's")


def _near(value: Fraction, low: Fraction | None, high: Fraction | None, what: str) -> bool:
    off = NEAR * max(ONE, value) if what in ("mass", "imbalance") else NEAR
    return (low is None or value >= low - off) and (high is None or value <= high + off)


def root(square: Fraction) -> Fraction:
    """Return the square root of a number that isn't negative, to DIGITS digits."""
    scale = 10**DIGITS
    return Fraction(isqrt(square.numerator * scale * scale // square.denominator), scale)

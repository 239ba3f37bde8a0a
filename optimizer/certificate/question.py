"""What a proof is about: balls, as the moments of their parts, and what is asked of them.

Units are cm, g, and g/cm³. A ball's features are linear in the densities: its mass, the first and
the second moments of its mass about the ball's centre. All else is a form over features.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property
from typing import Any, NamedTuple, TypeAlias

FEATURES = ("m", "x", "y", "z", "xx", "yy", "zz", "xy", "xz", "yz")
"""Mass, first moments, second moments, in the order in which a file gives them."""
ON_AXIS = ("m", "z", "xx", "yy", "zz")
"""Those that don't vanish where every part stands on the pin axis."""
NUMBER = re.compile(r"-?\d{1,400}(\.\d{1,400})?([eE][+-]?\d{1,3})?")
"""A number that can be written out."""

Feature: TypeAlias = tuple[str, int]
"""What a form is over: a feature of a weight class (its number), a density or a `Column`."""
Form: TypeAlias = Mapping[Feature, Fraction]
"""A sum of features, each times a number."""
Range: TypeAlias = tuple[Fraction, Fraction]
Direction: TypeAlias = tuple[Fraction, Fraction, Fraction]
"""Along a line; its length doesn't matter where this isn't said."""

ZERO, ONE = Fraction(0), Fraction(1)
X, Y, Z = AXES = ((ONE, ZERO, ZERO), (ZERO, ONE, ZERO), (ZERO, ZERO, ONE))
LOW, MIDDLE, HIGH = 0, 1, 2
"""The places of axes by their RG."""


class NotProven(ValueError):  # noqa: N818 - it says what it is
    """What a proof claims doesn't follow from what it gives; the text says where."""


def exact(number: object) -> Fraction:
    """Return a number of the file, as it is written. Raises NotProven for anything else."""
    if isinstance(number, Fraction):
        return number
    text = str(number)
    if isinstance(number, bool) or not NUMBER.fullmatch(text):
        raise NotProven(f"{text[:40]!r} is not a number")
    return Fraction(text)


def span(pair: Sequence[object]) -> Range:
    """Return a range of the file."""
    low, high = (exact(end) for end in pair)
    if low > high:
        raise NotProven(f"a range from {float(low):g} down to {float(high):g}")
    return low, high


def plus(*terms: tuple[Fraction, Form]) -> Form:
    """Return a sum of forms, each times a number."""
    total: dict[Feature, Fraction] = {}
    for factor, form in terms:
        for feature, share in form.items():
            total[feature] = total.get(feature, ZERO) + factor * share
    return total


def mass(k: int) -> Form:
    """Return the mass of weight class `k`."""
    return {("m", k): ONE}


def first(k: int, n: Direction) -> Form:
    """Return the first moment along `n`, times its length."""
    return {(of, k): share for of, share in zip("xyz", n, strict=True) if share}


def inertia(k: int, n: Direction) -> Form:
    """Return the moment of inertia about the line along `n` through the centre, times |n|²."""
    square = sum((share * share for share in n), ZERO)
    form = {(2 * of, k): square - share * share for of, share in zip("xyz", n, strict=True)}
    form |= {("xy", k): -2 * n[0] * n[1], ("xz", k): -2 * n[0] * n[2], ("yz", k): -2 * n[1] * n[2]}
    return {feature: share for feature, share in form.items() if share}


@dataclass(frozen=True)
class Ball:
    """A weight class as drawn: its radius, and the features of each of its parts at density 1.

    Each may be wrong by the `error` of its kind (mass, first, second moments). If `aligned`, every
    part stands on the pin axis, and x, y and z are principal axes; if `symmetric`, moments about x
    and y are the same numbers, which may be wrong by the same amount only.
    """

    radius: Fraction
    parts: tuple[Mapping[str, Fraction], ...]
    errors: Mapping[str, Fraction]
    aligned: bool

    @classmethod
    def read(cls, data: Mapping[str, Any]) -> Ball:
        """Return a ball of a file."""
        parts = tuple(
            {of: exact(x) for of, x in zip(FEATURES, part, strict=True)} for part in data["moments"]
        )
        kinds = [exact(x) for x in data["errors"]]
        errors = {of: kinds[0 if of == "m" else len(of)] for of in FEATURES}
        radius, aligned = exact(data["radius"]), bool(data["aligned"])
        for part in parts:
            if aligned and any(part[of] for of in FEATURES if of not in ON_AXIS):
                raise NotProven("a part off the pin axis, in a ball said to have none")
            room = radius * part["m"]
            if part["m"] <= 0 or any(abs(part[of]) > room for of in "xyz"):
                raise NotProven("a part that lies outside its ball")
        return cls(radius, parts, errors, aligned)

    @cached_property
    def symmetric(self) -> bool:
        """Whether it is the same about x and y."""
        return self.aligned and all(part["xx"] == part["yy"] for part in self.parts)


class Limit(NamedTuple):
    """A form of weight class `k` within a range.

    With a tolerance it is to have room: of the question's level, or of its own, which is no more.
    """

    k: int
    of: str
    at: tuple[Any, ...]
    least: Fraction | None
    most: Fraction | None
    tolerance: Fraction | None
    level: Fraction | None


@dataclass(frozen=True)
class Question:
    """A line: `columns[k]` are the columns of the densities of each part of `balls[k]`.

    `figures` are the ranges of low RG, differential and intermediate differential that the line
    shares; a ball may miss each by `off`. The last counts only if `asked`. `offset` is the range of
    |c|. RGs are about the CG where `about_cg` (k,). Every limit with a tolerance is to have room of
    `level` tolerances. Densities with `steps` are whole multiples of them.
    """

    balls: tuple[Ball, ...]
    columns: tuple[tuple[int, ...], ...]
    densities: tuple[Range, ...]
    limits: tuple[Limit, ...]
    about_cg: tuple[bool, ...]
    figures: tuple[Range, Range, Range]
    off: tuple[Fraction, Fraction, Fraction]
    asked: bool
    offset: tuple[Fraction, Fraction | None]
    level: Fraction = ZERO
    steps: Mapping[int, Fraction] = field(default_factory=dict)

    @classmethod
    def read(cls, data: Mapping[str, Any], balls: Mapping[str, Ball]) -> Question:
        """Return a question of a file, about the file's balls."""
        own = tuple(balls[label] for label in data["balls"])
        densities = tuple(span(pair) for pair in data["densities"])
        columns = tuple(tuple(int(j) for j in places) for places in data["columns"])
        if any(low < 0 for low, _ in densities):
            raise NotProven("a density below zero")
        for ball, places in zip(own, columns, strict=True):
            if len(places) != len(ball.parts) or not all(0 <= j < len(densities) for j in places):
                raise NotProven("densities that belong to no part")
        return cls(
            own,
            columns,
            densities,
            tuple(_limit(each, own) for each in data["limits"]),
            tuple(bool(about) for about in data["about_cg"]),
            _three(span(pair) for pair in data["figures"]),
            _three(exact(x) for x in data["off"]),
            bool(data["asked"]),
            (exact(data["offset"][0]), _end(data["offset"][1])),
            exact(data.get("level", 0)),
            {int(j): exact(step) for j, step in data.get("steps", {}).items()},
        )

    def ends(self, limit: Limit) -> tuple[Fraction | None, Fraction | None]:
        """Return the ends of a limit, with the room that is asked."""
        level = self.level if limit.level is None else min(limit.level, self.level)
        room = level * (limit.tolerance or ZERO)
        least = None if limit.least is None else limit.least + room
        return least, None if limit.most is None else limit.most - room

    def inner_ends(self, k: int) -> list[Fraction]:
        """Return the limits on a ball's intermediate differential, with the room that is asked."""
        mine = (limit for limit in self.limits if limit.k == k and limit.of == "intermediate")
        return [most for limit in mine if (most := self.ends(limit)[1]) is not None]

    @cached_property
    def masses(self) -> tuple[Range, ...]:
        """The range of each class's mass: from its limits, else from its densities."""
        return tuple(self._mass(k) for k in range(len(self.balls)))

    def _mass(self, k: int) -> Range:
        error = self.balls[k].errors["m"]
        pairs = zip(self.columns[k], self.balls[k].parts, strict=True)
        ends = [(self.densities[j], part["m"]) for j, part in pairs]
        mine = [limit for limit in self.limits if limit.k == k and limit.of == "mass"]
        least = [limit.least for limit in mine if limit.least is not None]
        most = [limit.most for limit in mine if limit.most is not None]
        low = sum((density[0] * (volume - error) for density, volume in ends), ZERO)
        high = sum((density[1] * (volume + error) for density, volume in ends), ZERO)
        return max(least, default=low), min(most, default=high)


@dataclass(frozen=True)
class Box:
    """Line-ups with figures in ranges.

    Of each class the range of c, the CG along the pin, cm, and x, y and z in the order of their RGs
    (None: any); the ranges of the shared figures, cm, and of the densities.
    """

    c: tuple[Range, ...]
    orders: tuple[tuple[int, int, int] | None, ...]
    figures: tuple[Range, Range, Range]
    densities: tuple[Range, ...]

    @classmethod
    def whole(cls, question: Question) -> Box:
        """Return the box of every line-up: no CG is outside the ball, as no density is negative."""
        most, count = question.offset[1], len(question.balls)
        reach = [ball.radius if most is None else most for ball in question.balls]
        c = tuple((-end, end) for end in reach)
        return cls(c, (None,) * count, question.figures, question.densities)

    @property
    def shared(self) -> tuple[Range, Range, Range]:
        """The ranges of the low, intermediate and high RG that the line shares, cm."""
        (low, high), (near, far), (least, most) = self.figures
        middle = max(ZERO, low + near - most), max(ZERO, high + far - least)
        return (low, high), middle, (low + near, high + far)

    def with_c(self, k: int, ends: Range) -> Box:
        """Return the line-ups with c of class `k` within `ends`."""
        return replace(self, c=_set(self.c, k, ends))

    def with_order(self, k: int, order: tuple[int, int, int]) -> Box:
        """Return the line-ups of which class `k` has this order of x, y and z by RG."""
        return replace(self, orders=_set(self.orders, k, order))

    def with_figure(self, i: int, ends: Range) -> Box:
        """Return the line-ups whose figure `i` is within `ends`."""
        return replace(self, figures=_set(self.figures, i, ends))

    def with_density(self, j: int, ends: Range) -> Box:
        """Return the line-ups whose density `j` is within `ends`."""
        return replace(self, densities=_set(self.densities, j, ends))


def _three(values: Iterable[Any]) -> Any:
    three = tuple(values)
    if len(three) != 3 or any(
        value < 0 if isinstance(value, Fraction) else value[0] < 0 for value in three
    ):
        raise NotProven("a target's figures are three, none of them negative")
    return three


def _set(values: tuple[Any, ...], at: int, value: object) -> Any:
    return (*values[:at], value, *values[at + 1 :])


def _limit(data: Mapping[str, Any], balls: Sequence[Ball]) -> Limit:
    k = int(data["k"])
    if not 0 <= k < len(balls):
        raise NotProven("a limit of no weight")
    ends = _end(data.get("least")), _end(data.get("most"))
    rooms = _end(data.get("tolerance")), _end(data.get("level"))
    return Limit(k, str(data["of"]), tuple(data.get("at", ())), *ends, *rooms)


def _end(number: object) -> Fraction | None:
    return None if number is None else exact(number)

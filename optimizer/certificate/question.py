"""What a proof is about: balls, as the moments of their parts, and what is asked of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from typing import Any, NamedTuple

from optimizer.certificate.forms import (
    FEATURES,
    ON_AXIS,
    ZERO,
    NotProven,
    Range,
    double,
    exact,
    place,
    positive,
    span,
    truth,
)

PARTS = {"density": 1, "step": 2}
"""Of how many parts limits on these are; others are of none."""


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
            {of: double(x) for of, x in zip(FEATURES, part, strict=True)}
            for part in data["moments"]
        )
        kinds = [positive(x) for x in data["errors"]]
        errors = {of: kinds[0 if of == "m" else len(of)] for of in FEATURES}
        radius, aligned = positive(data["radius"]), truth(data["aligned"])
        for part in parts:
            if aligned and any(part[of] for of in FEATURES if of not in ON_AXIS):
                raise NotProven("a part off the pin axis, in a ball said to have none")
            first, second = [part[of] for of in "xyz"], [part[2 * of] for of in "xyz"]
            if part["m"] <= 0 or min(second) < 0:
                raise NotProven("moments that no part has")
            room = radius * part["m"]
            if sum(f * f for f in first) > room * room or sum(second) > radius * room:
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
        columns = tuple(tuple(place(j, len(densities)) for j in of) for of in data["columns"])
        about_cg = tuple(truth(about) for about in data["about_cg"])
        if any(low < 0 for low, _ in densities):
            raise NotProven("a density below zero")
        for ball, places, _ in zip(own, columns, about_cg, strict=True):
            if len(places) != len(ball.parts):
                raise NotProven("densities that belong to no part")
        return cls(
            own,
            columns,
            densities,
            tuple(_limit(each, own) for each in data["limits"]),
            about_cg,
            _three(span(pair) for pair in data["figures"]),
            _three(exact(x) for x in data["off"]),
            truth(data["asked"]),
            (positive(data["offset"][0]), _end(data["offset"][1])),
            exact(data.get("level", 0)),
            {int(j): positive(step) for j, step in data.get("steps", {}).items()},
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
        both = [self.ends(limit) for limit in mine]
        least = [end for end, _ in both if end is not None]
        most = [end for _, end in both if end is not None]
        low = sum((density[0] * (volume - error) for density, volume in ends), ZERO)
        high = sum((density[1] * (volume + error) for density, volume in ends), ZERO)
        return max(least, default=low), min(most, default=high)


def _three(values: Iterable[Any]) -> Any:
    three = tuple(values)
    if len(three) != 3 or any(
        value < 0 if isinstance(value, Fraction) else value[0] < 0 for value in three
    ):
        raise NotProven("a target's figures are three, none of them negative")
    return three


def _limit(data: Mapping[str, Any], balls: Sequence[Ball]) -> Limit:
    k, of = place(data["k"], len(balls)), str(data["of"])
    at = tuple(place(part, len(balls[k].parts)) for part in data.get("at", ()))
    if len(at) != PARTS.get(of, 0):
        raise NotProven(f"a limit {of[:40]!r} of {len(at)} parts")
    ends = _end(data.get("least")), _end(data.get("most"))
    rooms = _end(data.get("tolerance")), _end(data.get("level"))
    return Limit(k, of, at, *ends, *rooms)


def _end(number: object) -> Fraction | None:
    return None if number is None else exact(number)

"""Bounds by what they are called, and what single limits ask of a ball."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import NamedTuple

from optimizer.ball.bounds import Bound, Margin
from optimizer.ball.limits import Limit
from optimizer.ball.weight_class import Ball, LinearMap
from optimizer.lineup.claims import Claim
from optimizer.lineup.rows import Lineup


class Called(NamedTuple):
    """What is asked, in words; of a part or a pair, and of a weight, if it is."""

    words: str
    of: str | tuple[str, str] | None = None
    weight: str | None = None


def called(claim: Claim) -> Called:
    return Called(claim.words, claim.of, claim.weight)


def every_claim(asked: Lineup) -> Iterator[Claim]:
    """Every bound there is, of its weight and of the line."""
    for bound in (bound for linear_map in asked.maps for bound in linear_map.bounds):
        yield from (bound, bound.everywhere)


def claims_called(asked: Lineup, some: Iterable[Called]) -> list[Claim]:
    wanted = set(some)
    return [claim for claim in every_claim(asked) if called(claim) in wanted]


def margins_of(limit: Limit, ball: Ball) -> list[Margin]:
    return [margin for bound in limit.bounds(ball.map) for margin in bound.margins(ball)]


def held(linear_map: LinearMap, limits: Iterable[Limit]) -> LinearMap:
    """The map with the bounds of some limits besides its own."""
    return replace(
        linear_map,
        bounds=(*linear_map.bounds, *(b for limit in limits for b in limit.bounds(linear_map))),
    )


def bound_called(
    linear_map: LinearMap, words: str, of: str | tuple[str, str] | None = None
) -> Bound:
    return next(b for b in linear_map.bounds if (b.words, b.of) == (words, of))

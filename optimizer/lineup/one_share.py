"""A blend with one share of its stocks in the whole line: the share that leaves the most room.

A line-up with a share of its own in every pour is solved first. What can't be done so can't be
done with one share, and no share leaves more room. From the share nearest to what its densities
need, others are then tried, in whole hundredths, until none a hundredth away is better.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Final

from optimizer.lineup.result import LineupResult, Status
from optimizer.lineup.verdict_words import (
    NO_SHARE,
    NO_SHARE_EXACT,
    ONE_SHARE,
    SHARES_FREE,
)
from optimizer.scenario.read import read_again
from optimizer.scenario.scenario import Scenario
from optimizer.scenario.source.editing import edited
from shared.errors import InputError
from shared.models import Path

ORDER: Final[tuple[Status, ...]] = ("undecided", "within_tolerance", "feasible")
"""Of statuses, the better ones last."""
ENOUGH: Final = 1e-3
"""Tolerances: a share that leaves no less room than this under the most is good enough."""
STEPS: Final = 100
"""The finest steps in the whole."""
FIRST: Final = 16
"""The first step of the search, in the finest ones."""


def of_one_share(
    asked: Scenario, material: str, solve: Callable[[Scenario], LineupResult]
) -> LineupResult:
    """Return the line-up with the best share found, in a scenario that says this share.

    `solve` solves a scenario whose shares are given or each pour's own. If there is no line-up with
    a share for each pour, that result is returned. Raises InputError where no share that was tried
    makes a sound scenario.
    """
    path: Path = ("materials", material, "recipe", "share")
    share = asked.source_value(path)
    loose = solve(_with(asked, path, {**share, "same": "none"}))
    if not loose.accepted:
        return _warned(loose, SHARES_FREE.format(material))
    recipe = next(pour.recipe for pour in asked.pours if pour.material == material)
    if recipe is None:
        return loose
    low, high = recipe.share
    tried: dict[float, LineupResult | InputError] = {}

    def reached(share: float) -> tuple[int, float]:
        if share not in tried:
            try:
                tried[share] = solve(_with(asked, path, share))
            except InputError as error:  # such as a step with no multiple in what is left to pour
                tried[share] = error
        found = tried[share]
        return (-1, -math.inf) if isinstance(found, InputError) else _rank(found)

    def near(share: float) -> float:
        return min(max(round(share * STEPS) / STEPS, low), high)

    best = near(recipe.share_for(_poured(loose, material)))
    most, step = _rank(loose), FIRST
    while step and reached(best) < (most[0], most[1] - ENOUGH):
        beside = [near(best + way * step / STEPS) for way in (1, -1)]
        better = max(beside, key=reached)
        if reached(better) > reached(best):
            best = better
        else:
            step //= 2
    if isinstance(found := tried[best], InputError):
        raise found
    words = ONE_SHARE.format(material, recipe.resin.name, round(100 * best, 6), len(tried))
    return _warned(_found(found), words)


def _found(result: LineupResult) -> LineupResult:
    """Return the result with the best share of those tried; it proves nothing about the others."""
    if (why := result.infeasible) is None:
        inexact = result.inexact and NO_SHARE_EXACT.format(known=result.inexact)
        return replace(result, inexact=inexact)
    why = replace(why, proof=NO_SHARE.format(known=why.proof))
    return replace(result, status="undecided", infeasible=why)


def _warned(result: LineupResult, warning: str) -> LineupResult:
    warnings = (*result.warnings, warning)
    scenario = replace(result.scenario, warnings=warnings)
    return replace(result, scenario=scenario, warnings=warnings)


def _with(asked: Scenario, path: Path, share: object) -> Scenario:
    text = edited(asked.source, {path: share}, file=asked.file)
    return read_again(replace(asked.written, source=text), asked.chosen)


def _poured(result: LineupResult, material: str) -> list[float]:
    """Return all densities of a material."""
    return [
        float(density)
        for weight in result.weights
        for pour, density in zip(weight.ball.map.pours, weight.ball.densities, strict=True)
        if pour.material == material
    ]


def _rank(result: LineupResult) -> tuple[int, float]:
    """Return how good a line-up is: its status, then the least room that densities can move."""
    met = ORDER.index(result.status) if result.accepted else 0
    return met, result.room if met else -math.inf

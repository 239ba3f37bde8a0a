"""The rulebook and changes: what it allows a number to be, and which rules a line-up breaks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from optimizer.ball.bounds import Bound, Margin
from optimizer.ball.figures import DENSITY, WEIGHT
from optimizer.ball.limits.rulebook import rules_asked
from optimizer.ball.weight_class import LinearMap
from optimizer.lineup.margins import outside
from optimizer.lineup.result import LineupResult
from optimizer.lineup.rows import Lineup
from optimizer.questions.why_not.changes.moves import Move


def within_rules(moves: Sequence[Move], lineup: Lineup) -> list[Move]:
    """Return the moves, each kept within what the rulebook allows its number to be."""
    return [_within(move, list(_about(move, lineup))) for move in moves]


def left_rules(result: LineupResult) -> tuple[Margin, ...]:
    """Return the rules that apply to a line-up and that it is outside of."""
    rules = (margin for weight in result.weights for margin in _applying(weight.ball.map))
    return tuple(filter(outside, rules))


def _applying(linear_map: LinearMap) -> Iterator[Margin]:
    return (margin for margin in rules_asked(linear_map) if margin.note is None)


def _about(move: Move, lineup: Lineup) -> Iterator[Bound]:
    """Yield the rules that apply to the number that is moved."""
    if move.bound is None:
        return
    for linear_map in lineup.maps:
        made_of = {pour.part: pour.material for pour in linear_map.pours}
        for margin in _applying(linear_map):
            about = {WEIGHT: margin.weight, DENSITY: made_of.get(str(margin.part))}
            figure = margin.bound.figure
            if figure == move.bound.figure and about.get(figure) == move.about:
                yield margin.bound


def _within(move: Move, rules: Sequence[Bound]) -> Move:
    low = max((rule.low for rule in rules if rule.side == "min"), default=move.low)
    high = min((rule.high for rule in rules if rule.side == "max"), default=move.high)
    return replace(move, low=low, high=high)

"""The rulebook beside a scenario: what it allows a number to be, what of it is outside."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from optimizer.ball.bounds import Bound, Margin
from optimizer.ball.figures import DENSITY, WEIGHT
from optimizer.ball.limits.rulebook import rules_asked
from optimizer.lineup.margins import outside
from optimizer.lineup.result import LineupResult
from optimizer.lineup.rows import Lineup
from optimizer.questions.why_not.changes.moves import Move


def within_rules(moves: Sequence[Move], lineup: Lineup) -> list[Move]:
    """Return the moves, each kept to what the rulebook allows its number to be."""
    return [_within(move, list(_about(move, lineup))) for move in moves]


def left_rules(result: LineupResult) -> tuple[Margin, ...]:
    """Return the rules, of those that do apply, that what a scenario gives is outside of."""
    rules = (margin for weight in result.weights for margin in rules_asked(weight.ball.map))
    return tuple(margin for margin in rules if margin.note is None and outside(margin))


def _about(move: Move, lineup: Lineup) -> Iterator[Bound]:
    """Yield the rules that do apply to the number that is moved."""
    moved = None if move.bound is None else move.bound.figure
    for linear_map in lineup.maps:
        made_of = {pour.part: pour.material for pour in linear_map.pours}
        for margin in rules_asked(linear_map):
            about = {WEIGHT: margin.weight, DENSITY: made_of.get(str(margin.part))}
            figure = margin.bound.figure
            if figure == moved and about.get(figure) == move.about and margin.note is None:
                yield margin.bound


def _within(move: Move, rules: Sequence[Bound]) -> Move:
    low = max((rule.low for rule in rules if rule.side == "min"), default=move.low)
    high = min((rule.high for rule in rules if rule.side == "max"), default=move.high)
    return replace(move, low=low, high=high)

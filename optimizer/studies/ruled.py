"""The rulebook beside a scenario: what it allows a number to be, what of it is outside."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from optimizer.limits.rulebook import rules_asked
from optimizer.linear.rows import Margin
from optimizer.lineup.margins import outside
from optimizer.lineup.result import LineupResult
from optimizer.lineup.rows import Lineup
from optimizer.studies.moves import Move

RULED = {"weights": "weight", "materials": "density", "dimensions": "diameter"}
"""The figure of the rulebook that a number under these keys gives; a target's has its own name."""


def within_rules(some: Sequence[Move], lineup: Lineup) -> list[Move]:
    """Return the moves, each kept to what the rulebook allows its number to be."""
    return [_within(move, list(_about(move, lineup))) for move in some]


def left_rules(result: LineupResult) -> tuple[Margin, ...]:
    """Return the rules, of those that do apply, that what a scenario gives is outside of."""
    maps = [weight.ball.map for weight in result.weights]
    rules = rules_asked(maps, result.scenario.limits)
    return tuple(margin for margin in rules if margin.note is None and outside(margin))


def _about(move: Move, lineup: Lineup) -> Iterator[Margin]:
    """Yield the margins, of rules that do apply, on the number that is moved."""
    kind = str(move.path[0])
    figure = RULED.get(kind, str(move.path[-1]))
    made_of = {pour.part: pour.material for one in lineup.maps for pour in one.pours}
    for margin in rules_asked(lineup.maps, lineup.limits):
        about = {"weights": margin.weight, "materials": made_of.get(str(margin.part))}
        mine = about.get(kind, move.about) == move.about
        if mine and margin.limit.split()[1] == figure and margin.note is None:
            yield margin


def _within(move: Move, rules: Sequence[Margin]) -> Move:
    low = max((m.bound for m in rules if m.limit.endswith("min")), default=move.low)
    high = min((m.bound for m in rules if m.limit.endswith("max")), default=move.high)
    return replace(move, low=low, high=high)

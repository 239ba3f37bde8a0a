"""How near a line-up is to the best that any can be, in words and as data."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import ceil, floor, isfinite
from typing import Any

from optimizer.lineup.proof.ceiling import Ceiling
from optimizer.questions.line_up.data import number

SEEN = 1e-3
"""Tolerances: a gap that is smaller isn't seen in what is printed."""

Known = tuple[float, float]
"""What was found, and what is proven; tolerances, before densities are rounded."""


def most_room(ceilings: Sequence[Ceiling]) -> Known | None:
    """Return the smallest margin found that densities move, and what none exceeds, if proven."""
    exact = [each for each in ceilings if not each.within]
    level = min((each.level for each in exact), default=float("inf"))
    if len(exact) < len(ceilings) or not isfinite(level):
        return None
    return min(each.reached for each in exact), level


def least_off(ceilings: Iterable[Ceiling]) -> Known | None:
    """Return the largest deviation of a line-up within tolerance, and the least that is proven."""
    within = [each for each in ceilings if each.within and each.level > 0.0]
    if not within:
        return None
    return max(each.reached for each in within), max(each.level for each in within)


def best_words(ceilings: Sequence[Ceiling]) -> tuple[str, ...]:
    """Return what is proven of the most room and of the least deviation, if anything is."""
    words = []
    if room := most_room(ceilings):
        found, most = room
        open_ = "" if most - found < SEEN else f"; {found:.3f} is what was found"
        words.append(
            f"proven: with this mould no line-up has more than {_up(most, 3):.3f} tolerances of "
            f"room to every limit that densities move{open_}"
        )
    if off := least_off(ceilings):
        words.append(
            f"proven: with this mould every line-up misses some figure of the target by "
            f"{_down(off[1], 3):.3f} tolerances or more"
        )
    return tuple(words)


def best_data(ceilings: Sequence[Ceiling]) -> dict[str, Any]:
    """Return the same as JSON types."""
    room, off = most_room(ceilings), least_off(ceilings)
    return {
        "most_room": room
        and {"found_tolerances": number(room[0]), "at_most_tolerances": _up(room[1], 7)},
        "least_deviation": off
        and {"found_tolerances": number(off[0]), "at_least_tolerances": _down(off[1], 7)},
    }


def _up(value: float, digits: int) -> float:
    return float(ceil(value * 10**digits) / 10**digits)


def _down(value: float, digits: int) -> float:
    return float(floor(value * 10**digits) / 10**digits)

"""How near a line-up is to the most room that any can have, in words and as data."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, isfinite
from typing import Any

from optimizer.lineup.proof.ceiling import CLOSED, Ceiling
from optimizer.questions.line_up.data import number


def most_room(ceilings: Sequence[Ceiling]) -> tuple[float, float] | None:
    """Return the smallest margin found that densities move, and what none exceeds; in tolerances.

    Before densities are rounded. None where no bound is proven.
    """
    level = min(ceiling.level for ceiling in ceilings)
    return (min(each.reached for each in ceilings), level) if isfinite(level) else None


def room_words(ceilings: Sequence[Ceiling]) -> tuple[str, ...]:
    """Return what is proven of the most room, if anything is."""
    if (known := most_room(ceilings)) is None:
        return ()
    found, most = known
    open_ = "" if most - found < 3 * CLOSED else f"; {found:.2f} is what was found"
    words = (
        f"proven: with this mould no line-up has more than {_up(most, 3):.3f} tolerances of room "
        f"to every limit that densities move{open_}"
    )
    return (words,)


def room_data(ceilings: Sequence[Ceiling]) -> dict[str, Any] | None:
    """Return the same as JSON types."""
    if (known := most_room(ceilings)) is None:
        return None
    found, most = known
    return {"found_tolerances": number(found), "at_most_tolerances": _up(most, 7), "proven": True}


def _up(value: float, digits: int) -> float:
    """Return a bound rounded to `digits` decimals, never down."""
    return float(ceil(value * 10**digits) / 10**digits)

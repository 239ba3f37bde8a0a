"""Line-ups with some bounds shifted, such as what can be poured, or the least wall."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import replace

from optimizer.linear.bounds import Bound
from optimizer.lineup.rows import Lineup


def shifted(lineup: Lineup, some: Container[Bound], amount: float) -> Lineup:
    """Return the line-up with the bounds `some` moved by `amount`."""
    maps = tuple(
        replace(one, bounds=tuple(b.moved(amount) if b in some else b for b in one.bounds))
        for one in lineup.maps
    )
    return replace(lineup, maps=maps)

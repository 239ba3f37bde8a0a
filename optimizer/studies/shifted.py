"""Line-ups with one bound of the scenario shifted: what can be poured, or the least wall."""

from __future__ import annotations

from dataclasses import replace

from optimizer.limits.wall import WallLimit
from optimizer.lineup.rows import Lineup


def poured(lineup: Lineup, material: str, end: str, amount: float) -> Lineup:
    """Return the line-up with one end of what can be poured of a material moved."""
    low, high = (amount, 0.0) if end == "density min" else (0.0, amount)
    maps = tuple(
        replace(
            one,
            pours=tuple(
                replace(pour, low=pour.low + low, high=pour.high + high)
                if pour.material == material and not pour.fixed
                else pour
                for pour in one.pours
            ),
        )
        for one in lineup.maps
    )
    return replace(lineup, maps=maps)


def walled(lineup: Lineup, pair: tuple[str, str] | None, amount: float) -> Lineup:
    """Return the line-up with the least wall of a pair moved; that of all others for no pair."""

    def shifted(limit: WallLimit) -> WallLimit:
        if pair is None:
            return limit.model_copy(update={"min": limit.min + amount})
        others = tuple(
            other.model_copy(update={"min": other.min + amount}) if other.between == pair else other
            for other in limit.exceptions
        )
        return limit.model_copy(update={"exceptions": others})

    limits = [shifted(one) if isinstance(one, WallLimit) else one for one in lineup.limits]
    return replace(lineup, limits=limits)

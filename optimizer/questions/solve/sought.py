"""What `--for` asks of a search: how long it may take, and what it is for."""

from __future__ import annotations

import math

GOOD_SHARE = "good-share"
"""What may be sought instead of margins."""


def sought_of(words: list[str]) -> tuple[float, bool]:
    """Return the seconds that a search may take, and whether it is for the share of good balls."""
    times = [duration(word) for word in words if word != GOOD_SHARE]
    return min(times, default=math.inf), GOOD_SHARE in words


def duration(text: str) -> float:
    """Return the seconds of "30s", "5min" or "2h". Raises ValueError for anything else."""
    number = text.rstrip("abcdefghijklmnopqrstuvwxyz")
    unit = {"s": 1.0, "min": 60.0, "h": 3600.0}.get(text[len(number) :])
    try:
        seconds = float(number) * (unit or math.nan)
    except ValueError:
        seconds = math.nan
    if not 0.0 < seconds < math.inf:
        raise ValueError(f"'{text}': a time with its unit, such as 30s, 5min or 2h")
    return seconds

"""Heights that keep apart, for labels beside a picture."""

from __future__ import annotations

from collections.abc import Sequence


def spread(wanted: Sequence[float], apart: float, low: float, high: float) -> list[float]:
    """Return places near the `wanted` ones (rising), at least `apart`, between `low` and `high`.

    If there is no room for all, they are `apart`, starting at `low`.
    """
    places = list[float]()
    for want in wanted:
        places.append(max(want, low, *(p + apart for p in places[-1:])))
    limit = max(high, low + apart * (len(wanted) - 1))
    for k in range(len(places) - 1, -1, -1):
        places[k] = min(places[k], limit)
        limit = places[k] - apart
    return places

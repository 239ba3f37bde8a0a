"""The colours of densities: cividis, which reads in grey and to the colour-blind.

Nuñez, Anderton & Renslow, PLoS ONE 13 (2018) e0199239. From few of its 256 colours; between them in
a straight line, each channel is within two of its 255 steps.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

STOPS: Final = {
    0: "00224e",
    19: "00306f",
    21: "003170",
    23: "013271",
    28: "123570",
    34: "1e3a6f",
    52: "36466c",
    84: "565c6d",
    126: "7b7a78",
    147: "8f8a78",
    179: "aea371",
    205: "c9b965",
    219: "d9c55c",
    232: "e7d150",
    243: "f3db42",
    251: "fde334",
    255: "fee838",
}
"""Place among the 256 → colour."""


def colour(share: float) -> str:
    """Return the colour at a share of the scale from 0 to 1, as "#rrggbb"."""
    return "#" + "".join(f"{round(channel):02x}" for channel in _channels(share))


def ink(share: float) -> str:
    """Return "black" or "#fff", whichever reads better on the colour there (WCAG 2's contrast)."""
    light = luminance(_channels(share))
    return "black" if (light + 0.05) / 0.05 >= 1.05 / (light + 0.05) else "#fff"


def luminance(channels: Iterator[float] | list[float]) -> float:
    """Return the relative luminance of red, green and blue (0 to 255), as WCAG 2 defines it."""
    linear = [
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
        for c in (channel / 255 for channel in channels)
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _channels(share: float) -> list[float]:
    at = min(max(share, 0.0), 1.0) * 255
    places = list(STOPS)
    values = [[int(code[k : k + 2], 16) for code in STOPS.values()] for k in (0, 2, 4)]
    return [float(np.interp(at, places, channel)) for channel in values]


@dataclass(frozen=True)
class Scale:
    """The densities (g/cm³) at both ends of the colours."""

    low: float
    high: float

    def share(self, density: float) -> float:
        """Return where a density is on the scale, from 0 to 1."""
        return (density - self.low) / (self.high - self.low) if self.high > self.low else 0.5

    def colour(self, density: float) -> str:
        """Return the colour of a density."""
        return colour(self.share(density))

    def ink(self, density: float) -> str:
        """Return what reads on it."""
        return ink(self.share(density))


def scale_of(densities: list[float]) -> Scale:
    """Return the scale that shows all of some densities, in whole tenths."""
    return Scale(np.floor(min(densities) * 10) / 10, np.ceil(max(densities) * 10) / 10)

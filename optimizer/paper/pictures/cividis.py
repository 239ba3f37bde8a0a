"""The cividis colour map: readable with a colour vision deficiency, and in grey.

From Nuñez, Anderton and Renslow, "Optimizing colormaps with consideration for color vision
deficiency", PLoS ONE 13 (2018) e0199239. Of the 256 steps in plotting libraries only some are
stored; linear interpolation in sRGB between them is within 2/255 in every channel.
"""

from __future__ import annotations

from typing import Final

import numpy as np

STEPS: Final = 255
STOPS: Final = {
    0: 0x00224E,
    19: 0x00306F,
    21: 0x003170,
    23: 0x013271,
    28: 0x123570,
    34: 0x1E3A6F,
    43: 0x2B406D,
    52: 0x36466C,
    66: 0x45506C,
    84: 0x565C6D,
    107: 0x6B6D72,
    126: 0x7B7A78,
    147: 0x8F8A78,
    164: 0x9F9775,
    179: 0xAEA371,
    192: 0xBCAE6C,
    205: 0xC9B965,
    219: 0xD9C55C,
    232: 0xE7D150,
    243: 0xF3DB42,
    251: 0xFDE334,
    255: 0xFEE838,
}
"""Step, of 255, and its colour."""
SHARES: Final = tuple(step / STEPS for step in STOPS)
"""The positions of the stops, from 0 to 1."""
CHANNELS: Final = tuple(tuple(rgb >> shift & 255 for rgb in STOPS.values()) for shift in (16, 8, 0))


def colour(share: float) -> str:
    """Return the colour at `share`, 0 (dark blue) to 1 (light yellow), as "#rrggbb".

    >>> colour(0.0), colour(1.0)
    ('#00224e', '#fee838')
    """
    return "#" + "".join(f"{channel:02x}" for channel in _rgb(share))


def ink(share: float) -> str:
    """Return black or white, whichever has more contrast (4.5 : 1 at least) to a share's colour.

    >>> ink(0.0), ink(1.0)
    ('#fff', '#000')
    """
    light = luminance(share)
    return "#000" if (light + 0.05) / 0.05 > 1.05 / (light + 0.05) else "#fff"


def luminance(share: float) -> float:
    """Return the relative luminance of the colour at `share` (WCAG 2.2), 0 black to 1 white."""
    linear = (
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
        for c in (channel / 255 for channel in _rgb(share))
    )
    return sum(k * c for k, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def _rgb(share: float) -> tuple[int, ...]:
    return tuple(round(float(np.interp(share, SHARES, channel))) for channel in CHANNELS)

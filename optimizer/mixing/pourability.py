"""How a mix thickens with the solids in it, and the inverse: Krieger and Dougherty.

η_r = (1 − φ/φm)^(−[η]φm), φ the volume fraction of solids, φm that at which flow stops
(`packing`), [η] the intrinsic viscosity (2.5 for spheres, more for other grains). Source: Krieger
and Dougherty, Trans. Soc. Rheol. 3 (1959) 137, restated in Entropy 23 (2021) 979, table 6.
"""

from __future__ import annotations

import math

PACKING, INTRINSIC = 0.64, 2.5
"""φm of spheres of one size, packed at random, and [η] of spheres (same source)."""

MOST_VISCOSITY, MOST_LOADING = 1e4, 0.9
"""Larger numbers are mistakes: pitch no longer pours, and no grains pack so closely."""


def viscosity_at(solids: float, packing: float, intrinsic: float) -> float:
    """Return the viscosity relative to the resin's; infinite at `packing` and above."""
    if solids >= packing:
        return math.inf
    return float((1.0 - solids / packing) ** (-intrinsic * packing))


def loading_at(viscosity: float, packing: float, intrinsic: float) -> float:
    """Return the volume fraction of solids at which a mix has a relative viscosity ≥ 1.

    >>> round(loading_at(viscosity_at(0.4, 0.64, 2.5), 0.64, 2.5), 12)
    0.4
    """
    return float(packing * (1.0 - viscosity ** (-1.0 / (intrinsic * packing))))

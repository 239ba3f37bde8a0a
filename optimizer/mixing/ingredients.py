"""What a pour is mixed from."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Ingredient:
    """A resin (as mixed with its hardener, liquid) or a filler: g/cm³, and a price per kg.

    `source` says where the density comes from.
    """

    name: str
    density: float
    price: float | None = None
    source: str = ""

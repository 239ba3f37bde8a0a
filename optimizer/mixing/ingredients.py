"""The ingredients of a pour, and the shipped table of them, shared/reference/ingredients.toml."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from shared.reference import table

Kind = Literal["resin", "filler"]


@dataclass(frozen=True)
class Ingredient:
    """A resin (as mixed with its hardener, liquid) or a filler: g/cm³, and a price per kg.

    `source` says where the density comes from. `kind` is None for the shop's own ingredients.
    """

    name: str
    density: float
    price: float | None = None
    source: str = ""
    kind: Kind | None = None


def shipped() -> dict[str, Ingredient]:
    """Return the ingredients of the shipped table by name, without prices."""
    return {
        name: Ingredient(
            name, row["density"], source=f"{row['source']} ({row['grade']})", kind=row["kind"]
        )
        for name, row in table("ingredients").items()
    }

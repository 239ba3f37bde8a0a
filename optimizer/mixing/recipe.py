"""A recipe: one resin, some fillers, and the densities that can be poured with them.

Volumes add: of cured, void-free material ρ = Σ φᵢρᵢ, the resin at its cured density
ρ_liquid / (1 − s). A casting holds a volume fraction v of voids, wet and cured alike.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from optimizer.mixing.ingredients import Ingredient
from shared.arrays import Array


@dataclass(frozen=True)
class End:
    """The least or the greatest density of a recipe, g/cm³, and in words what stops it there."""

    density: float
    because: str


@dataclass(frozen=True)
class Recipe:
    """Resin and fillers (heavy ones first, as in the file), and what may be mixed of them.

    `void` is a fraction of the casting's volume, `shrinkage` s one of the liquid resin's. At most
    `loading` of the wet mix's volume may be solids; where the shop names a relative viscosity,
    that follows from it, from `packing` (φm) and `intrinsic` ([η]).
    """

    resin: Ingredient
    fillers: tuple[Ingredient, ...]
    loading: float
    void: float = 0.0
    shrinkage: float = 0.0
    packing: float | None = None
    intrinsic: float = 2.5

    @property
    def ends(self) -> tuple[End, End]:
        """The least and the greatest density that can be poured."""
        raise NotImplementedError

    def mix(self, density: float) -> Mix:
        """Return what to weigh for a cast density (g/cm³): least filler, or least cost.

        Raises ValueError for a density beyond the ends.
        """
        raise NotImplementedError

    def weighed(self, masses: Sequence[float]) -> Mix:
        """Return what comes of masses (resin first, then the fillers; any one unit)."""
        raise NotImplementedError


@dataclass(frozen=True, eq=False)
class Mix:
    """A recipe mixed: `shares` (1 + fillers,) are mass fractions, resin first; they add up to 1."""

    recipe: Recipe
    shares: Array

    @property
    def theoretical(self) -> float:
        """Density of the cured material without voids, g/cm³ (ASTM D2734)."""
        raise NotImplementedError

    @property
    def density(self) -> float:
        """Density as cast, voids and all, g/cm³."""
        raise NotImplementedError

    @property
    def wet(self) -> float:
        """Density of the liquid mix as poured, g/cm³."""
        raise NotImplementedError

    @property
    def swell(self) -> float:
        """Volume of the wet mix over that of the casting it becomes: 1 without shrinkage."""
        raise NotImplementedError

    @property
    def solids(self) -> float:
        """Volume fraction of solids in the wet, void-free mix."""
        raise NotImplementedError

    @property
    def viscosity(self) -> float | None:
        """Viscosity relative to the resin's (Krieger and Dougherty), where φm is known."""
        raise NotImplementedError

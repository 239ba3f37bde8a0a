"""A mix by a recipe: what is weighed, and what it is like as a liquid and as cast."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from optimizer.mixing.pourability import viscosity_at
from shared.arrays import Array

if TYPE_CHECKING:  # a recipe makes mixes
    from optimizer.mixing.recipe import Recipe


@dataclass(frozen=True, eq=False)
class Mix:
    """A mix by a recipe: `shares` (stocks + fillers,) are mass fractions of sum 1."""

    recipe: Recipe
    shares: Array

    @property
    def parts(self) -> Array:
        """Parts by weight for 100 of resin (stocks + fillers,)."""
        return np.asarray(100.0 * self.shares / np.sum(self.stocks))

    @property
    def stocks(self) -> Array:
        """Mass fractions of the stocks (stocks,)."""
        return self.shares[: len(self.recipe.stocks)]

    @property
    def share(self) -> float:
        """The part of the resin's mass that is the first stock."""
        return float(self.stocks[0] / np.sum(self.stocks))

    @property
    def theoretical(self) -> float:
        """Density of the cured material without voids, g/cm³ (ASTM D2734)."""
        return float(1.0 / np.sum(self.shares / self.recipe.cast))

    @property
    def density(self) -> float:
        """Density as cast, voids included, g/cm³."""
        return (1.0 - self.recipe.void) * self.theoretical

    @property
    def wet(self) -> float:
        """Density of the liquid mix as poured, voids included, g/cm³."""
        return (1.0 - self.recipe.void) / self._liquid

    @property
    def swell(self) -> float:
        """Volume of the wet mix over that of the casting: 1 without shrinkage."""
        return self.theoretical * self._liquid

    @property
    def solids(self) -> float:
        """Volume fraction of solids in the wet, void-free mix."""
        return self._solid / self._liquid

    @property
    def viscosity(self) -> float | None:
        """Viscosity relative to the resin's (Krieger and Dougherty), if φm is known."""
        packing, intrinsic = self.recipe.packing, self.recipe.intrinsic
        return None if packing is None else viscosity_at(self.solids, packing, intrinsic)

    @property
    def price(self) -> float | None:
        """Price per kg of the mix, if every ingredient has one."""
        prices = self.recipe.prices
        return None if prices is None else float(self.shares @ prices)

    @property
    def _solid(self) -> float:
        """Volume of the fillers in a gram, cm³."""
        resin = len(self.recipe.stocks)
        return float(np.sum(self.shares[resin:] / self.recipe.cast[resin:]))

    @property
    def _liquid(self) -> float:
        """Volume of a gram of the wet, void-free mix, cm³."""
        stocks = zip(self.stocks, self.recipe.stocks, strict=True)
        return sum(float(share) / stock.density for share, stock in stocks) + self._solid

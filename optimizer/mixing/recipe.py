"""A recipe: one resin, some fillers, and the densities that can be poured with them.

Volumes add: of cured, void-free material ρ = Σ φᵢρᵢ, the resin at its cured density
ρ_liquid / (1 − s). A casting holds a volume fraction v of voids, wet and cured alike.

The wet mix of a cured volume 1 with solids F = Σ φ_f has the volume (1 − F)/(1 − s) + F, so a
loading of at most L in the wet mix bounds F in the cured one: F ≤ L / ((1 − L)(1 − s) + L).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from optimizer.mixing.ingredients import Ingredient
from optimizer.mixing.pourability import INTRINSIC, loading_at, viscosity_at
from shared.arrays import Array, frozen

ROUNDING = 1e-9
"""Volume fraction by which rounding may put a density outside the range."""
SAME = 1e-12
"""g/cm³: a density this close to the resin's is the resin's."""


@dataclass(frozen=True)
class End:
    """The least or the greatest density of a recipe, g/cm³, and the reason in words.

    `filler` is the one at the greatest loading there; None for the resin alone.
    """

    density: float
    because: str
    filler: Ingredient | None = None


@dataclass(frozen=True)
class Recipe:
    """Resin and fillers (heavy ones first, as in the file), and the bounds on their mixes.

    `void` is a fraction of the casting's volume, `shrinkage` s one of the liquid resin's. At most
    `loading` of the wet mix's volume may be solids. If the shop names a relative `viscosity`
    instead, `loading` follows from it, `packing` (φm) and `intrinsic` ([η]).

    Raises ValueError for a viscosity without a packing.
    """

    resin: Ingredient
    fillers: tuple[Ingredient, ...]
    loading: float
    void: float = 0.0
    shrinkage: float = 0.0
    packing: float | None = None
    intrinsic: float = INTRINSIC
    viscosity: float | None = None

    def __post_init__(self) -> None:
        if self.viscosity is not None and self.packing is None:
            raise ValueError("a viscosity gives no loading without a packing")

    @property
    def ingredients(self) -> tuple[Ingredient, ...]:
        """The resin and the fillers, in the order they are weighed."""
        return (self.resin, *self.fillers)

    @property
    def prices(self) -> Array | None:
        """The prices per kg of the ingredients, in their order, if each has one."""
        prices = [ingredient.price for ingredient in self.ingredients]
        return None if None in prices else np.array(prices, dtype=float)

    @property
    def cured(self) -> float:
        """Density of the cured resin alone, without voids, g/cm³."""
        return self.resin.density / (1.0 - self.shrinkage)

    @property
    def most_filler(self) -> float:
        """The greatest volume fraction of fillers in the cured, void-free material."""
        wet_resin = (1.0 - self.loading) * (1.0 - self.shrinkage)
        return self.loading / (wet_resin + self.loading)

    @property
    def limit(self) -> float:
        """The limit that the shop names: the greatest viscosity, or else the greatest loading."""
        return self.loading if self.viscosity is None else self.viscosity

    def limited(self, limit: float) -> Recipe:
        """Return the recipe with this limit instead."""
        if self.viscosity is None or self.packing is None:
            return replace(self, loading=limit)
        loading = loading_at(limit, self.packing, self.intrinsic)
        return replace(self, loading=loading, viscosity=limit)

    def limit_for(self, most_filler: float) -> float:
        """Return the limit that allows this fraction of fillers: the inverse of `most_filler`."""
        loading = most_filler / ((1.0 - most_filler) / (1.0 - self.shrinkage) + most_filler)
        if self.viscosity is None or self.packing is None:
            return loading
        return viscosity_at(loading, self.packing, self.intrinsic)

    @cached_property
    def ends(self) -> tuple[End, End]:
        """The least and the greatest density that can be poured.

        The lightest (heaviest) filler at the greatest loading; the resin alone where no filler is
        lighter (heavier) than it is.
        """
        return self._end(-1.0), self._end(1.0)

    def rate(self, end: End) -> float:
        """Return how fast an end moves outward with `most_filler`, g/cm³: 0 for the resin alone."""
        gain = 0.0 if end.filler is None else abs(end.filler.density - self.cured)
        return (1.0 - self.void) * gain

    def mix(self, density: float) -> Mix:
        """Return what to weigh for a cast density (g/cm³): least filler, or least cost.

        Least cost if every ingredient has a price; of equals, the one whose fillers come first.
        This is a linear program in the fillers' volumes with two rows (the density, the loading),
        so one of the mixes with at most two fillers is best, and all are tried. Raises ValueError
        for a density beyond the ends.
        """
        mixes = list(self._corners(density / (1.0 - self.void) - self.cured))
        if not mixes:
            low, high = (end.density for end in self.ends)
            raise ValueError(f"{density} g/cm³ is beyond {low} to {high}, what can be poured")
        masses = [self._masses(volumes) for volumes in mixes]
        prices = self.prices
        costs = np.sum(mixes, axis=1) if prices is None else np.array(masses) @ prices
        best = int(np.flatnonzero(costs <= np.min(costs) + ROUNDING * np.max(costs))[0])
        return self.weighed(masses[best].tolist())

    def weighed(self, masses: Sequence[float]) -> Mix:
        """Return the mix of these masses (resin first, then the fillers; any one unit).

        Raises ValueError for a wrong number of masses, a negative one, or no resin.
        """
        weights = np.asarray(masses, dtype=float)
        if weights.shape != (1 + len(self.fillers),):
            raise ValueError(f"{len(masses)} masses for {1 + len(self.fillers)} ingredients")
        if not (np.all(np.isfinite(weights)) and np.all(weights >= 0.0) and weights[0] > 0.0):
            raise ValueError(f"masses must be 0 or more, the resin's more than 0: {weights}")
        return Mix(self, frozen(weights / np.sum(weights)))

    def _end(self, side: float) -> End:
        reach = [side * (ingredient.density - self.cured) for ingredient in self.fillers]
        if self.loading == 0.0 or max(reach, default=0.0) <= 0.0:
            return End((1.0 - self.void) * self.cured, f"{self.resin.name} alone")
        most = self.fillers[reach.index(max(reach))]
        solid = self.cured + self.most_filler * (most.density - self.cured)
        which = "given" if self.viscosity is None else "the viscosity allows"
        because = f"{most.name} at the loading {which} ({self.loading:.2f} by volume)"
        return End((1.0 - self.void) * solid, because, most)

    def _corners(self, gain: float) -> Iterator[Array]:
        """Yield the fillers' volumes in mixes that are `gain` denser than the resin, void-free.

        The resin alone or with one filler, then with two at the greatest loading, in file order.
        """
        most, over = self.most_filler, [filler.density - self.cured for filler in self.fillers]
        only = np.eye(len(self.fillers))
        if abs(gain) <= SAME:
            yield np.zeros(len(self.fillers))
        for i, own in enumerate(over):
            part = gain / own if own else -1.0
            if 0.0 <= part <= most + ROUNDING:
                yield part * only[i]
        for i, j in itertools.combinations(range(len(over)), 2):
            if over[i] != over[j]:
                part = (gain - most * over[j]) / (over[i] - over[j])
                if 0.0 <= part <= most:
                    yield part * only[i] + (most - part) * only[j]

    def _masses(self, volumes: Array) -> Array:
        """Return the masses in a unit cured volume with these volumes of fillers."""
        resin = (1.0 - np.sum(volumes)) * self.cured
        return np.array([resin, *(volumes * [ingredient.density for ingredient in self.fillers])])


@dataclass(frozen=True, eq=False)
class Mix:
    """A mix by a recipe: `shares` (1 + fillers,) are mass fractions, resin first, of sum 1."""

    recipe: Recipe
    shares: Array

    @property
    def parts(self) -> Array:
        """Parts by weight for 100 of resin (1 + fillers,)."""
        return np.asarray(100.0 * self.shares / self.shares[0])

    @property
    def theoretical(self) -> float:
        """Density of the cured material without voids, g/cm³ (ASTM D2734)."""
        return 1.0 / (float(self.shares[0]) / self.recipe.cured + self._solid)

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
        shares = zip(self.shares[1:], self.recipe.fillers, strict=True)
        return sum(float(share) / filler.density for share, filler in shares)

    @property
    def _liquid(self) -> float:
        """Volume of a gram of the wet, void-free mix, cm³."""
        return float(self.shares[0]) / self.recipe.resin.density + self._solid

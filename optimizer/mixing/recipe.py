"""A recipe: one resin, some fillers, and the densities that can be poured with them.

Volumes add: of cured, void-free material ρ = Σ φᵢρᵢ, the resin at its cured density
ρ_liquid / (1 − s). A casting holds a volume fraction v of voids, wet and cured alike.

The wet mix of a cured volume 1 with solids F = Σ φ_f has the volume (1 − F)/(1 − s) + F, so that
solids of at most L in the wet mix are F ≤ L / ((1 − L)(1 − s) + L) in the cured one: a bound on F.
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
"""Volume fraction: a density at an end of the range, as computed, is at the end."""
SAME = 1e-12
"""g/cm³: a density this near to the resin's own is the resin's own."""


@dataclass(frozen=True)
class End:
    """The least or the greatest density of a recipe, g/cm³, and in words what stops it there.

    `filler` is the one that is at the greatest loading there; None where the resin is alone.
    """

    density: float
    because: str
    filler: Ingredient | None = None


@dataclass(frozen=True)
class Recipe:
    """Resin and fillers (heavy ones first, as in the file), and what may be mixed of them.

    `void` is a fraction of the casting's volume, `shrinkage` s one of the liquid resin's. At most
    `loading` of the wet mix's volume may be solids. Where the shop names a relative `viscosity`
    instead, `loading` is what follows from it, from `packing` (φm) and `intrinsic` ([η]).

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
            raise ValueError("a viscosity says nothing of the loading without a packing")

    @property
    def ingredients(self) -> tuple[Ingredient, ...]:
        """What is weighed, in this order."""
        return (self.resin, *self.fillers)

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
        """What the shop names: the greatest viscosity, or else the greatest loading."""
        return self.loading if self.viscosity is None else self.viscosity

    def limited(self, limit: float) -> Recipe:
        """Return the same recipe with another such limit."""
        if self.viscosity is None or self.packing is None:
            return replace(self, loading=limit)
        loading = loading_at(limit, self.packing, self.intrinsic)
        return replace(self, loading=loading, viscosity=limit)

    def limit_for(self, most_filler: float) -> float:
        """Return the limit that would allow this fraction of fillers: `most_filler` backwards."""
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
        """Return how fast an end moves away with `most_filler`, g/cm³: 0 for the resin alone."""
        gain = 0.0 if end.filler is None else abs(end.filler.density - self.cured)
        return (1.0 - self.void) * gain

    def mix(self, density: float) -> Mix:
        """Return what to weigh for a cast density (g/cm³): least filler, or least cost.

        Cost where every ingredient has a price. Of equals, the one whose fillers come first. A
        linear program in the fillers' volumes with two rows (the density, the loading): one of
        the mixes with at most two fillers is best, so they are all looked at. Raises ValueError for
        a density beyond the ends.
        """
        mixes = list(self._corners(density / (1.0 - self.void) - self.cured))
        if not mixes:
            low, high = (end.density for end in self.ends)
            raise ValueError(f"{density} g/cm³ is beyond {low} to {high}, what can be poured")
        masses = [self._masses(volumes) for volumes in mixes]
        prices = [ingredient.price for ingredient in self.ingredients]
        if None in prices:
            costs = np.array([np.sum(volumes) for volumes in mixes])
        else:
            costs = np.array(masses) @ np.array(prices, dtype=float)
        best = int(np.flatnonzero(costs <= np.min(costs) + ROUNDING * np.max(costs))[0])
        return self.weighed(masses[best].tolist())

    def weighed(self, masses: Sequence[float]) -> Mix:
        """Return what comes of masses (resin first, then the fillers; any one unit).

        Raises ValueError for another count of masses, a negative one, or one without resin.
        """
        found = np.asarray(masses, dtype=float)
        if found.shape != (1 + len(self.fillers),):
            raise ValueError(f"{len(masses)} masses for {1 + len(self.fillers)} ingredients")
        if not (np.all(np.isfinite(found)) and np.all(found >= 0.0) and found[0] > 0.0):
            raise ValueError(f"masses must be 0 or more, the resin's more than 0: {found}")
        return Mix(self, frozen(found / np.sum(found)))

    def _end(self, side: float) -> End:
        reach = [side * (ingredient.density - self.cured) for ingredient in self.fillers]
        if self.loading == 0.0 or max(reach, default=0.0) <= 0.0:
            return End((1.0 - self.void) * self.cured, f"{self.resin.name} alone")
        most = self.fillers[reach.index(max(reach))]
        solid = self.cured + self.most_filler * (most.density - self.cured)
        whose = (
            "the loading given" if self.viscosity is None else "the loading the viscosity allows"
        )
        because = f"{most.name} at {whose} ({self.loading:.2f} by volume)"
        return End((1.0 - self.void) * solid, because, most)

    def _corners(self, gain: float) -> Iterator[Array]:
        """Yield the fillers' volumes in mixes that are `gain` denser than the resin, void-free.

        The resin alone or with one filler, then with two at the greatest loading: in file order.
        """
        most, over = (
            self.most_filler,
            [ingredient.density - self.cured for ingredient in self.fillers],
        )
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
        """Return the masses in a cured volume 1 with these volumes of fillers."""
        resin = (1.0 - np.sum(volumes)) * self.cured
        return np.array([resin, *(volumes * [ingredient.density for ingredient in self.fillers])])


@dataclass(frozen=True, eq=False)
class Mix:
    """A recipe mixed: `shares` (1 + fillers,) are mass fractions, resin first; they add up to 1."""

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
        """Density as cast, voids and all, g/cm³."""
        return (1.0 - self.recipe.void) * self.theoretical

    @property
    def wet(self) -> float:
        """Density of the liquid mix as poured, voids and all, g/cm³."""
        return (1.0 - self.recipe.void) / self._liquid

    @property
    def swell(self) -> float:
        """Volume of the wet mix over that of the casting it becomes: 1 without shrinkage."""
        return self.theoretical * self._liquid

    @property
    def solids(self) -> float:
        """Volume fraction of solids in the wet, void-free mix."""
        return self._solid / self._liquid

    @property
    def viscosity(self) -> float | None:
        """Viscosity relative to the resin's (Krieger and Dougherty), where φm is known."""
        packing = self.recipe.packing
        return (
            None if packing is None else viscosity_at(self.solids, packing, self.recipe.intrinsic)
        )

    @property
    def price(self) -> float | None:
        """Price per kg of the mix, where every ingredient has one."""
        prices = [ingredient.price for ingredient in self.recipe.ingredients]
        return None if None in prices else float(self.shares @ np.array(prices, dtype=float))

    @property
    def _solid(self) -> float:
        """Volume of the fillers in a gram, cm³."""
        return sum(
            float(share) / ingredient.density
            for share, ingredient in zip(self.shares[1:], self.recipe.fillers, strict=True)
        )

    @property
    def _liquid(self) -> float:
        """Volume of a gram of the wet, void-free mix, cm³."""
        return float(self.shares[0]) / self.recipe.resin.density + self._solid

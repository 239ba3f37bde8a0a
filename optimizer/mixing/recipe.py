"""A recipe: a resin or a blend of two, some fillers, and the densities that can be poured.

Volumes add: of cured, void-free material ρ = Σ φᵢρᵢ, a resin at its cured density
ρ_liquid / (1 − s). A casting holds a volume fraction v of voids, wet and cured alike. Of a blend
whose first stock is a share w of the liquid's mass, 1/ρ_liquid = w/ρ₁ + (1 − w)/ρ₂.

The wet mix of a cured volume 1 with solids F = Σ φ_f has the volume (1 − F)/(1 − s) + F, so a
loading of at most L in the wet mix bounds F in the cured one: F ≤ L / ((1 − L)(1 − s) + L).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from optimizer.mixing.ingredients import Ingredient
from optimizer.mixing.mix import Mix
from optimizer.mixing.pourability import INTRINSIC, loading_at, viscosity_at
from shared.arrays import Array, frozen

ROUNDING = 1e-9
"""Volume fraction by which rounding may put a density outside the range."""
SAME = 1e-12
"""g/cm³: a density this close to the resin's is the resin's."""


@dataclass(frozen=True)
class End:
    """The least or the greatest density of a recipe, g/cm³, and the reason in words.

    `cured` is the density of the cured resin there, `filler` the one at the greatest loading; None
    for the resin alone.
    """

    density: float
    because: str
    cured: float
    filler: Ingredient | None = None


@dataclass(frozen=True)
class Recipe:
    """Resin and fillers (heavy ones first, as in the file), and the bounds on their mixes.

    With a `second` stock the resin is a blend, and `share` has the least and the greatest part of
    the liquid's mass that is `resin`.

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
    second: Ingredient | None = None
    share: tuple[float, float] = (1.0, 1.0)

    def __post_init__(self) -> None:
        if self.viscosity is not None and self.packing is None:
            raise ValueError("a viscosity gives no loading without a packing")

    @property
    def stocks(self) -> tuple[Ingredient, ...]:
        """The resins: one, or the two that are blended."""
        return (self.resin,) if self.second is None else (self.resin, self.second)

    @property
    def ingredients(self) -> tuple[Ingredient, ...]:
        """The stocks and the fillers, in the order they are weighed."""
        return (*self.stocks, *self.fillers)

    @cached_property
    def cast(self) -> Array:
        """The ingredients' densities in a casting without voids: stocks cured, g/cm³."""
        stocks = [stock.density / (1.0 - self.shrinkage) for stock in self.stocks]
        return np.array([*stocks, *(filler.density for filler in self.fillers)])

    @property
    def prices(self) -> Array | None:
        """The prices per kg of the ingredients, in their order, if each has one."""
        prices = [ingredient.price for ingredient in self.ingredients]
        return None if None in prices else np.array(prices, dtype=float)

    @property
    def blended(self) -> bool:
        """Whether the share of the stocks is free."""
        return self.second is not None and self.share[0] < self.share[1]

    @property
    def cured(self) -> tuple[float, float]:
        """The least and the greatest density of the cured resin alone, without voids, g/cm³."""
        first, second = map(self.cured_at, self.share)
        return min(first, second), max(first, second)

    def cured_at(self, share: float) -> float:
        """Return the density of the cured resin with this share of the first stock, g/cm³."""
        return float(1.0 / np.sum(self._split(share) / self.cast[: len(self.stocks)]))

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

        The lightest (heaviest) filler at the greatest loading, in the lightest (heaviest) blend;
        the resin alone where no filler is lighter (heavier) than it is.
        """
        return self._end(-1.0), self._end(1.0)

    def rate(self, end: End) -> float:
        """Return how fast an end moves outward with `most_filler`, g/cm³: 0 for the resin alone."""
        gain = 0.0 if end.filler is None else abs(end.filler.density - end.cured)
        return (1.0 - self.void) * gain

    def mix(self, density: float) -> Mix:
        """Return what to weigh for a cast density (g/cm³): least filler, or least cost.

        Least cost if every ingredient has a price; of equals, the one whose fillers come first.
        A blend's share is the one nearest the middle of its bounds with which there is a mix. The
        rest is a linear program in the fillers' volumes with two rows (the density, the loading),
        so one of the mixes with at most two fillers is best, and all are tried. Raises ValueError
        for a density beyond the ends.
        """
        share = self.share_for([density])
        mixes = list(self._corners(density / (1.0 - self.void), self.cured_at(share)))
        if not mixes:
            low, high = (end.density for end in self.ends)
            raise ValueError(f"{density} g/cm³ is beyond {low} to {high}, what can be poured")
        masses = [self._masses(volumes, share) for volumes in mixes]
        prices = self.prices
        costs = np.sum(mixes, axis=1) if prices is None else np.array(masses) @ prices
        best = int(np.flatnonzero(costs <= np.min(costs) + ROUNDING * np.max(costs))[0])
        return self.weighed(masses[best].tolist())

    def weighed(self, masses: Sequence[float]) -> Mix:
        """Return the mix of these masses (stocks first, then the fillers; any one unit).

        Raises ValueError for a wrong number of masses, a negative one, or no resin.
        """
        weights = np.asarray(masses, dtype=float)
        if weights.shape != (len(self.ingredients),):
            raise ValueError(f"{len(masses)} masses for {len(self.ingredients)} ingredients")
        sound = np.all(np.isfinite(weights) & (weights >= 0.0))
        if not (sound and np.any(weights[: len(self.stocks)])):
            raise ValueError(f"masses must be 0 or more, the resin's more than 0: {weights}")
        return Mix(self, frozen(weights / np.sum(weights)))

    def _end(self, side: float) -> End:
        cured, share = max(((self.cured_at(w), w) for w in self.share), key=lambda at: side * at[0])
        reach = [side * (ingredient.density - cured) for ingredient in self.fillers]
        if self.loading == 0.0 or max(reach, default=0.0) <= 0.0:
            return End((1.0 - self.void) * cured, f"{self._words(share)} alone", cured)
        most = self.fillers[reach.index(max(reach))]
        solid = cured + self.most_filler * (most.density - cured)
        which = "given" if self.viscosity is None else "the viscosity allows"
        because = f"{most.name} at the loading {which} ({self.loading:.2f} by volume)"
        because += f" in {self._words(share)}" if self.blended else ""
        return End((1.0 - self.void) * solid, because, cured, most)

    def _words(self, share: float) -> str:
        """Return the resin in words."""
        if self.second is None:
            return self.resin.name
        parts = f"{100 * share:.4g} : {100 * (1 - share):.4g} by mass"
        return f"{self.resin.name} and {self.second.name} ({parts})"

    def _split(self, share: float) -> Array:
        """Return the stocks' parts of the resin's mass (stocks,)."""
        return np.array([share, 1.0 - share][: len(self.stocks)])

    def share_for(self, densities: Iterable[float]) -> float:
        """Return the share nearest the middle of its bounds with which all densities can be mixed.

        If there is none, one that is between those that they need. The greatest density of a mix
        rises with the cured resin's, and so does the least: each is the resin's own, or that with
        an outermost filler at the greatest loading.
        """
        middle, F = sum(self.share) / 2, self.most_filler
        if self.cured[0] == self.cured[1]:
            return middle
        fillers = [filler.density for filler in self.fillers if self.loading]
        solids = [density / (1.0 - self.void) for density in densities]
        every = [[x, *((x - F * filler) / (1.0 - F) for filler in fillers)] for x in solids]
        least, most = max(map(min, every)), min(map(max, every))
        asked = self.cured_at(middle)
        if least <= asked <= most:
            return middle
        cured = min(max(asked, least), most) if least <= most else (least + most) / 2
        a, b = 1.0 / self.cast[:2]
        return float(np.clip((1.0 / cured - b) / (a - b), *self.share))

    def _corners(self, solid: float, cured: float) -> Iterator[Array]:
        """Yield the fillers' volumes in mixes of a void-free density in a resin, cured.

        The resin alone or with one filler, then with two at the greatest loading, in file order.
        """
        most, over = self.most_filler, [filler.density - cured for filler in self.fillers]
        gain = solid - cured
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

    def _masses(self, volumes: Array, share: float) -> Array:
        """Return the masses in a unit cured volume with these volumes of fillers."""
        resin = (1.0 - np.sum(volumes)) * self.cured_at(share)
        return np.array([*(resin * self._split(share)), *(volumes * self.cast[len(self.stocks) :])])

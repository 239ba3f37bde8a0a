"""What is weighed together for one pour, as the shop's scales show it, and what comes of that."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from optimizer.foundry.rounding import rounded
from optimizer.foundry.shop import Shop
from optimizer.foundry.worksheet import DIGITS
from optimizer.linear.maps import Pour
from optimizer.mixing import Mix
from shared.arrays import Array
from shared.errors import InputError

PARTS_DIGITS = 2
"""Decimals of the parts by weight."""
THICK = 5e-4
"""Volume fraction of solids beyond what is allowed that no pour would show."""
FINER = "use a finer scale, or mix for more balls at a time"
LARGER = 1.1
"""How much larger than needed a batch may be so that its ingredients are whole steps of a scale."""


@dataclass(frozen=True)
class Line:
    """One line to weigh out: g, ± g, and parts by weight to 100 of resin (None of a ready mix)."""

    ingredient: str
    grams: Decimal
    within: Decimal
    parts: Decimal | None


@dataclass(frozen=True, eq=False)
class Batch:
    """So much of one mix, to be mixed `count` times, each for up to `balls` balls.

    `density` is what comes of the masses as weighed, g/cm³; without a recipe (`mix` is None), what
    was asked for.
    """

    lines: tuple[Line, ...]
    count: int
    balls: int
    density: Decimal
    mix: Mix | None

    @property
    def grams(self) -> Decimal:
        """The whole batch."""
        return sum((line.grams for line in self.lines), Decimal(0))

    @property
    def wet(self) -> float:
        """Density of the liquid, g/cm³; without a recipe, that of the casting."""
        return float(self.density) if self.mix is None else self.mix.wet

    @property
    def swell(self) -> float:
        """Volume of the liquid over that of the casting."""
        return 1.0 if self.mix is None else self.mix.swell

    @property
    def rates(self) -> Array:
        """How the density moves with the mass of each line, g/cm³ per g, (lines,)."""
        if self.mix is None:
            return np.zeros(len(self.lines))
        recipe = self.mix.recipe
        cured = [recipe.cured, *(one.density for one in recipe.fillers)]
        named = {one.name: own for one, own in zip(recipe.ingredients, cured, strict=True)}
        own = np.array([named[line.ingredient] for line in self.lines])
        total, solid = float(self.grams), self.mix.theoretical
        return np.asarray(self.mix.density / total * (1.0 - solid / own))


def batch(pour: Pour, density: float, grams: float, shop: Shop, balls: int) -> Batch:
    """Return the batches for `balls` castings of so many `grams` each at a density (g/cm³).

    Raises InputError where the mixer does not hold one casting's.
    """
    recipe, scales = pour.recipe, shop.scales
    mix = None if recipe is None else recipe.mix(density)
    wet = grams / (density if mix is None else mix.wet) / (1.0 - shop.text.waste)
    each, count = _shared(pour, wet, shop, balls)
    whole = each * grams / (1.0 - shop.text.waste)
    if recipe is None or mix is None:
        only = Line(pour.material, *scales.weighed(whole), None)
        return Batch((only,), count, each, rounded(density, DIGITS["density"]), None)
    most = LARGER if shop.room is None else min(LARGER, shop.room / (each * wet))
    amounts = _amounts(pour, mix, whole, most, shop)
    resin = amounts[0][0]
    lines = tuple(
        Line(one.name, mass, within, rounded(100 * mass / resin, PARTS_DIGITS))
        for one, (mass, within) in zip(recipe.ingredients, amounts, strict=True)
        if mass
    )
    weighed = recipe.weighed([float(mass) for mass, _ in amounts])
    return Batch(lines, count, each, rounded(weighed.density, DIGITS["density"]), weighed)


def _amounts(
    pour: Pour, mix: Mix, grams: float, most: float, shop: Shop
) -> list[tuple[Decimal, Decimal]]:
    """Return what to weigh of each ingredient, and ± within what, for at least so many grams.

    A scale's step may be much of a little ingredient. So besides the batch as it comes, batches are
    tried that are larger, `most` times at the most, by what makes some ingredient whole steps of
    its scale: of those that pour, the one counts that comes nearest to the density, the smaller of
    equals. Raises InputError where the scale shows nothing of the resin.
    """
    scales = shop.scales
    exact = [grams * share for share in mix.shares.tolist()]
    sizes = [min(1.0, most)]
    for mass in filter(None, exact):
        step = float(scales.step(mass))
        sizes += [size for n in range(3) if (size := step * (mass // step + n) / mass) > 1.0]
    tried = (
        [scales.weighed(size * mass) for mass in exact] for size in sorted(sizes) if size <= most
    )
    batches = [amounts for amounts in tried if amounts[0][0]]
    if not batches:
        resin = f"{exact[0]:.3g} g of {mix.recipe.resin.name}"
        what = f"is too coarse: it shows nothing of the {resin} in a batch of {pour.part}"
        raise InputError([shop.wrong("scale", what, FINER)])

    def off(amounts: list[tuple[Decimal, Decimal]]) -> tuple[bool, float]:
        made = mix.recipe.weighed([float(mass) for mass, _ in amounts])
        return too_thick(made), round(abs(made.density - mix.density), DIGITS["density"])

    return min(batches, key=off)


def too_thick(mix: Mix) -> bool:
    """Whether a mix as weighed has more solids than its recipe allows, by more than rounding."""
    return mix.solids > mix.recipe.loading + THICK


def _shared(pour: Pour, wet: float, shop: Shop, balls: int) -> tuple[int, int]:
    """Return for how many balls a batch is, and how many batches it takes; `wet` cm³ a ball."""
    most = balls if shop.room is None else min(balls, int(shop.room / wet))
    if most == 0:
        what = f"does not hold the {wet / 1000:.2f} litres that one ball's {pour.part} takes"
        raise InputError([shop.wrong("mixer", what, "put in a larger mixer")])
    count = -(-balls // most)
    return -(-balls // count), count

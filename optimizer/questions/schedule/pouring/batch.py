"""What is weighed together for one pour, as the shop's scales show it, and what comes of that."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from optimizer.ball.sought import Pour
from optimizer.mixing.recipe import Mix
from optimizer.questions.schedule.pouring.scales import as_written
from optimizer.questions.schedule.pouring.shop import Shop
from optimizer.questions.schedule.pouring.worksheet import DIGITS
from shared.arrays import Array
from shared.errors import InputError
from shared.rounding import rounded

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

    `pour` is what one ball takes, g, and `waste` the share of the batch that stays in the mixer.
    `density` is what comes of the masses as weighed, g/cm³, not rounded; without a recipe (`mix` is
    None), what was asked for.
    """

    lines: tuple[Line, ...]
    count: int
    balls: int
    pour: Decimal
    waste: Decimal
    density: float
    mix: Mix | None

    @property
    def grams(self) -> Decimal:
        """The whole batch."""
        return sum((line.grams for line in self.lines), Decimal(0))

    @property
    def needed(self) -> Decimal:
        """What its pours take, with what stays in the mixer, g."""
        return self.balls * self.pour / (1 - self.waste)

    @property
    def spare(self) -> Decimal:
        """How much more than needed it is, g: never less than 0."""
        return self.grams - self.needed

    @property
    def wet(self) -> float:
        """Density of the liquid, g/cm³; without a recipe, that of the casting."""
        return self.density if self.mix is None else self.mix.wet

    @property
    def litres(self) -> float:
        """Volume of the whole batch, liquid."""
        return float(self.grams) / self.wet / 1000

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
        cured = [recipe.cured, *(ingredient.density for ingredient in recipe.fillers)]
        named = {
            ingredient.name: own for ingredient, own in zip(recipe.ingredients, cured, strict=True)
        }
        own = np.array([named[line.ingredient] for line in self.lines])
        total, solid = float(self.grams), self.mix.theoretical
        return np.asarray(self.mix.density / total * (1.0 - solid / own))


def batch(pour: Pour, density: float, volume: float, shop: Shop, balls: int) -> Batch:
    """Return the batches for `balls` castings of a `volume` (cm³, overpoured) at a density (g/cm³).

    Each covers its pours. Raises InputError where the mixer does not hold one casting's, and where
    the scale shows nothing of the resin.
    """
    mix = None if pour.recipe is None else pour.recipe.mix(density)
    wet = volume * density / (density if mix is None else mix.wet) / (1.0 - shop.text.waste)
    most = balls if shop.room is None else min(balls, int(shop.room / wet))
    for limit in range(most, 0, -1):
        count = -(-balls // limit)
        shares = count, -(-balls // count)
        if mix is None:
            tried = [_ready(pour, density, volume, shop, shares)]
        else:
            tried = _mixed(pour.part, mix, volume, shop, shares)
        if held := [one for one in tried if shop.room is None or 1000 * one.litres <= shop.room]:
            return min(held, key=lambda one: _off(one, density))
    what = f"does not hold the {wet / 1000:.2f} litres that one ball's {pour.part} takes"
    raise InputError([shop.wrong("mixer", what, "put in a larger mixer")])


def _off(one: Batch, density: float) -> tuple[bool, float]:
    """Return what is worse of one batch than of another: too thick, further from the density."""
    thick = one.mix is not None and too_thick(one.mix)
    return thick, round(abs(one.density - density), DIGITS["density"])


def _ready(pour: Pour, density: float, volume: float, shop: Shop, shares: tuple[int, int]) -> Batch:
    """Return the batch of a material without a recipe; `shares` are batches, and balls in each."""
    (count, balls), scales, waste = shares, shop.scales, as_written(shop.text.waste)
    poured = scales.enough(volume * density)
    grams = scales.enough(balls * poured / (1 - waste))
    only = Line(pour.material, *scales.weighed(grams), None)
    return Batch((only,), count, balls, poured, waste, density, None)


def _mixed(part: str, mix: Mix, volume: float, shop: Shop, shares: tuple[int, int]) -> list[Batch]:
    """Return batches that cover their pours, the smaller first; `shares` as of `_ready`.

    A scale's step may be much of a little ingredient. So besides the batch as it comes, batches are
    tried that are larger, `LARGER` times at the most: by a step or two of the whole, and by what
    makes some ingredient whole steps of its scale. Where rounding leaves all of them short, there
    is only the least that covers.
    Raises InputError where the scale shows nothing of the resin.
    """
    (count, balls), scales, waste = shares, shop.scales, as_written(shop.text.waste)
    needed = float(balls * scales.enough(volume * mix.density) / (1 - waste))
    exact = [needed * share for share in mix.shares.tolist()]

    def batch_of(size: float) -> Batch | None:
        amounts = [scales.weighed(size * mass) for mass in exact]
        resin = amounts[0][0]
        if not resin:
            return None
        made = mix.recipe.weighed([float(mass) for mass, _ in amounts])
        lines = tuple(
            Line(ingredient.name, mass, within, rounded(100 * mass / resin, PARTS_DIGITS))
            for ingredient, (mass, within) in zip(mix.recipe.ingredients, amounts, strict=True)
            if mass
        )
        poured = scales.enough(volume * made.density)
        return Batch(lines, count, balls, poured, waste, made.density, made)

    growth = float(scales.step(needed)) / needed
    sizes = {1.0 + n * growth for n in range(3)}
    for mass in filter(None, exact):
        step = float(scales.step(mass))
        sizes |= {step * (mass // step + n) / mass for n in range(3)}
    tried = [batch_of(size) for size in sorted(sizes) if 1.0 <= size <= LARGER]
    if not any(tried):
        resin = f"{exact[0]:.3g} g of {mix.recipe.resin.name}"
        what = f"is too coarse: it shows nothing of the {resin} in a batch of {part}"
        raise InputError([shop.wrong("scale", what, FINER)])
    larger = (batch_of(1.0 + n * growth) for n in itertools.count())
    covering = (one for one in tried if one is not None and one.spare >= 0)
    return [*covering] or [next(one for one in larger if one is not None and one.spare >= 0)]


def too_thick(mix: Mix) -> bool:
    """Whether a mix as weighed has more solids than its recipe allows, by more than rounding."""
    return mix.solids > mix.recipe.loading + THICK

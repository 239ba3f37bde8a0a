"""What is weighed for one pour, as the shop's scales show it, and the density that results."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from optimizer.ball.sought import Pour
from optimizer.mixing.mix import Mix
from optimizer.questions.schedule.pouring.scales import as_written
from optimizer.questions.schedule.pouring.shop import Shop
from optimizer.questions.schedule.pouring.worksheet import DIGITS
from shared.arrays import Array
from shared.errors import InputError
from shared.rounding import rounded

PARTS_DIGITS = 2
"""Decimals of the parts by weight."""
THICK = 5e-4
"""Excess volume fraction of solids that makes no difference to a pour."""
FINER = "use a finer scale, or mix for more balls at a time"
LARGER = 1.1
"""A batch may be so many times the size needed, for ingredients in whole steps of a scale."""


@dataclass(frozen=True)
class Line:
    """One line to weigh out: g, ± g, and parts by weight to 100 of resin (None of a ready mix)."""

    ingredient: str
    grams: Decimal
    within: Decimal
    parts: Decimal | None


@dataclass(frozen=True, eq=False)
class Batch:
    """An amount of one mix, to be mixed `count` times, each for up to `balls` balls.

    `pour` is what one ball takes, g, and `waste` the share of the batch that stays in the mixer.
    `density` is that of the masses as weighed, g/cm³, not rounded; without a recipe (`mix` is
    None), the density asked for.
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
        """What its pours take, including what stays in the mixer, g."""
        return self.balls * self.pour / (1 - self.waste)

    @property
    def spare(self) -> Decimal:
        """The excess over what is needed, g: never less than 0."""
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
        """The derivative of the density in the mass of each line, g/cm³ per g, (lines,)."""
        if self.mix is None:
            return np.zeros(len(self.lines))
        recipe = self.mix.recipe
        names = [ingredient.name for ingredient in recipe.ingredients]
        own = recipe.cast[[names.index(line.ingredient) for line in self.lines]]
        total, solid = float(self.grams), self.mix.theoretical
        return np.asarray(self.mix.density / total * (1.0 - solid / own))


def batch(pour: Pour, density: float, volume: float, shop: Shop, balls: int) -> Batch:
    """Return the batches for `balls` castings of a `volume` (cm³, overpoured) at a density (g/cm³).

    Each covers its pours. Raises InputError where the mixer does not hold one casting's pour, and
    where the scale is too coarse for the resin.
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
        if held := [each for each in tried if shop.room is None or 1000 * each.litres <= shop.room]:
            return min(held, key=lambda each: _off(each, density))
    what = f"does not hold the {wet / 1000:.2f} litres that one ball's {pour.part} takes"
    raise InputError([shop.wrong("mixer", what, "put in a larger mixer")])


def _off(tried: Batch, density: float) -> tuple[bool, float]:
    """Return the sort key of batches: too thick, then the distance from the density."""
    thick = tried.mix is not None and too_thick(tried.mix)
    return thick, round(abs(tried.density - density), DIGITS["density"])


def _ready(pour: Pour, density: float, volume: float, shop: Shop, shares: tuple[int, int]) -> Batch:
    """Return the batch of a material without a recipe; `shares` are batches, and balls in each."""
    (count, balls), scales, waste = shares, shop.scales, as_written(shop.text.waste)
    poured = scales.enough(volume * density)
    grams = scales.enough(balls * poured / (1 - waste))
    only = Line(pour.material, *scales.weighed(grams), None)
    return Batch((only,), count, balls, poured, waste, density, None)


def _mixed(part: str, mix: Mix, volume: float, shop: Shop, shares: tuple[int, int]) -> list[Batch]:
    """Return batches that cover their pours, the smallest first; `shares` as in `_ready`.

    A scale's step may be a large part of a minor ingredient. So larger batches are tried, too, up
    to `LARGER` times: by a step or two of the whole, and by what makes an ingredient whole steps of
    its scale. If rounding leaves all of them short, the smallest that covers is returned. Raises
    InputError where the scale is too coarse for the resin.
    """
    (count, balls), scales, waste = shares, shop.scales, as_written(shop.text.waste)
    needed = float(balls * scales.enough(volume * mix.density) / (1 - waste))
    exact = [needed * share for share in mix.shares.tolist()]

    def batch_of(size: float) -> Batch | None:
        amounts = [scales.weighed(size * mass) for mass in exact]
        stocks = [mass for mass, _ in amounts[: len(mix.stocks)]]
        if any(share and not mass for share, mass in zip(mix.stocks, stocks, strict=True)):
            return None
        resin = sum(stocks)
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
        names = [stock.name for stock in mix.recipe.stocks]
        mass, stock = min(each for each in zip(exact, names, strict=False) if each[0])
        resin = f"{mass:.3g} g of {stock}"
        what = f"is too coarse: it shows nothing of the {resin} in a batch of {part}"
        raise InputError([shop.wrong("scale", what, FINER)])
    larger = (batch_of(1.0 + n * growth) for n in itertools.count())
    covering = [each for each in tried if each is not None and each.spare >= 0]
    return covering or [next(each for each in larger if each is not None and each.spare >= 0)]


def too_thick(mix: Mix) -> bool:
    """Whether a mix as weighed has more solids than its recipe allows, by more than rounding."""
    return mix.solids > mix.recipe.loading + THICK

"""The ingredients of finished balls: grams of each, and their cost.

A density's mix is its recipe's (least filler, or least cost where every ingredient has a price), as
the schedule weighs it. A shop's losses are not counted.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from optimizer.ball.sought import Pour
from optimizer.ball.weight_class import Ball
from optimizer.mixing.mix import Mix


@dataclass(frozen=True)
class Material:
    """Grams of each ingredient, fillers and resins separately, of the parts whose recipe is known.

    `unknown` are the parts without a recipe, or at a density that it doesn't reach. `cost` is in
    the currency of the prices; None where a price or a recipe is missing.
    """

    fillers: Mapping[str, float]
    resins: Mapping[str, float]
    cost: float | None
    unknown: tuple[str, ...]

    @property
    def filler(self) -> float:
        """Grams of all fillers."""
        return sum(self.fillers.values())


def material(balls: Iterable[Ball]) -> Material:
    """Return the ingredients of all the balls together."""
    fillers: dict[str, float] = {}
    resins: dict[str, float] = {}
    unknown: dict[str, None] = {}
    cost: float | None = 0.0
    for ball in balls:
        masses = (ball.densities * ball.map.volumes).tolist()
        for pour, density, mass in zip(
            ball.map.pours, ball.densities.tolist(), masses, strict=True
        ):
            mix = _mix(pour, density)
            if mix is None:
                unknown[pour.part] = None
                continue
            for ingredient, share in zip(mix.recipe.ingredients, mix.shares.tolist(), strict=True):
                held = resins if ingredient in mix.recipe.stocks else fillers
                held[ingredient.name] = held.get(ingredient.name, 0.0) + mass * share
            cost = None if cost is None or mix.price is None else cost + mass / 1000.0 * mix.price
    return Material(fillers, resins, None if unknown else cost, tuple(unknown))


def _mix(pour: Pour, density: float) -> Mix | None:
    """Return the mix; None without a recipe, or for a density beyond it."""
    try:
        return None if pour.recipe is None else pour.recipe.mix(density)
    except ValueError:
        return None

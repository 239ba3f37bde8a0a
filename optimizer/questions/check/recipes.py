"""What recipes reach, for the screen of `check` and its JSON: the range, and one mix of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from optimizer.ball.figures import DENSITY
from optimizer.ball.sought import Pour
from optimizer.mixing.recipe import Mix, Recipe
from optimizer.paper.document import Block, Column, Heading, Notes, Table, left
from optimizer.paper.quantities import Unit, Units
from optimizer.paper.words import listed
from optimizer.questions.check.checking import Check
from optimizer.questions.line_up.data import number
from optimizer.scenario.recipes import reach
from shared.rounding import fixed


@dataclass(frozen=True)
class Mixed:
    """A material with a recipe: its pour, and a mix at the middle of what may be poured."""

    pour: Pour
    recipe: Recipe

    @cached_property
    def mix(self) -> Mix:
        """The mix at mid-range."""
        return self.recipe.mix((self.pour.low + self.pour.high) / 2)


def mixed(check: Check) -> tuple[Mixed, ...]:
    """Return the materials that have a recipe, each once, in the order of the parts."""
    found: dict[tuple[str, float, float], Mixed] = {}
    for pour in check.scenario.pours:
        if pour.recipe is not None:
            found.setdefault((pour.material, pour.low, pour.high), Mixed(pour, pour.recipe))
    return tuple(found.values())


def recipe_blocks(check: Check) -> Iterator[Block]:
    """Yield what the recipes reach, what stops them, and what is weighed at mid-range."""
    found, unit = mixed(check), Units.of(check.scenario).density
    if not found:
        return
    yield Heading("What recipes reach")
    yield Table(
        (
            left("material"),
            Column(f"least, {unit.name}"),
            left("stopped by"),
            Column(f"most, {unit.name}"),
            left("stopped by"),
        ),
        tuple(_reach(one, unit) for one in found),
    )
    notes = (*_narrowed(found, unit), *_ruled(check, found, unit))
    if notes:
        yield Notes(notes)
    yield Heading("Mixed, at the middle of each range")
    yield Notes(tuple(_mix_line(one, unit) for one in found))
    yield Notes(tuple(_sources(found, unit)), "quiet")


def _reach(one: Mixed, unit: Unit) -> tuple[str, ...]:
    stops = one.pour.stops or ("fixed by --density",) * 2
    low, high = unit.number(one.pour.low), unit.number(one.pour.high)
    return one.pour.material, low, stops[0], high, stops[1]


def _mix_line(one: Mixed, unit: Unit) -> str:
    mix, recipe = one.mix, one.recipe
    parts = [
        f"{ingredient.name} {fixed(part, 1)}"
        for ingredient, part in zip(one.recipe.ingredients, mix.parts.tolist(), strict=True)
        if part
    ]
    thick = "" if mix.viscosity is None else f", {fixed(mix.viscosity, 1)} × the resin's viscosity"
    price = "" if mix.price is None else f", {fixed(mix.price, 2)} a kg"
    voids, lost = fixed(100 * recipe.void, 1), fixed(100 * recipe.shrinkage, 1)
    return (
        f"{one.pour.material} at {unit.told(mix.density)}: {listed(parts)} parts by weight; "
        f"{unit.told(mix.theoretical)} without voids, {unit.told(mix.wet)} wet, "
        f"{fixed(mix.solids, 2)} of solids by volume{thick}{price}. Voids {voids} %, the resin "
        f"shrinks by {lost} %."
    )


def _narrowed(found: Sequence[Mixed], unit: Unit) -> Iterator[str]:
    """Yield what the recipe of a material reaches, where less than that may be poured."""
    for one in found:
        low, high = one.recipe.ends
        if (one.pour.low, one.pour.high) != (low.density, high.density):
            yield f"{one.pour.material}, by its recipe alone: {reach(low, high, unit.factor)}."


def _ruled(check: Check, found: Sequence[Mixed], unit: Unit) -> Iterator[str]:
    """Yield the rules that stop a material before its recipe does."""
    rules = {
        bound.of: bound
        for map_ in reversed(check.maps)
        for bound in map_.bounds
        if bound.rule and bound.figure == DENSITY and bound.side == "max"
    }
    for one in found:
        rule = rules.get(one.pour.part)
        if rule is not None and rule.high < one.pour.high and not one.pour.fixed:
            yield (
                f"{one.pour.material} is stopped before that: {rule.rule} allows a piece "
                f"{unit.told(rule.high)} at most."
            )


def _sources(found: Sequence[Mixed], unit: Unit) -> Iterator[str]:
    """Yield each ingredient's density and where it comes from."""
    for one in dict.fromkeys(
        ingredient for each in found for ingredient in each.recipe.ingredients
    ):
        yield f"{one.name} {unit.told(one.density)}: {one.source}."


def recipe_data(check: Check) -> list[dict[str, Any]]:
    """Return what the recipes reach as JSON types."""
    return [_data(one) for one in mixed(check)]


def _data(one: Mixed) -> dict[str, Any]:
    pour, recipe, mix = one.pour, one.recipe, one.mix
    names = [ingredient.name for ingredient in one.recipe.ingredients]
    parts = zip(names, mix.parts.tolist(), strict=True)
    return {
        "material": pour.material,
        "density_g_cm3": [number(pour.low), number(pour.high)],
        "stopped_by": None if pour.stops is None else list(pour.stops),
        "loading": number(recipe.loading),
        "void": recipe.void,
        "shrinkage": recipe.shrinkage,
        "ingredients": [
            {
                "name": ingredient.name,
                "density_g_cm3": number(ingredient.density),
                "price_per_kg": ingredient.price,
                "source": ingredient.source,
            }
            for ingredient in one.recipe.ingredients
        ],
        "mid_range": {
            "density_g_cm3": number(mix.density),
            "theoretical_g_cm3": number(mix.theoretical),
            "wet_g_cm3": number(mix.wet),
            "solids": number(mix.solids),
            "relative_viscosity": None if mix.viscosity is None else number(mix.viscosity),
            "price_per_kg": None if mix.price is None else number(mix.price),
            "parts_by_weight": {name: number(part) for name, part in parts},
        },
    }

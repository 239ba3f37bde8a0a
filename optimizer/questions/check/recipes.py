"""What recipes reach, for the screen of `check` and its JSON: the range, and one mix of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from optimizer.ball.figures import DENSITY
from optimizer.ball.sought import Pour
from optimizer.mixing.mix import Mix
from optimizer.mixing.recipe import Recipe
from optimizer.paper.document import Block, Column, Heading, Listed, Notes, left
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

    @property
    def material(self) -> str:
        """The material's name."""
        return self.pour.material

    @cached_property
    def mix(self) -> Mix:
        """The mix at mid-range."""
        return self.recipe.mix((self.pour.low + self.pour.high) / 2)

    @property
    def parts(self) -> dict[str, float]:
        """Parts by weight of each ingredient, by its name."""
        names = (ingredient.name for ingredient in self.recipe.ingredients)
        return dict(zip(names, self.mix.parts.tolist(), strict=True))


def mixed_materials(check: Check) -> tuple[Mixed, ...]:
    """Return the materials that have a recipe, each once, in the order of the parts."""
    every: dict[tuple[str, float, float], Mixed] = {}
    for pour in check.scenario.pours:
        if pour.recipe is not None:
            every.setdefault((pour.material, pour.low, pour.high), Mixed(pour, pour.recipe))
    return tuple(every.values())


def recipe_blocks(check: Check) -> Iterator[Block]:
    """Yield what the recipes reach, what stops them, and what is weighed at mid-range."""
    materials, unit = mixed_materials(check), Units.of(check.scenario).density
    if not materials:
        return
    stopped = left("stopped by")
    yield Heading("What recipes reach")
    yield (
        Listed(materials)
        .left("material", lambda mixed: mixed.material)
        .several((Column(f"least, {unit.name}"), stopped), lambda mixed: _stop(mixed, 0, unit))
        .several((Column(f"most, {unit.name}"), stopped), lambda mixed: _stop(mixed, 1, unit))
        .table
    )
    if notes := (*_narrowed(materials, unit), *_ruled(check, materials, unit)):
        yield Notes(notes)
    yield Heading("Mixed, at the middle of each range")
    yield Notes(tuple(_mix_line(mixed, unit) for mixed in materials))
    yield Notes(tuple(_sources(materials, unit)), "quiet")


def _stop(mixed: Mixed, end: int, unit: Unit) -> tuple[str, str]:
    """Return an end of what may be poured, 0 the least or 1 the greatest, and what stops it."""
    density = (mixed.pour.low, mixed.pour.high)[end]
    stops = mixed.pour.stops or ("fixed by --density",) * 2
    return unit.number(density), stops[end]


def _mix_line(mixed: Mixed, unit: Unit) -> str:
    mix, recipe = mixed.mix, mixed.recipe
    parts = listed([f"{name} {fixed(part, 1)}" for name, part in mixed.parts.items() if part])
    thick = "" if mix.viscosity is None else f", {fixed(mix.viscosity, 1)} × the resin's viscosity"
    price = "" if mix.price is None else f", {fixed(mix.price, 2)} a kg"
    voids, lost = fixed(100 * recipe.void, 1), fixed(100 * recipe.shrinkage, 1)
    return (
        f"{mixed.material} at {unit.told(mix.density)}: {parts} parts by weight; "
        f"{unit.told(mix.theoretical)} without voids, {unit.told(mix.wet)} wet, "
        f"{fixed(mix.solids, 2)} of solids by volume{thick}{price}. Voids {voids} %, the resin "
        f"shrinks by {lost} %."
    )


def _narrowed(materials: Sequence[Mixed], unit: Unit) -> Iterator[str]:
    """Yield what the recipe of a material reaches, where less than that may be poured."""
    for mixed in materials:
        low, high = mixed.recipe.ends
        if (mixed.pour.low, mixed.pour.high) != (low.density, high.density):
            yield f"{mixed.material}, by its recipe alone: {reach(low, high, unit.factor)}."


def _ruled(check: Check, materials: Sequence[Mixed], unit: Unit) -> Iterator[str]:
    """Yield the rules that stop a material before its recipe does."""
    rules = {
        bound.of: bound
        for linear_map in reversed(check.maps)
        for bound in linear_map.bounds
        if bound.rule and bound.figure == DENSITY and bound.side == "max"
    }
    for mixed in materials:
        rule = rules.get(mixed.pour.part)
        if rule is not None and rule.high < mixed.pour.high and not mixed.pour.fixed:
            yield (
                f"{mixed.material} is stopped before that: {rule.rule} allows a piece "
                f"{unit.told(rule.high)} at most."
            )


def _sources(materials: Sequence[Mixed], unit: Unit) -> Iterator[str]:
    """Yield each ingredient's density and where it comes from."""
    for each in dict.fromkeys(each for mixed in materials for each in mixed.recipe.ingredients):
        yield f"{each.name} {unit.told(each.density)}: {each.source}."


def recipe_data(check: Check) -> list[dict[str, Any]]:
    """Return what the recipes reach as JSON types."""
    return [_data(mixed) for mixed in mixed_materials(check)]


def _data(mixed: Mixed) -> dict[str, Any]:
    pour, recipe, mix = mixed.pour, mixed.recipe, mixed.mix
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
            for ingredient in recipe.ingredients
        ],
        "mid_range": {
            "density_g_cm3": number(mix.density),
            "theoretical_g_cm3": number(mix.theoretical),
            "wet_g_cm3": number(mix.wet),
            "solids": number(mix.solids),
            "relative_viscosity": None if mix.viscosity is None else number(mix.viscosity),
            "price_per_kg": None if mix.price is None else number(mix.price),
            "parts_by_weight": {name: number(part) for name, part in mixed.parts.items()},
        },
    }

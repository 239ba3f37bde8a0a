"""The recipes that a schedule counts on: ingredients, losses, and what keeps a mix pourable."""

from __future__ import annotations

from collections.abc import Iterator

from optimizer.foundry.rounding import fixed
from optimizer.foundry.schedule import Schedule
from optimizer.mixing import Recipe
from optimizer.report.casting_page import NONE
from optimizer.report.document import Block, Column, Notes, Table, left
from optimizer.report.words import listed


def recipe_tables(told: Schedule) -> Iterator[Block]:
    """Yield the ingredients as they are counted on, and what each material's mix is held to."""
    recipes = {
        pour.material: casting.batch.mix.recipe
        for one in told.classes
        for casting, pour in zip(one.castings, one.sheet.pours, strict=True)
        if casting.batch.mix is not None
    }
    if not recipes:
        return
    named = {one.name: one for recipe in recipes.values() for one in recipe.ingredients}
    columns = (
        left("material"),
        left("resin"),
        Column("resin cured, g/cm³"),
        Column("its shrinkage, by volume"),
        Column("voids, by volume"),
        Column("most solids, by volume of liquid"),
        Column("most viscosity, × the resin's"),
    )
    yield Table(columns, tuple(_recipe(*item) for item in recipes.items()))
    sources: dict[str, list[str]] = {}
    for one in named.values():
        sources.setdefault(one.source, []).append(one.name)
    yield Notes(tuple(f"{listed(names)}: {source}" for source, names in sources.items()))


def _recipe(material: str, recipe: Recipe) -> tuple[str, ...]:
    return (
        material,
        recipe.resin.name,
        fixed(recipe.cured, 4),
        plain(recipe.shrinkage),
        plain(recipe.void),
        fixed(recipe.loading, 3),
        NONE if recipe.viscosity is None else plain(recipe.viscosity),
    )


def plain(value: float) -> str:
    """Return a figure of the scenario's as it is written."""
    return f"{value:.6g}"
